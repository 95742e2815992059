"""`bellywork new FOLDER --kind grand|upright|strings`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bellywork.cli.common import Parser
from bellywork.cli.main import EXIT_FINE


def main(argv: Sequence[str] | None = None) -> int:
    """Start a board folder."""
    from bellywork.files.start import KINDS, new_folder

    parser = Parser("new", "Start a board folder: a commented board.toml and tables with example rows to overwrite.")
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the folder to make; must not exist, or be empty")
    parser.add_argument("--kind", choices=KINDS, default="grand", help="what is to be measured (default grand)")
    words = parser.parse_args(argv)
    made = new_folder(words.folder, words.kind)
    print(f"Started {words.folder} with {', '.join(sorted(path.name for path in made))}.")
    print(f"Next: read {words.folder / 'README.md'}, type your measurements, then run: bellywork check {words.folder}")
    return EXIT_FINE
