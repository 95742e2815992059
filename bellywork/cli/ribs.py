"""`bellywork ribs BOARD SCHEME... [--search RULE]`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, board_from, needed, progress
from bellywork.cli.told import add_output, tell

if TYPE_CHECKING:
    from bellywork.schemes.search import Candidate


def main(argv: Sequence[str] | None = None) -> int:
    """Compare rib schemes, and search for a better one."""
    from bellywork.answers.ribs_answer import ribs_answer
    from bellywork.board.scheme import Scheme
    from bellywork.files.scheme_files import read_scheme
    from bellywork.schemes.assessed import base_of
    from bellywork.schemes.compared import compared
    from bellywork.schemes.search import best_given, searched

    parser = Parser(
        "ribs",
        "Rib schemes side by side on one board, each against the ribs that the board folder describes: mass, load, "
        "sink, crown left and stress of each rib, compliance along the bridges, final bearing, modes, damp and dry.",
        "A SCHEME is a rib table (.csv, as ribs.csv of a board) or a scheme file (.toml) with a rule for the ribs.\n"
        "--search tries what the [search] of a scheme file allows, for a minute or two; Ctrl-C keeps what was found.",
    )
    add_board(parser)
    parser.add_argument("schemes", nargs="*", type=Path, metavar="SCHEME", help="scheme files or rib tables")
    parser.add_argument("--search", type=Path, metavar="RULE", help="a scheme file with a [search] of its own")
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="also draw the comparison into a folder")
    parser.add_argument("--svg", action="store_true", help="draw as SVG instead of PNG")
    add_output(parser)
    words = parser.parse_args(argv)
    if words.svg and not words.plots:
        parser.error("--svg says how to draw; --plots FOLDER says that and where")
    if words.plots:
        needed("viewer")
    found = board_from(words.board)
    base = base_of(found.board)
    schemes = [read_scheme(path, found.folder) for path in words.schemes]
    wished = None if words.search is None else read_scheme(words.search, found.folder)
    own = Scheme(name="as described", ribs=base.ready.board.needed_body("Comparing rib schemes").ribs)
    search = None if wished is None else searched(base, wished, progress=_progress())
    with progress("Comparing schemes"):
        comparison = compared(base, [own, *schemes, *([] if search is None else [search.found])])
    others = comparison.schemes if search is None else comparison.schemes[:-1]
    given = None if search is None else best_given(search, others, base)
    paths = []
    if words.plots:
        from bellywork_viewer.plots import written
        from bellywork_viewer.ribs_plot import ribs_plots

        drawn = ribs_plots(comparison, search, found.board.name, words.units)
        paths = written(drawn, words.plots, ending=".svg" if words.svg else ".png")
    return tell(ribs_answer(base, comparison, search, given, paths, units=words.units), found, words)


def _progress() -> Callable[[int, Candidate], None] | None:
    if not sys.stderr.isatty():
        return None

    def told(tried: int, best: Candidate) -> None:
        words = f"{tried} rules tried; best: {best.ribs_kg:.2f} kg of ribs, most sink {best.sink_mm:.2f} mm"
        print(f"{words} (Ctrl-C keeps it) …   ", end="\r", file=sys.stderr, flush=True)

    return told
