"""`bellywork bearing BOARD [--state bare|preloaded|strung]`."""

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
    bearing_columns,
    bearing_rows,
    by_section,
    findings_part,
    sink_source,
    state_words,
    totals,
)
from bellywork.cli.text import UNIT_SETS, number, paragraph
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.balance.bearing_table import BearingTable
    from bellywork.balance.rim_range import RimRange
    from bellywork.board import Board, State
    from bellywork.files.read import BoardFile

SCHEMA = "bellywork-bearing/1"


def main(argv: Sequence[str] | None = None) -> int:
    """Print the bearing at every note."""
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.rim_range import rim_range
    from bellywork.balance.sink import SinkSource
    from bellywork.board.state import State

    parser = Parser(
        "bearing",
        "Front, rear and net bearing, string deflection, tension and downforce at every note.",
        "Without --state the heights are taken as they were measured. Strung, the strings are in balance on the board.",
    )
    add_board(parser)
    parser.add_argument("--state", choices=[state.value for state in State], help="lead the heights to this state")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_sink(parser)
    add_rim(parser)
    add_climate(parser, "lead the heights to this relative humidity in %% (needs the board described)")
    add_output(parser)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    found = board_from(words.board)
    state = None if words.state is None else State(words.state)
    with progress("Balancing the strings on the board"):
        table = (
            bearing(found.board, state=state, sink=sink_source(words), rim=words.rim)
            if words.rh is None
            else _at(found.board, words, state)
        )
        predicted = (
            table.sink_source is SinkSource.PREDICTED
            and table.state is State.STRUNG is not found.board.measured_in
            and words.rim is None
            and words.rh is None
        )
        spread = rim_range(found.board, table) if predicted else None
    rows = bearing_rows(table)
    if words.csv:
        write_csv(words.csv, SCHEMA, found, rows)
    if words.json:
        print_json(answer(SCHEMA, found, parts(table, rows, spread)))
    else:
        print(as_text(found, table, words, spread))
    return EXIT_FINDINGS if table.findings else EXIT_FINE


def _at(board: Board, words: argparse.Namespace, state: State | None) -> BearingTable:
    """The bearing at another humidity."""
    from bellywork.balance.rim import board_on_rim
    from bellywork.board.state import State
    from bellywork.seasons.at_climate import bearing_at
    from bellywork.seasons.year import range_of_rh

    humidities = range_of_rh(words.rh)
    if len(humidities) > 1:
        raise BoardError(f"Found '{words.rh}' as relative humidity, expected one; 'bellywork season' takes a range.")
    return bearing_at(
        board_on_rim(board, words.rim),
        rh_percent=humidities[0],
        temperature_C=words.temperature,
        state=state or State.BARE,
    )


def parts(table: BearingTable, rows: list[dict[str, Any]], spread: RimRange | None) -> dict[str, Any]:
    """The answer's parts for JSON."""
    return {
        "state": table.state.value,
        "sink_source": table.sink_source.value,
        "worst_note": table.worst_note,
        "notes": rows if spread is None else [
            {**row, "net_clamped_deg": stiff, "net_hinged_deg": soft}
            for row, stiff, soft in zip(rows, spread.net_deg["clamped"].tolist(), spread.net_deg["hinged"].tolist())
        ],
        "totals": totals(table),
        "findings": findings_part(table.findings),
        "assumptions": table.assumptions,
    }  # fmt: skip


def as_text(found: BoardFile, table: BearingTable, words: argparse.Namespace, spread: RimRange | None) -> str:
    """The answer as tables, section by section."""
    units, line = UNIT_SETS[words.units], table.line
    worst = int(np.flatnonzero(line.note == table.worst_note)[0])
    shown = np.ones(len(line.note), bool) if words.all else table.reference.copy()
    shown[worst] = True
    force = table.total_downforce_N
    headline = [
        f"{found.board.name}: bearing of the {state_words(table.state)}",
        f"Worst note: {table.worst_note} ({table.name[worst]}), net {number(float(table.net_deg[worst]), 2)}°, "
        f"{number(float(table.deviation_deg[worst]), 2, signed=True)}° from its target.",
    ]
    if np.isfinite(force):
        headline.append(f"Downforce in all: {units.force_text(force)} {units.force}.")
    if spread is not None:
        headline.append(str(spread))
    blocks = [
        "\n".join(headline),
        by_section(table, bearing_columns(table, units), units, shown),
        "" if words.all else "Shown are the reference notes and the worst; --all shows every note.",
        "" if line.measured.all() else "* interpolated between reference notes",
        paragraph("To look at", map(str, table.findings)),
        paragraph("Assumed", table.assumptions),
        CAUTION,
    ]
    return "\n\n".join(block for block in blocks if block)
