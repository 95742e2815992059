"""`bellywork sheet BOARD --what bearing,bridge,ribs,plate --to FOLDER`."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bellywork.cli.common import CAUTION, Parser, add_board, answer, board_from, needed, print_json, progress
from bellywork.cli.main import EXIT_FINE
from bellywork.cli.text import paragraph
from bellywork.errors import OutputError, SheetError

if TYPE_CHECKING:
    from bellywork.board.scheme import Scheme
    from bellywork.sheets.bench import Bench
    from bellywork.sheets.frame import Stamp
    from bellywork.sheets.workbook import Rows

SCHEMA = "bellywork-sheet/1"
WHATS = ("bearing", "bridge", "ribs", "plate", "crown", "owner", "schemes", "solids")
SOLID_FORMATS = ("stl", "ply", "glb")
FORMATS = ("pdf", "dxf", "xlsx", *SOLID_FORMATS)
TABLES = "tables.xlsx"


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
        "Paper, CAD and tables for the bench: bearing sheet, bridge height template, ribs, dowels, crown report, page "
        "for the owner, schemes; and solids for CNC.",
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
    parser.add_argument("--json", action="store_true", help="print what was written as JSON")
    words = parser.parse_args(argv)
    if ("schemes" in words.what) != bool(words.scheme):
        parser.error("found only one of '--what schemes' and '--scheme FILE', expected both")
    if ("solids" in words.what) != bool(set(words.format) & set(SOLID_FORMATS)):
        parser.error("found only one of '--what solids' and '--format stl, ply or glb', expected both")
    if {"pdf", "dxf"} & set(words.format):
        needed("sheets")
    if "solids" in words.what:
        needed("solids")
    return _write(words)


def _write(words: argparse.Namespace) -> int:
    """Make every file, then write them all."""
    from importlib.metadata import version

    from bellywork.board.state import State
    from bellywork.files.write import write_new_results, write_results
    from bellywork.sheets.bench import Bench
    from bellywork.sheets.frame import stamp_of

    found = board_from(words.board)
    working = None if words.working is None else State(words.working)
    schemes = [_scheme(path, found.folder) for path in words.scheme]
    bench = Bench(found.board, working=working, plate_first=words.plate_first, schemes=schemes)
    stamp = stamp_of(found.board, found.fingerprint, version("bellywork"))
    with progress("Drawing the sheets"):
        made = _made(words, bench, stamp)
    _folder(words.to)
    contents = {name: content for name, content, _ in made}
    if words.replace:
        paths = {name: words.to / name for name in contents}
        write_results({paths[name]: content for name, content in contents.items()})
    else:
        paths = write_new_results(words.to, contents)
    written = [
        {"what": Path(name).stem, "format": paths[name].suffix[1:], "pages": pages, "file": str(paths[name])}
        for name, _, pages in made
    ]
    if words.json:
        print_json(answer(SCHEMA, found, {"written": written}))
    else:
        print(as_text(found.board.name, written))
        if "solids" in words.what:
            x, y, z = bench.solids.centre_mm
            print(
                f"\nPanel, ribs and bridges weigh {bench.solids.mass_kg:.2f} kg; centre of gravity {x:.0f}, {y:.0f}, "
                f"{z:.1f} mm. STL and PLY are in mm, GLB in metres as that format wants it."
            )
    return EXIT_FINE


def _scheme(path: Path, folder: Path) -> Scheme:
    from bellywork.files.scheme_files import read_scheme

    return read_scheme(path, folder)


def _made(words: argparse.Namespace, bench: Bench, stamp: Stamp) -> list[tuple[str, bytes, int | None]]:
    """Name, content and pages (of a PDF) of every file."""
    from bellywork.sheets.bench import dxf_of, pdf_of
    from bellywork.sheets.frame import PAPERS

    sheets = [bench.sheet(what) for what in words.what if what != "solids"]
    made: list[tuple[str, bytes, int | None]] = []
    if "pdf" in words.format:
        for sheet in sheets:
            content, pages = pdf_of(sheet, PAPERS[words.paper], stamp)
            made.append((f"{sheet.name}.pdf", content, pages))
    if "dxf" in words.format:
        drawn = [(sheet.name, dxf_of(sheet, stamp)) for sheet in sheets]
        made += [(f"{name}.dxf", content, None) for name, content in drawn if content is not None]
    if "xlsx" in words.format:
        from bellywork.sheets.workbook import workbook_bytes

        tables, assumptions = tables_of(bench, words.what)
        made.append((TABLES, workbook_bytes(tables, stamp, assumptions), None))
    for kind in SOLID_FORMATS:
        if kind in words.format:
            from bellywork.solids.exported import solid_files

            made += [(name, content, None) for name, content in solid_files(bench.solids, kind).items()]
    if not made:
        raise SheetError(
            f"Nothing of {', '.join(words.what)} is drawn at full size, so there is no DXF: take pdf or xlsx."
        )
    return made


def tables_of(bench: Bench, whats: Sequence[str]) -> tuple[dict[str, Rows], tuple[str, ...]]:
    """The tables behind the sheets, with the keys of the JSON answers, and what they stand on."""
    from bellywork.cli.notes import rows_of
    from bellywork.cli.plane import schedule_rows
    from bellywork.sheets.plate_sheet import support_rows
    from bellywork.sheets.rib_sheet import rib_rows

    tables: dict[str, Rows] = {}
    said: tuple[str, ...] = ()
    if {"bearing", "bridge", "plate"} & set(whats):
        tables["plane"] = schedule_rows(bench.schedule)
        said = bench.schedule.assumptions
    if "bearing" in whats:
        stages = bench.stages
        line = bench.schedule.now.line
        tables["stages"] = rows_of(
            {
                "note": line.note,
                "name": bench.schedule.now.name,
                "before_net_deg": stages.before_deg,
                "preloaded_net_deg": stages.preloaded_deg,
                "planed_net_deg": stages.planed_deg,
                "strung_net_deg": stages.strung_deg,
                "kerf_front_mm": stages.kerf_front_mm,
                "kerf_rear_mm": stages.kerf_rear_mm,
            }
        )
    if "ribs" in whats:
        tables["ribs"] = rib_rows(bench.board.needed_body("A table of the ribs").ribs)
    if "plate" in whats:
        tables["supports"] = support_rows(bench.board.plate, bench.schedule.plate)
        tables["struts"] = [dict(vars(strut)) for strut in bench.schedule.struts]
    if "crown" in whats:
        from bellywork.cli.crown import note_rows
        from bellywork.cli.crown import rib_rows as crown_rows

        tables["crown ribs"] = [{**row, "misread": len(row["misread"]), "notes": len(row["notes"])}
                                for row in crown_rows(bench.survey)]  # fmt: skip
        tables["crown notes"] = note_rows(bench.survey, bench.best)
        said += bench.survey.assumptions
    if "schemes" in whats:
        from bellywork.sheets.scheme_sheet import scheme_note_rows, scheme_rib_rows, scheme_rows

        tables["schemes"] = scheme_rows(bench.compared)
        tables["scheme ribs"] = scheme_rib_rows(bench.compared)
        tables["scheme notes"] = scheme_note_rows(bench.compared)
        said += bench.scheme_base.assumptions
    return tables, said


def _folder(folder: Path) -> None:
    """Make the folder where it is missing. Raises OutputError where that cannot be."""
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise OutputError(f"{folder} cannot be used ({reason}); give a folder that you may write to.") from None


def as_text(name: str, written: Sequence[dict[str, Any]]) -> str:
    """What was written, in words."""
    lines = [
        each["file"] + (f", {each['pages']} page{'s' if each['pages'] > 1 else ''}" if each["pages"] else "")
        for each in written
    ]
    print_at = "Print at 100 %, not fitted to the page, and measure the 100 mm bar before you use a template."
    return "\n\n".join((paragraph(f"{name}: written", lines), print_at, CAUTION))
