"""`bellywork crown BOARD [--readings NAME] [--page FILE]`."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
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
    needed,
    print_json,
    progress,
    write_csv,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.text import UNIT_SETS, Column, Units, number, paragraph, table
from bellywork.conventions import UNITS, note_name

if TYPE_CHECKING:
    from bellywork.board import Board
    from bellywork.files.read import BoardFile
    from bellywork.survey.loss import RibLoss, Survey
    from bellywork.survey.recovery import Best
    from bellywork.survey.surface import Curvature

SCHEMA = "bellywork-crown/1"
PAGES = (".md", ".html")


def main(argv: Sequence[str] | None = None) -> int:
    """Survey an old board: crown, its loss, what is left and what can be got."""
    from bellywork.survey.loss import surveyed
    from bellywork.survey.recovery import best

    parser = Parser(
        "crown",
        "Crown and its loss from threads, straightedges, bridge heights and bearing gauges: what the strings take, "
        "what the weather takes, and what is set; the bearing that is left and what lowering the plate or a new cap "
        "would give.",
        "Readings stand in readings.csv and any readings-….csv of the board folder; each with its state, date and "
        "humidity.",
    )
    add_board(parser)
    parser.add_argument("--readings", metavar="NAME", help="only the readings of this table, such as readings-may")
    parser.add_argument("--scan", type=Path, metavar="FILE", help="also read a scan of the panel (.ply, .stl, .obj)")
    parser.add_argument("--scan-unit", choices=("mm", "in"), default="mm", help="unit of the scan (default mm)")
    parser.add_argument(
        "--scan-state", choices=("bare", "strung"), default="bare", help="state it was scanned in (default bare)"
    )
    parser.add_argument("--page", type=Path, metavar="FILE", help="also write a page for the owner (.md or .html)")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_output(parser)
    words = parser.parse_args(argv)
    if words.page is not None and words.page.suffix not in PAGES:
        parser.error(f"found the page '{words.page}', expected a name that ends in {' or '.join(PAGES)}")
    if words.scan is not None:
        if not words.scan.is_file():
            parser.error(f"found no file '{words.scan}', expected a scan of the panel")
        needed("solids")
    found = board_from(words.board)
    with progress("Surveying the board"):
        survey = surveyed(_with_scan(found.board, words), table=words.readings)
        got = best(survey)
        curved = _curvature(survey)
    if words.csv:
        write_csv(words.csv, SCHEMA, found, note_rows(survey, got))
    if words.page:
        _write_page(survey, got, words.page)
    if words.json:
        print_json(answer(SCHEMA, found, parts(survey, got, curved)))
    else:
        print(as_text(found, survey, got, UNIT_SETS[words.units], every=words.all))
    return EXIT_FINDINGS if survey.findings or look_at(survey) else EXIT_FINE


def _with_scan(board: Board, words: argparse.Namespace) -> Board:
    """The board with the readings of a scan beside its own."""
    if words.scan is None:
        return board
    from bellywork.board.state import State
    from bellywork.geometry.completed import completed
    from bellywork.solids.scan import scan_readings

    whole = completed(board).board
    state = State(words.scan_state)
    scanned = scan_readings(whole, words.scan, unit=words.scan_unit, state=state, climate=board.climate)
    return replace(board, readings=(*board.readings, *scanned))


def _curvature(survey: Survey) -> Curvature:
    from bellywork.survey.surface import curvature, read_surface

    body, plan = survey.board.needed_body("A survey"), survey.board.needed_plan("A survey")
    surface = read_surface(body, list(survey.surest.values()), survey.threads)
    return curvature(surface, plan.middle_mm)


def _write_page(survey: Survey, got: Best, path: Path) -> None:
    from bellywork.files.write import write_result
    from bellywork.survey.owner_page import owner_html, owner_page

    write_result(path, owner_html(survey, got) if path.suffix == ".html" else owner_page(survey, got))


def parts(survey: Survey, got: Best, curved: Curvature) -> dict[str, Any]:
    """The answer's parts for JSON."""
    soft = survey.softness
    return {
        "ribs": rib_rows(survey),
        "notes": note_rows(survey, got),
        "curvature": [
            {"note": note, "greater_per_m": greater, "lesser_per_m": lesser, "direction_deg": direction}
            for note, greater, lesser, direction in zip(
                survey.note.tolist(),
                curved.greater_per_m.tolist(),
                curved.lesser_per_m.tolist(),
                curved.direction_deg.tolist(),
            )
        ],
        "softness": {
            "factor": soft.factor,
            "uncertainty": soft.uncertainty,
            "measured": soft.measured,
            "loose": soft.loose,
            "spring_back": [
                {"what": what, "measured_mm": measured, "uncertainty_mm": wide, "predicted_mm": predicted}
                for what, measured, wide, predicted in zip(
                    soft.names, soft.measured_mm.tolist(), soft.uncertainty_mm.tolist(), soft.predicted_mm.tolist()
                )
            ],
        },
        "plate_rise_mm": [
            {"place": place, "mm": rise, "uncertainty_mm": wide} for place, (rise, wide) in survey.plate_mm.items()
        ],
        "gauges": [
            {"note": each.note, "state": each.state.value, "net_deg": each.net_deg,
             "by_heights_deg": each.by_heights_deg, "misread": each.misread}
            for each in survey.gauges
        ],
        "best": {
            "plate_up_mm": got.up_mm,
            "plate_tilt_x_mm_per_m": got.tilt_x_mm_per_m,
            "plate_tilt_y_mm_per_m": got.tilt_y_mm_per_m,
            "supports": [{"support": s, "move_mm": m} for s, m in zip(got.supports, got.move_mm.tolist())],
            "held_by": got.binding,
            "stayed": got.stayed,
            "crown_left_mm": got.crown_left_mm,
            "unreached": [int(survey.note[k]) for k in got.unreached],
            "recap_share": got.recap_share,
        },
        "to_look_at": look_at(survey),
        "assumptions": survey.assumptions,
    }  # fmt: skip


def rib_rows(survey: Survey) -> list[dict[str, Any]]:
    """One row for each rib and state."""
    return [_rib(rib) for rib in survey.ribs]


def _rib(rib: RibLoss) -> dict[str, Any]:
    fit = rib.fit
    return {
        "rib": rib.rib,
        "state": rib.state.value,
        "date": rib.date,
        "rh_percent": rib.rh_percent,
        "killer_octave": rib.killer,
        "span_mm": fit.span_mm,
        "rise_mm": fit.rise_mm,
        "rise_uncertainty_mm": fit.rise_uncertainty_mm,
        "radius_mm": fit.radius_mm if np.isfinite(fit.radius_mm) else None,
        "shape": fit.shape.value,
        "misread": [int(k) + 1 for k in fit.outliers],
        "as_made_mm": rib.as_made_mm,
        "sink_mm": rib.sink_mm,
        "moisture_mm": rib.moisture_mm,
        "expected_rise_mm": rib.expected_mm,
        "set_mm": rib.set_mm,
        "set_uncertainty_mm": rib.set_uncertainty_mm,
        "notes": rib.notes,
    }


def note_rows(survey: Survey, got: Best) -> list[dict[str, Any]]:
    """One row for each note."""
    columns = {
        "set_mm": survey.set_mm,
        "set_uncertainty_mm": survey.set_uncertainty_mm,
        "net_deg_now": survey.net_deg,
        "net_deg_best": got.net_deg,
        "net_deg_recap": got.recap_net_deg,
        "recap_mm": got.recap_mm,
        "target_net_deg": got.target_deg,
    }
    rows = zip(*(values.tolist() for values in columns.values()))
    return [
        {"note": note, "name": note_name(note), **dict(zip(columns, row))}
        for note, row in zip(survey.note.tolist(), rows)
    ]


def look_at(survey: Survey) -> list[str]:
    """What was misread, or is not as a crown should be, in sentences."""
    said = []
    for rib in survey.ribs:
        for k in rib.fit.outliers.tolist():
            said.append(
                f"Rib {rib.rib}, {rib.state.value}: reading {k + 1} is {rib.fit.residual_mm[k]:+.2f} mm off "
                f"what the others "
                "say; it is left out. Read it again."
            )
    for rib in survey.surest.values():
        if rib.fit.shape.value in ("reversed", "S"):
            what = "reversed" if rib.fit.shape.value == "reversed" else "S-shaped: up on one side, down on the other"
            said.append(f"Rib {rib.rib} is {what} ({rib.state.value}).")
    for each in survey.gauges:
        if each.misread:
            said.append(
                f"The bearing gauge at note {each.note} ({note_name(each.note)}) says {each.net_deg:.2f}° net, "
                f"the heights "
                f"{each.by_heights_deg:.2f}°: one of the two was misread."
            )
    return said


def as_text(found: BoardFile, survey: Survey, got: Best, units: Units, *, every: bool) -> str:
    """The answer as tables."""
    from bellywork.geometry.reference_notes import reference_notes

    worst = max(survey.surest.values(), key=lambda rib: rib.set_mm)
    shown = np.ones(len(survey.note), bool) if every else reference_notes(survey.bare).copy()
    shown[int(np.argmin(survey.net_deg - got.target_deg))] = True
    plate = [
        f"The plate {'rose' if rise > 0 else 'dropped'} {units.length_text(abs(rise))} ± {units.length_text(wide)} "
        f"{units.length} at {place} when the strings came off: that much of a bearing change there is plate, not board."
        for place, (rise, wide) in survey.plate_mm.items()
    ]
    blocks = [
        f"{found.board.name}: crown and its loss\n"
        f"Most set: rib {worst.rib}, {units.length_text(worst.set_mm)} ± {units.length_text(worst.set_uncertainty_mm)} "
        f"{units.length} over {_span_text(worst.fit.span_mm, units)} {units.length}.",
        "Ribs, those under octaves 5 and 6 first\n" + _ribs(survey, units),
        _softness_words(survey, units),
        "\n".join(plate),
        "Bearing under the strings, deg net: now, with the plate set, with a new "
        "cap\n" + _notes(survey, got, units, shown),
        _plate_words(survey, got, units),
        "" if every else "Shown are the reference notes and the worst; --all shows every note.",
        paragraph("To look at", [*look_at(survey), *map(str, survey.findings)]),
        paragraph("Assumed", survey.assumptions),
        CAUTION,
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block)


def _ribs(survey: Survey, units: Units) -> str:
    ribs = survey.ribs

    def length(of: Callable[[RibLoss], float]) -> Callable[[int], str]:
        return lambda i: units.length_text(of(ribs[i]))

    def radius(i: int) -> str:
        r = ribs[i].fit.radius_mm
        if not np.isfinite(r):
            return "–"
        return f"{r / 1000.0:.1f}" if units.length == "mm" else f"{r / 304.8:.0f}"

    columns = [
        Column(head="rib", unit="", text=lambda i: ribs[i].rib),
        Column(head="state", unit="", text=lambda i: ribs[i].state.value, left=True),
        Column(head="span", unit=units.length, text=lambda i: _span_text(ribs[i].fit.span_mm, units)),
        Column(head="rise", unit=units.length, text=length(lambda rib: rib.fit.rise_mm)),
        Column(head="±", unit="", text=length(lambda rib: rib.fit.rise_uncertainty_mm)),
        Column(head="radius", unit="m" if units.length == "mm" else "ft", text=radius),
        Column(head="shape", unit="", text=lambda i: ribs[i].fit.shape.value, left=True),
        Column(head="made", unit=units.length, text=length(lambda rib: rib.as_made_mm)),
        Column(head="load", unit=units.length, text=length(lambda rib: rib.sink_mm)),
        Column(head="damp", unit=units.length, text=length(lambda rib: rib.moisture_mm)),
        Column(head="expected", unit=units.length, text=length(lambda rib: rib.expected_mm)),
        Column(head="set", unit=units.length, text=length(lambda rib: rib.set_mm)),
        Column(head="±", unit="", text=length(lambda rib: rib.set_uncertainty_mm)),
        Column(head="notes", unit="", text=lambda i: _span_of(ribs[i].notes), left=True),
    ]
    return table(columns, range(len(ribs)))


def _span_text(span_mm: float, units: Units) -> str:
    return number(UNITS[units.length].outside(span_mm), 0 if units.length == "mm" else 1)


def _span_of(notes: tuple[int, ...]) -> str:
    return f"{note_name(notes[0])} to {note_name(notes[-1])}" if notes else "–"


def _softness_words(survey: Survey, units: Units) -> str:
    soft = survey.softness
    if not soft.measured:
        return ""
    rows = range(len(soft.names))
    columns = [
        Column(head="what came back", unit="", text=lambda i: soft.names[i], left=True),
        Column(head="read", unit=units.length, text=lambda i: units.length_text(float(soft.measured_mm[i]))),
        Column(head="±", unit="", text=lambda i: units.length_text(float(soft.uncertainty_mm[i]))),
        Column(head="model", unit=units.length, text=lambda i: units.length_text(float(soft.predicted_mm[i]))),
    ]
    soft_words = f"{soft.factor:.2f} ± {soft.uncertainty:.2f} times as soft as the model"
    return f"When the strings came off: this board is {soft_words}\n{table(columns, rows)}"


def _notes(survey: Survey, got: Best, units: Units, shown: np.ndarray) -> str:
    def degrees(values: np.ndarray) -> Callable[[int], str]:
        return lambda i: number(float(values[i]), 2)

    columns = [
        Column(head="note", unit="", text=lambda i: str(int(survey.note[i]))),
        Column(head="", unit="", text=lambda i: note_name(int(survey.note[i])), left=True),
        Column(head="set", unit=units.length, text=lambda i: units.length_text(float(survey.set_mm[i]))),
        Column(head="target", unit="deg", text=degrees(got.target_deg)),
        Column(head="now", unit="deg", text=degrees(survey.net_deg)),
        Column(head="plate set", unit="deg", text=degrees(got.net_deg)),
        Column(head="new cap", unit="deg", text=degrees(got.recap_net_deg)),
        Column(
            head="cap gains", unit=units.length, text=lambda i: units.length_text(float(got.recap_mm[i]), signed=True)
        ),
    ]  # fmt: skip
    return table(columns, np.flatnonzero(shown).tolist())


def _plate_words(survey: Survey, got: Best, units: Units) -> str:
    held = f" It is held by {', '.join(got.binding)}." if got.binding else ""
    moves = ", ".join(
        f"{name} {units.length_text(float(move), signed=True)}" for name, move in zip(got.supports, got.move_mm)
    )
    lines = ["No plate setting within its limits was found: it stays as it is."] if got.stayed else []
    lines += [
        f"Best plate setting: {units.length_text(got.up_mm, signed=True)} {units.length} at the origin"
        + (f"; at the supports {moves} {units.length}." if moves else ".")
        + held,
        f"With it {len(got.unreached)} of {len(survey.note)} notes stay below their target."
        if got.unreached
        else "With it every note reaches its target.",
    ]
    if got.recap_share < 1.0:
        lines.append(
            f"A new cap can go {100.0 * got.recap_share:.0f} % of the way to the targets: more would press a rib flat."
        )
    return "\n".join(lines)
