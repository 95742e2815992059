"""`bellywork sheet BOARD --what bearing,bridge,ribs,plate --to FOLDER`."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable, Sequence
from pathlib import Path

from bellywork.cli.common import Parser, add_board, board_from, needed, progress
from bellywork.cli.learned import Learning, add_as_described
from bellywork.cli.main import version
from bellywork.cli.plate_words import HAND, add_plate_move, plate_move
from bellywork.cli.told import add_units, tell
from bellywork.errors import OutputError

WHATS = ("bearing", "bridge", "ribs", "plate", "crown", "owner", "schemes", "solids")
SOLID_FORMATS = ("stl", "ply", "glb")
FORMATS = ("pdf", "dxf", "xlsx", *SOLID_FORMATS)


def some_of(choices: Sequence[str]) -> Callable[[str], tuple[str, ...]]:
    """A reader of words parted by commas, each one of the choices."""

    def read(text: str) -> tuple[str, ...]:
        words = tuple(dict.fromkeys(word.strip() for word in text.split(",")))
        for word in words:
            if word not in choices:
                raise argparse.ArgumentTypeError(f"found '{word}', expected some of {', '.join(choices)}, with commas")
        return words

    return read


def main(argv: Sequence[str] | None = None) -> int:
    """Write sheets for the bench."""
    from bellywork.board.state import State

    parser = Parser(
        "sheet",
        "Paper, CAD and tables for the bench: bearing sheet, bridge height template, ribs, dowels, crown "
        "report, page for the owner, schemes; and solids for CNC.",
        "Templates are drawn at full size: print at 100 % and measure the bar. Files are written all or none.",
    )
    add_board(parser)
    parser.add_argument(
        "--what", type=some_of(WHATS), required=True, metavar="NAMES", help=f"some of {','.join(WHATS)}"
    )
    parser.add_argument("--to", type=Path, required=True, metavar="FOLDER", help="where to; made where it is missing")
    parser.add_argument("--paper", choices=("a4", "letter", "roll"), default="a4", help="paper (default a4)")
    parser.add_argument(
        "--format",
        type=some_of(FORMATS),
        default=("pdf",),
        metavar="NAMES",
        help=f"some of {','.join(FORMATS)} (default pdf); dxf holds what is drawn at full size, xlsx all tables; "
        "stl, ply and glb hold solids",
    )
    parser.add_argument(
        "--working",
        choices=(State.BARE.value, State.PRELOADED.value),
        help="the state in which you cut: block and kerf are right for it (default: as measured)",
    )
    parser.add_argument("--plate-first", action="store_true", help="set the plate on its supports for the least wood")
    add_plate_move(parser, HAND)
    parser.add_argument(
        "--scheme",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="for schemes: a rib table or scheme file to hold against the board's own ribs; repeat it for more",
    )
    parser.add_argument(
        "--replace", action="store_true", help="write over earlier sheets (without it, a number goes behind the name)"
    )
    add_as_described(parser)
    add_units(parser)
    parser.add_argument("--json", action="store_true", help="print what was written as JSON")
    words = parser.parse_args(argv)
    if ("schemes" in words.what) != bool(words.scheme):
        parser.error("found only one of '--what schemes' and '--scheme FILE', expected both")
    if ("solids" in words.what) != bool(set(words.format) & set(SOLID_FORMATS)):
        parser.error("found only one of '--what solids' and '--format stl, ply or glb', expected both")
    if plate_move(words) is not None and words.plate_first:
        parser.error("found --plate-up or --tilt with --plate-first, expected one of them")
    if {"pdf", "dxf"} & set(words.format):
        needed("sheets")
    if "solids" in words.what:
        needed("solids")
    return _write(words)


def _write(words: argparse.Namespace) -> int:
    """Make every file, then write them all."""
    from bellywork.answers.sheet_answer import sheet_answer
    from bellywork.board.state import State
    from bellywork.files.scheme_files import read_scheme
    from bellywork.files.write import write_new_results, write_results
    from bellywork.sheets.bench import Bench
    from bellywork.sheets.frame import PAPERS, stamp_of
    from bellywork.sheets.lettering import all_printable
    from bellywork.sheets.made_files import made_files

    found = board_from(words.board)
    working = None if words.working is None else State(words.working)
    schemes = [read_scheme(path, found.folder) for path in words.scheme]
    with progress("Making the board ready"):
        board = Learning(found.board, words)
        estimate = board.estimate if board.taught else None
    bench = Bench(
        found.board,
        estimate=estimate,
        working=working,
        plate_first=words.plate_first,
        plate=plate_move(words),
        schemes=schemes,
        units=words.units,
    )
    printed = datetime.date.today().isoformat()
    stamp = stamp_of(found.board, found.fingerprint, version(), words.units, printed=printed)
    with progress("Drawing the sheets"):
        made = made_files(bench, words.what, words.format, PAPERS[words.paper], stamp)
    _folder(words.to)
    contents = {each.name: each.content for each in made}
    if words.replace:
        paths = {name: words.to / name for name in contents}
        write_results({paths[name]: content for name, content in contents.items()})
    else:
        paths = write_new_results(words.to, contents)
    written = [(Path(each.name).stem, paths[each.name], each.pages) for each in made]
    solids = bench.solids if "solids" in words.what else None
    act = bench.look_at(words.what)
    readable = "pdf" not in words.format or all_printable(found.board.name)
    told = sheet_answer(found.board.name, written, solids, words.units, act=act, printable=readable)
    return tell(told, found, words)


def _folder(folder: Path) -> None:
    """Make the folder where it is missing. Raises OutputError where that cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = "it is a file" if folder.is_file() else (error.strerror or type(error).__name__).lower()
        raise OutputError(f"{folder} cannot be used ({reason}); give a folder that you may write to.") from None
