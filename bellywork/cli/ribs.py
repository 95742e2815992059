"""`bellywork ribs BOARD SCHEME... [--search RULE]`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from bellywork.cli.common import (
    CAUTION,
    Parser,
    add_board,
    add_output,
    answer,
    board_from,
    print_json,
    progress,
    write_csv,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.text import UNIT_SETS, Column, Units, number, paragraph, table
from bellywork.conventions import note_name

if TYPE_CHECKING:
    from bellywork.board.scheme import RibRule
    from bellywork.files.read import BoardFile
    from bellywork.schemes.assessed import SchemeResult
    from bellywork.schemes.compared import Comparison
    from bellywork.schemes.search import Candidate, Search

SCHEMA = "bellywork-ribs/1"
PARETO_SHOWN = 12


def main(argv: Sequence[str] | None = None) -> int:
    """Compare rib schemes, and search for a better one."""
    from bellywork.board.scheme import Scheme
    from bellywork.files.schemes import read_scheme
    from bellywork.schemes.assessed import base_of
    from bellywork.schemes.compared import compared
    from bellywork.schemes.search import searched

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
    add_output(parser)
    words = parser.parse_args(argv)
    found = board_from(words.board)
    base = base_of(found.board)
    schemes = [read_scheme(path, found.folder) for path in words.schemes]
    wished = None if words.search is None else read_scheme(words.search, found.folder)
    own = Scheme(name="as described", ribs=base.board.needed_body("Comparing rib schemes").ribs)
    search = None if wished is None else searched(base, wished, progress=_progress())
    with progress("Comparing schemes"):
        comparison = compared(base, [own, *schemes, *([] if search is None else [search.found])])
    if words.csv:
        write_csv(words.csv, SCHEMA, found, note_rows(comparison))
    paths = _plots(found, comparison, search, words.plots) if words.plots else []
    if words.json:
        print_json(answer(SCHEMA, found, parts(comparison, search)))
    else:
        print(as_text(found, comparison, search, UNIT_SETS[words.units], paths))
    over = any(result.bending_share > 1.0 for result in comparison.schemes)
    return EXIT_FINDINGS if over or (search is not None and search.best.missed > 0.0) else EXIT_FINE


def _plots(found: BoardFile, comparison: Comparison, search: Search | None, folder: Path) -> list[Path]:
    from bellywork_viewer.plots import written
    from bellywork_viewer.ribs_plot import ribs_plots

    paths: list[Path] = written(ribs_plots(comparison, search, found.board.name), folder)
    return paths


def parts(comparison: Comparison, search: Search | None) -> dict[str, Any]:
    """The answer's parts for JSON."""
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
        "ribs_kg": each.ribs_kg,
        "sink_mm": each.sink_mm,
        "unevenness": each.unevenness,
        "bending_share": each.bending_share,
        "crown_left_mm": each.crown_left_mm,
        "missed": each.missed,
        "rule": {name: getattr(each.rule, name) for name in search.wish.bounds},
    }


def as_text(
    found: BoardFile, comparison: Comparison, search: Search | None, units: Units, paths: Sequence[Path]
) -> str:
    """The answer as tables."""
    from bellywork.geometry.completed import completed
    from bellywork.geometry.reference import reference_notes

    line = completed(found.board).board.needed_strings("Comparing rib schemes")
    rows = np.flatnonzero(reference_notes(line)).tolist()
    results = comparison.schemes
    keys = [chr(ord("A") + k) for k in range(len(results))]
    blocks = [
        f"{found.board.name}: {len(results)} rib schemes, each against A",
        "\n".join(f"{key}  {result.name}" for key, result in zip(keys, results)),
        _summary(comparison, keys, units),
        *(f"{key}: ribs of {result.name}\n{_ribs(result, units)}" for key, result in zip(keys, results)),
        "Compliance at the bridge top, µm per N\n"
        + _along(results, keys, rows, lambda r, i: 1e3 * r.compliance_mm_per_N[i], 2),
        "Net bearing, strung, deg\n" + _along(results, keys, rows, lambda r, i: r.net_deg[i], 2),
        "Where the compliance jumps, %\n" + _jumps(results, keys),
        "Lowest modes of the bare board, Hz\n" + _modes(results, keys),
        "" if search is None else _search(search, units),
        "\n".join(f"Drawn: {path}" for path in paths),
        paragraph("Assumed", comparison.assumptions),
        CAUTION,
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block)


def _summary(comparison: Comparison, keys: Sequence[str], units: Units) -> str:
    results, less = comparison.schemes, comparison.differences
    worst_rib = [min(result.ribs, key=lambda rib: rib.crown_left_mm, default=None) for result in results]

    def crown(i: int) -> str:
        rib = worst_rib[i]
        return number(float("nan"), 2) if rib is None else f"{units.length_text(rib.crown_left_mm)} (rib {rib.rib})"

    def sink(i: int) -> str:
        at = results[i].worst_sink
        return f"{units.length_text(results[i].sink_mm[at])} ({note_name(int(results[i].note[at]))})"

    def damp(i: int) -> str:
        change = results[i].damp
        return number(float("nan"), 2) if change is None else number(float(change.net_deg.max()), 2, signed=True)

    columns = [
        Column(head="", unit="", text=lambda i: keys[i]),
        Column(head="ribs", unit="kg", text=lambda i: number(results[i].ribs_kg, 2)),
        Column(head="against A", unit="kg", text=lambda i: number(less[i].ribs_kg, 2, signed=True)),
        Column(head="board", unit="kg", text=lambda i: number(results[i].mass_kg, 2)),
        Column(head="most sink", unit=units.length, text=sink),
        Column(
            head="against A", unit=units.length, text=lambda i: units.length_text(less[i].worst_sink_mm, signed=True)
        ),
        Column(head="least crown left", unit=units.length, text=crown),
        Column(head="bending", unit="% of strength", text=lambda i: number(100.0 * results[i].bending_share, 0)),
        Column(head="30 to 60 % RH", unit="deg, most", text=damp),
        Column(head="modes", unit="per 100 Hz", text=lambda i: number(100.0 * results[i].modal_density_per_Hz, 1)),
    ]  # fmt: skip
    return table(columns, range(len(results)))


def _ribs(result: SchemeResult, units: Units) -> str:
    ribs = result.ribs

    def length(name: str) -> Callable[[int], str]:
        return lambda i: units.length_text(getattr(ribs[i], name))

    def force(name: str) -> Callable[[int], str]:
        return lambda i: units.force_text(getattr(ribs[i], name))

    columns = [
        Column(head="rib", unit="", text=lambda i: ribs[i].rib),
        Column(head="span", unit=units.length, text=length("span_mm")),
        Column(head="mass", unit="g", text=lambda i: number(1000.0 * ribs[i].mass_kg, 0)),
        Column(head="load", unit=units.force, text=force("load_N")),
        Column(head="sink", unit=units.length, text=length("sink_mm")),
        Column(head="crown", unit=units.length, text=length("crown_mm")),
        Column(head="left", unit=units.length, text=length("crown_left_mm")),
        Column(head="bending", unit="MPa", text=lambda i: number(ribs[i].bending_MPa, 1)),
        Column(head="", unit="%", text=lambda i: number(100.0 * ribs[i].bending_share, 0)),
        Column(head="shear", unit="MPa", text=lambda i: number(ribs[i].shear_MPa, 2)),
        Column(head="", unit="%", text=lambda i: number(100.0 * ribs[i].shear_share, 0)),
        Column(head="bare beam", unit=f"{units.force} near", text=force("nearest_N")),
        Column(head="sag", unit=units.length, text=length("bare_sag_mm")),
    ]
    carried = (
        f"Carried by the ribs {units.force_text(sum(rib.load_N for rib in ribs))}, the panel "
        f"{units.force_text(result.panel_load_N)}, the bridges {units.force_text(result.bridges_load_N)}, the rim's "
        f"give {units.force_text(result.rim_load_N)}: in all {units.force_text(result.load_N)} {units.force}."
    )
    return f"{table(columns, range(len(ribs)))}\n{carried}"


def _along(
    results: Sequence[SchemeResult],
    keys: Sequence[str],
    rows: Sequence[int],
    value: Callable[[SchemeResult, int], float],
    digits: int,
) -> str:
    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(float(value(results[k], i)), digits)

    def less(k: int) -> Callable[[int], str]:
        return lambda i: number(float(value(results[k], i) - value(results[0], i)), digits, signed=True)

    columns = [
        Column(head="note", unit="", text=lambda i: str(int(results[0].note[i]))),
        Column(head="", unit="", text=lambda i: note_name(int(results[0].note[i])), left=True),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
        *(Column(head=f"{key}−A", unit="", text=less(k)) for k, key in enumerate(keys) if k),
    ]
    return table(columns, rows)


def _jumps(results: Sequence[SchemeResult], keys: Sequence[str]) -> str:
    first = results[0].jumps

    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(results[k].jumps[i].percent, 0, signed=True)

    columns = [
        Column(head="bridge", unit="", text=lambda i: first[i].bridge, left=True),
        Column(head="where", unit="", text=lambda i: first[i].where, left=True),
        Column(head="notes", unit="", text=lambda i: " to ".join(note_name(n) for n in first[i].notes), left=True),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
    ]
    return table(columns, range(len(first)))


def _modes(results: Sequence[SchemeResult], keys: Sequence[str]) -> str:
    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(float(results[k].modes_hz[i]), 1)

    columns = [
        Column(head="mode", unit="", text=lambda i: str(i + 1)),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
    ]
    return table(columns, range(min(len(result.modes_hz) for result in results)))


def _search(search: Search, units: Units) -> str:
    """The search in words, its best rule and the trade-offs nearest to it."""
    wish, best = search.wish, search.best
    met = "meets every wish" if best.missed == 0.0 else f"misses the wishes by {100.0 * best.missed:.1f} % in all"
    head = [
        f"Search: {len(search.tried)} rules tried{', stopped early' if search.stopped else ''}; least "
        f"{wish.least.value} is wished for, and the best {met}.",
        "Best rule: " + ", ".join(f"{name} {_rule_value(best.rule, name)}" for name in wish.bounds) + ".",
    ]
    near = sorted(search.pareto, key=lambda each: abs(each.value(wish.least) - best.value(wish.least)))[:PARETO_SHOWN]
    shown = sorted(near, key=lambda each: each.ribs_kg)
    columns = [
        Column(head="ribs", unit="kg", text=lambda i: number(shown[i].ribs_kg, 2)),
        Column(head="most sink", unit=units.length, text=lambda i: units.length_text(shown[i].sink_mm)),
        Column(head="unevenness", unit="", text=lambda i: number(shown[i].unevenness, 3)),
        Column(head="bending", unit="% of strength", text=lambda i: number(100.0 * shown[i].bending_share, 0)),
        Column(head="crown left", unit=units.length, text=lambda i: units.length_text(shown[i].crown_left_mm)),
        Column(head="wishes", unit="", text=lambda i: "met" if shown[i].missed == 0.0 else "missed"),
    ]
    title = f"What is traded for what: {len(shown)} of {len(search.pareto)} rules that no other beats in all three"
    return "\n".join([*head, "", title, table(columns, range(len(shown)))])


def _rule_value(rule: RibRule, name: str) -> str:
    value = getattr(rule, name)
    return str(value) if name == "count" else f"{value:.1f}"


def _progress() -> Callable[[int, Candidate], None] | None:
    if not sys.stderr.isatty():
        return None

    def told(tried: int, best: Candidate) -> None:
        words = f"{tried} rules tried; best: {best.ribs_kg:.2f} kg of ribs, most sink {best.sink_mm:.2f} mm"
        print(f"{words} (Ctrl-C keeps it) …   ", end="\r", file=sys.stderr, flush=True)

    return told
