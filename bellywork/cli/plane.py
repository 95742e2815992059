"""`bellywork plane BOARD`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from bellywork.cli.common import (
    CAUTION,
    Parser,
    add_board,
    add_climate,
    add_output,
    add_rim,
    answer,
    board_from,
    climate_asked,
    print_json,
    progress,
    write_csv,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.notes import (
    add_sink,
    bearing_rows,
    by_section,
    findings_part,
    rows_of,
    sink_source,
    state_words,
    totals,
)
from bellywork.cli.text import UNIT_SETS, Column, Units, number, paragraph

if TYPE_CHECKING:
    from bellywork.balance.cures import Cure
    from bellywork.balance.planing import PlaneTable
    from bellywork.balance.rim_range import RimRange
    from bellywork.board import Board, State
    from bellywork.files.read import BoardFile

SCHEMA = "bellywork-plane/1"


def main(argv: Sequence[str] | None = None) -> int:
    """Print the planing schedule."""
    from bellywork.balance.planing import plane
    from bellywork.balance.rim_range import rim_range
    from bellywork.balance.sink import SinkSource
    from bellywork.board.state import State

    parser = Parser(
        "plane",
        "How much to plane from the bridge at every note, so that the target is met once the board is strung; "
        "block and kerf for the thread at the reference notes.",
    )
    add_board(parser)
    parser.add_argument(
        "--working",
        choices=(State.BARE.value, State.PRELOADED.value),
        help="the state in which you cut: block and kerf are right for it (default: as measured)",
    )
    parser.add_argument("--plate-first", action="store_true", help="set the plate on its supports for the least wood")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_sink(parser)
    add_rim(parser)
    add_climate(parser, "meet the targets at this relative humidity in %%, or at the worst of a range as 35:55")
    add_output(parser)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    found = board_from(words.board)
    working = None if words.working is None else State(words.working)
    with progress("Working out the planing schedule"):
        table = (
            plane(found.board, sink=sink_source(words), working=working, rim=words.rim, plate_first=words.plate_first)
            if words.rh is None
            else _at(found.board, words, working)
        )
        predicted = table.planed.sink_source is SinkSource.PREDICTED and words.rim is None and words.rh is None
        spread = rim_range(found.board, table.planed) if predicted else None
    rows = schedule_rows(table)
    if words.csv:
        write_csv(words.csv, SCHEMA, found, rows)
    if words.json:
        print_json(answer(SCHEMA, found, parts(table, rows, spread)))
    else:
        print(as_text(found, table, words, spread))
    return EXIT_FINDINGS if table.findings or table.short.any() else EXIT_FINE


def _at(board: Board, words: argparse.Namespace, working: State | None) -> PlaneTable:
    """The schedule for another humidity, or for the worst of a range."""
    from bellywork.balance.rim import board_on_rim
    from bellywork.seasons.at_climate import plane_at
    from bellywork.seasons.year import range_of_rh

    return plane_at(
        board_on_rim(board, words.rim),
        rh_percent=range_of_rh(words.rh),
        temperature_C=words.temperature,
        working=working,
        plate_first=words.plate_first,
    )


def schedule_rows(table: PlaneTable) -> list[dict[str, Any]]:
    """The notes of a schedule: the bearing now, then what to do, then the bearing strung."""
    own = rows_of(
        {
            "plane_front_mm": table.plane_front_mm,
            "plane_rear_mm": table.plane_rear_mm,
            "faired_front_mm": table.faired_front_mm,
            "faired_rear_mm": table.faired_rear_mm,
            "fairing_cost_deg": table.fairing_cost_deg,
            "block_mm": table.block_mm,
            "kerf_mm": table.kerf_mm,
            "kerf_at": table.kerf_at,
            "cap_left_mm": table.cap_left_mm,
            "short": table.short,
            "planed_front_deg": table.planed.front_deg,
            "planed_rear_deg": table.planed.rear_deg,
            "planed_net_deg": table.planed.net_deg,
            "planed_downforce_N": table.planed.downforce_N,
            "planed_sink_mm": table.planed.sink_mm,
        }
    )
    return [{**now, **mine} for now, mine in zip(bearing_rows(table.now), own)]


def parts(table: PlaneTable, rows: list[dict[str, Any]], spread: RimRange | None) -> dict[str, Any]:
    """The answer's parts for JSON."""
    plate = table.plate
    return {
        "state": table.working.value,
        "sink_source": table.planed.sink_source.value,
        "worst_note": table.now.worst_note,
        "notes": rows if spread is None else [
            {**row, "planed_net_clamped_deg": stiff, "planed_net_hinged_deg": soft}
            for row, stiff, soft in zip(rows, spread.net_deg["clamped"].tolist(), spread.net_deg["hinged"].tolist())
        ],
        "totals": totals(table.planed),
        "cures": [str(cure) for cure in table.cures],
        "struts": [vars(strut) for strut in table.struts],
        "plate": None if plate is None else {
            "up_mm": plate.up_mm,
            "tilt_x_mm_per_m": plate.tilt_x_mm_per_m,
            "tilt_y_mm_per_m": plate.tilt_y_mm_per_m,
            "supports": [
                {"support": name, "move_mm": move} for name, move in zip(plate.supports, plate.move_mm.tolist())
            ],
            "short_mm": plate.short_mm,
            "binding": plate.binding,
        },
        "findings": findings_part(table.findings),
        "assumptions": table.assumptions,
    }  # fmt: skip


def columns(table: PlaneTable, units: Units) -> list[Column]:
    """The schedule of each note as columns of text."""
    line = table.now.line

    def length(values: np.ndarray) -> Any:
        return lambda i: units.length_text(float(values[i]))

    def degrees(values: np.ndarray) -> Any:
        return lambda i: number(float(values[i]), 2)

    return [
        Column(head="note", unit="", text=lambda i: str(line.note[i])),
        Column(head="", unit="", text=lambda i: table.now.name[i] + ("" if line.measured[i] else "*"), left=True),
        Column(head="net now", unit="deg", text=degrees(table.now.net_deg)),
        Column(head="wanted strung", unit="deg", text=degrees(table.planed.target_net_deg)),
        Column(head="will sink", unit=units.length, text=length(table.planed.sink_mm)),
        Column(head="plane front", unit=units.length, text=length(table.plane_front_mm)),
        Column(head="plane rear", unit=units.length, text=length(table.plane_rear_mm)),
        Column(head="fair front", unit=units.length, text=length(table.faired_front_mm)),
        Column(head="fair rear", unit=units.length, text=length(table.faired_rear_mm)),
        Column(head="costs", unit="deg", text=lambda i: number(float(table.fairing_cost_deg[i]), 2, signed=True)),
        Column(head="block", unit=units.length, text=length(table.block_mm)),
        Column(head="kerf", unit=units.length, text=length(table.kerf_mm)),
        Column(head="cap left", unit=units.length, text=length(table.cap_left_mm)),
        Column(head="", unit="", text=lambda i: "SHORT" if table.short[i] else "", left=True),
    ]


def as_text(found: BoardFile, table: PlaneTable, words: argparse.Namespace, spread: RimRange | None) -> str:
    """The schedule as tables, section by section."""
    units, now = UNIT_SETS[words.units], table.now
    line = now.line
    deepest = int(np.argmax(np.fmax(table.plane_front_mm, table.plane_rear_mm)))
    worst = int(np.flatnonzero(line.note == now.worst_note)[0])
    shown = np.ones(len(line.note), bool) if words.all else (now.reference | table.short)
    shown[[deepest, worst]] = True
    depth = max(float(table.plane_front_mm[deepest]), float(table.plane_rear_mm[deepest]))
    headline = [
        f"{found.board.name}: planing schedule, cut on the {state_words(table.working)}",
        f"Farthest from its target now: note {now.worst_note} ({now.name[worst]}), "
        f"net {number(float(now.net_deg[worst]), 2)}° on the {state_words(now.state)}.",
        f"Deepest cut: note {line.note[deepest]} ({now.name[deepest]}), {units.length_text(depth)} {units.length}.",
    ]
    if np.isfinite(table.planed.total_downforce_N):
        headline.append(
            f"Strung after planing: downforce {units.force_text(table.planed.total_downforce_N)} {units.force} in all."
        )
    if spread is not None:
        headline.append(str(spread))
    blocks = [
        "\n".join(headline),
        paragraph("Short of wood", (_cure_text(cure, units) for cure in table.cures)),
        _plate_text(table, units),
        by_section(table.planed, columns(table, units), units, shown),
        "" if words.all else "Shown: reference notes, the worst, the deepest cut, the short ones; --all shows all.",
        "" if line.measured.all() else "* interpolated between reference notes",
        "'fair' is a smooth line within the tolerance of the exact depths; 'costs' is what it does to the net bearing.",
        paragraph("To look at", map(str, table.findings)),
        paragraph("Assumed", table.assumptions),
        CAUTION,
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block)


def _cure_text(cure: Cure, units: Units) -> str:
    """What would mend the short notes of a section, in the units of the table."""
    from bellywork.geometry.naming import notes_in_words

    short, down = (f"{units.length_text(mm)} {units.length}" for mm in (cure.short_mm, cure.plate_down_mm))
    whole = "" if np.isnan(cure.cap_mm) else f" ({units.length_text(cure.cap_mm)} {units.length} in all)"
    return (
        f"{notes_in_words(cure.notes)}: {short} short. A cap thicker by {short}{whole}, or the plate lower by {down}, "
        f"or a target of {number(cure.reachable_deg, 2)}° there."
    )


def _plate_text(table: PlaneTable, units: Units) -> str:
    """The plate's setting as a dowel schedule."""
    plate = table.plate
    if plate is None:
        return ""
    moves = [
        f"{name}: {'up' if move >= 0.0 else 'down'} {units.length_text(abs(move))} {units.length}"
        for name, move in zip(plate.supports, plate.move_mm.tolist())
    ]
    whole = f"all over: {units.length_text(plate.up_mm, signed=True)} {units.length} (up positive)"
    return paragraph(f"The plate first. {plate}", moves or [whole])
