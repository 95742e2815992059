"""`bellywork ribs BOARD SCHEME... [--search RULE]`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bellywork.cli.common import (
    Parser,
    add_board,
    add_output,
    answer,
    board_from,
    needed,
    print_json,
    progress,
    write_csv,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.ribs_text import as_text
from bellywork.cli.text import UNIT_SETS
from bellywork.conventions import note_name

if TYPE_CHECKING:
    from bellywork.files.read import BoardFile
    from bellywork.schemes.assessed import SchemeResult
    from bellywork.schemes.compared import Comparison
    from bellywork.schemes.search import Candidate, Search, Standing

SCHEMA = "bellywork-ribs/1"


def main(argv: Sequence[str] | None = None) -> int:
    """Compare rib schemes, and search for a better one."""
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
    own = Scheme(name="as described", ribs=base.board.needed_body("Comparing rib schemes").ribs)
    search = None if wished is None else searched(base, wished, progress=_progress())
    with progress("Comparing schemes"):
        comparison = compared(base, [own, *schemes, *([] if search is None else [search.found])])
    others = comparison.schemes if search is None else comparison.schemes[:-1]
    given = None if search is None else best_given(search, others, base)
    if words.csv:
        write_csv(words.csv, SCHEMA, found, note_rows(comparison))
    paths = _plots(found, comparison, search, words.plots, ".svg" if words.svg else ".png") if words.plots else []
    if words.json:
        print_json(answer(SCHEMA, found, parts(comparison, search, given)))
    else:
        print(as_text(base, comparison, search, given, UNIT_SETS[words.units], paths))
    over = any(result.bending_share > 1.0 for result in comparison.schemes)
    return EXIT_FINDINGS if over or (search is not None and search.best.missed > 0.0) else EXIT_FINE


def _plots(found: BoardFile, comparison: Comparison, search: Search | None, folder: Path, ending: str) -> list[Path]:
    from bellywork_viewer.plots import written
    from bellywork_viewer.ribs_plot import ribs_plots

    paths: list[Path] = written(ribs_plots(comparison, search, found.board.name), folder, ending=ending)
    return paths


def parts(comparison: Comparison, search: Search | None, given: tuple[str, Standing] | None) -> dict[str, Any]:
    """The answer's parts for JSON; `given`: the best of the other schemes that meet the wish of a search."""
    return {
        "schemes": [
            {
                "name": result.name,
                "ribs_kg": result.ribs_kg,
                "mass_kg": result.mass_kg,
                "load_N": result.load_N,
                "panel_load_N": result.panel_load_N,
                "bridges_load_N": result.bridges_load_N,
                "rim_load_N": result.rim_load_N,
                "ribs": [vars(rib) for rib in result.ribs],
                "notes": _notes(result),
                "unevenness": dict(result.unevenness),
                "jumps": [vars(jump) for jump in result.jumps],
                "modes_hz": result.modes_hz,
                "modal_density_per_Hz": result.modal_density_per_Hz,
                "damp": None
                if result.damp is None
                else {"net_deg": result.damp.net_deg, "crown_mm": dict(result.damp.crown_mm)},
                "difference": {
                    "ribs_kg": less.ribs_kg,
                    "mass_kg": less.mass_kg,
                    "worst_sink_mm": less.worst_sink_mm,
                    "bending_share": less.bending_share,
                    "compliance_percent": less.compliance_percent,
                    "net_deg": less.net_deg,
                    "modes_hz": less.modes_hz,
                },
            }
            for result, less in zip(comparison.schemes, comparison.differences)
        ],
        "search": None
        if search is None
        else {
            "name": search.scheme.name,
            "least": search.wish.least.value,
            "tried": len(search.tried),
            "stopped": search.stopped,
            "best": _candidate(search.best, search),
            "best_given": None if given is None else {"name": given[0], **vars(given[1])},
            "pareto": [_candidate(each, search) for each in search.pareto],
        },
        "assumptions": comparison.assumptions,
    }


def _notes(result: SchemeResult) -> list[dict[str, Any]]:
    keys = ("compliance_mm_per_N", "sink_mm", "front_deg", "rear_deg", "net_deg", "force_N")
    columns = [getattr(result, key).tolist() for key in keys]
    return [
        {"note": note, "name": note_name(note), **dict(zip(keys, row))}
        for note, *row in zip(result.note.tolist(), *columns)
    ]


def note_rows(comparison: Comparison) -> list[dict[str, Any]]:
    """One row for each scheme and note."""
    return [{"scheme": result.name, **row} for result in comparison.schemes for row in _notes(result)]


def _candidate(each: Candidate, search: Search) -> dict[str, Any]:
    return {
        **{key: value for key, value in vars(each).items() if key != "rule"},
        "rule": {name: getattr(each.rule, name) for name in search.wish.bounds},
    }


def _progress() -> Callable[[int, Candidate], None] | None:
    if not sys.stderr.isatty():
        return None

    def told(tried: int, best: Candidate) -> None:
        words = f"{tried} rules tried; best: {best.ribs_kg:.2f} kg of ribs, most sink {best.sink_mm:.2f} mm"
        print(f"{words} (Ctrl-C keeps it) …   ", end="\r", file=sys.stderr, flush=True)

    return told
