"""What all commands share: the board folder, findings, options, JSON and CSV."""

from __future__ import annotations

import argparse
import json
import math
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from bellywork.cli.main import EXIT_UNUSABLE, version
from bellywork.errors import MissingExtra
from bellywork.findings import Finding, Level

if TYPE_CHECKING:
    from bellywork.files.read import BoardFile

# What `pip install 'bellywork[NAME]'` brings beside a plain installation, by the names that are imported
EXTRAS = {
    "bench": ("starlette", "uvicorn", "segno"),
    "sheets": ("reportlab", "ezdxf"),
    "solids": ("trimesh",),
    "viewer": ("matplotlib", "pyvista"),
}
CAUTION = "Strings at tension and iron plates hurt people: local rules and licensed practice come first."


class Parser(argparse.ArgumentParser):
    """Words of a command line; what is wrong with them ends in one sentence and the exit code for unusable input."""

    def __init__(self, command: str, what: str, epilog: str = "") -> None:
        super().__init__(
            prog=f"bellywork {command}",
            description=what,
            epilog=f"{epilog}\n\nExit codes: 0 fine, 1 findings, 2 unusable input.\n{CAUTION}".strip(),
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        """The words as `argparse` reads them; numbers with a comma may be negative, as one number may."""
        words = list(sys.argv[1:] if args is None else args)
        for k in reversed(range(1, len(words))):
            if re.fullmatch(r"-[\d.]+,-?[\d.]+", words[k]) and re.fullmatch(r"--[a-z-]+", words[k - 1]):
                words[k - 1 : k + 1] = [f"{words[k - 1]}={words[k]}"]
        return super().parse_args(words, namespace)

    def _print_message(self, message: str, file: Any = None) -> None:
        print(message, end="", file=file or sys.stderr)  # argparse itself keeps a full disk to itself

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the words and where help stands."""
        print(f"bellywork: {message}. 'bellywork {self.prog.split()[1]} --help' tells what it takes.", file=sys.stderr)
        sys.exit(EXIT_UNUSABLE)


def add_board(parser: argparse.ArgumentParser) -> None:
    """Add the board folder, the first word of most commands."""
    parser.add_argument("board", type=Path, metavar="BOARD", help="the board folder, or its board.toml")


def add_rim(parser: argparse.ArgumentParser) -> None:
    """Add the assumption about the rim."""
    parser.add_argument(
        "--rim",
        choices=("clamped", "glued", "hinged"),
        help="how the rim holds the panel all round, in place of what the board folder says",
    )


def add_climate(parser: argparse.ArgumentParser, what: str) -> None:
    """Add another humidity and temperature than those of the measurement."""
    parser.add_argument("--rh", metavar="PERCENT", help=what)
    parser.add_argument("--temperature", type=finite, metavar="C", help="temperature in °C that goes with --rh")


def climate_asked(parser: Parser, words: argparse.Namespace) -> None:
    """Refuse a temperature without the humidity that it goes with."""
    if words.temperature is not None and words.rh is None:
        parser.error("found --temperature without --rh, expected both: wood follows the humidity")


def finite(text: str) -> float:
    """A number from a command line."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"found '{text}', expected a number")
    return value


def needed(*extras: str) -> None:
    """Ask for what an extra brings, before anything is computed; raises MissingExtra where it is not installed."""
    from importlib.util import find_spec

    for extra in extras:
        missing = [module for module in EXTRAS[extra] if find_spec(module) is None]
        if missing:
            raise MissingExtra(f"This needs {' and '.join(missing)}: pip install 'bellywork[{extra}]'.")


def board_from(folder: Path, *, instead: Mapping[str, Path] | None = None) -> BoardFile:
    """The board of a folder, looked through as `bellywork check` does: the one way in for every other command.

    Advice goes to standard error, above the answer, and stays among the findings; anything that must be mended stops
    the command.

    instead   as for `read_board`

    Raises UnusableInput with every finding where one is worse than advice.
    """
    from bellywork.review.board_review import read_and_reviewed

    found = read_and_reviewed(folder, instead=instead)
    look_at(found.findings)
    return found


def look_at(findings: Iterable[Finding]) -> None:
    """Print advice to standard error, so that it stands above the answer and leaves JSON whole."""
    for finding in findings:
        print(f"bellywork: look at {finding}", file=sys.stderr)


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on a terminal's standard error what is being worked on, and wipe it when it is done."""
    if not sys.stderr.isatty():
        yield
        return
    print(f"{what} …", end="\r", file=sys.stderr, flush=True)
    try:
        yield
    finally:
        print(" " * (len(what) + 2), end="\r", file=sys.stderr, flush=True)


def answer(schema: str, found: BoardFile, parts: Mapping[str, Any]) -> dict[str, Any]:
    """The envelope of every JSON answer: schema with its version, program version, board, fingerprint of the inputs."""
    return {
        "schema": schema,
        "bellywork": version(),
        "board": found.board.name,
        "fingerprint": found.fingerprint,
        **parts,
    }


def print_json(value: Mapping[str, Any]) -> None:
    """Print one JSON document; where standard output knows few letters, the others stand as JSON's escapes."""
    from bellywork.answers.answer_table import plain

    few = (sys.stdout.encoding or "utf-8").lower().replace("-", "") != "utf8"
    print(json.dumps(plain(value), indent=1, ensure_ascii=few))


def print_findings(findings: Iterable[Finding]) -> None:
    """Print findings, one per line, gravest first."""
    order = list(Level)
    for finding in sorted(findings, key=lambda each: order.index(each.level)):
        print(f"{finding.level.value}: {finding} [{finding.code}]")
