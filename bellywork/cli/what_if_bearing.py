"""What-ifs of `bellywork bearing`: the bearing as it is, and as it would be, in the same state."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.learned import Learning
from bellywork.cli.told import sink_source
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import BearingTable
    from bellywork.balance.sink import Sink
    from bellywork.board import Board, State
    from bellywork.board.plate import PlateMove
    from bellywork.instrument import Instrument
    from bellywork.measures import Units

WHAT_IFS = "--plate-up or --tilt, --against, --rh, and --scale or --targets"


def plate_moved(
    ready: Instrument, table: BearingTable, move: PlateMove, sink: Sink, units: Units
) -> tuple[Before, BearingTable]:
    """The bearing as it was, and that with the plate moved, in the same state."""
    from bellywork.answers.bearing_answer import Before
    from bellywork.answers.plane_answer import move_words
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.what_if import with_plate_moved

    after = bearing(with_plate_moved(ready, move, sink), state=table.state, sink=sink)
    words = f"What if: the plate up by {move_words(move, units, ready.board.kind)}"
    too_far = ready.board.plate.beyond(move)
    limits = f" The supports do not allow it at {', '.join(too_far)}." if too_far else ""
    return Before(table=table, words=f"{words}.{limits}"), after


def instead_told(
    other: Board, ready: Instrument, table: BearingTable, sink: Sink, instead: dict[str, Path]
) -> tuple[Before, BearingTable]:
    """The bearing as it is, and that with the strings or the targets of the same board read with other tables."""
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.what_if import with_strings
    from bellywork.instrument import prepared

    other = prepared(other).board
    changed = replace(ready, board=replace(ready.board, targets=other.targets), _kept={})
    if "scale" in instead:
        changed, sink = with_strings(changed, other.needed_scale("Other strings"), sink)
    named = " and ".join(
        f"the {'strings' if name == 'scale' else name} of {path.name}" for name, path in instead.items()
    )
    return Before(table=table, words=f"What if: {named}."), bearing(changed, state=table.state, sink=sink)


def other_board(other: Board, words: argparse.Namespace, state: State | None) -> Before:
    """The bearing of another board, in the same state."""
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import bearing

    table = bearing(Learning(other, words).ready, state=state, sink=sink_source(words))
    return Before(table=table, words=f"Before: {other.name}, the {table.state.value} board.")


def at_humidity(ready: Instrument, words: argparse.Namespace, state: State | None) -> BearingTable:
    """The bearing at another humidity."""
    from bellywork.board.state import State
    from bellywork.seasons.at_climate import bearing_at
    from bellywork.seasons.year import range_of_rh

    humidities = range_of_rh(words.rh)
    if len(humidities) > 1:
        raise BoardError(f"Found '{words.rh}' as relative humidity, expected one; 'bellywork season' takes a range.")
    led = State.BARE if state is None else state
    return bearing_at(ready, rh_percent=humidities[0], temperature_C=words.temperature, state=led)
