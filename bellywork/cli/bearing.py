"""`bellywork bearing BOARD [--state bare|preloaded|strung]`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, progress
from bellywork.cli.told import add_output, add_sink, sink_source, tell
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.balance.bearing_table import BearingTable
    from bellywork.board import State
    from bellywork.instrument import Instrument


def main(argv: Sequence[str] | None = None) -> int:
    """Print the bearing at every note."""
    from bellywork.answers.bearing_answer import bearing_answer
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.rim_range import rim_range
    from bellywork.balance.sink import SinkSource
    from bellywork.board.state import State
    from bellywork.instrument import prepared

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
    ready = prepared(found.board, rim=words.rim)
    with progress("Balancing the strings on the board"):
        table = bearing(ready, state=state, sink=sink_source(words)) if words.rh is None else _at(ready, words, state)
        predicted = table.sink_source is SinkSource.PREDICTED and words.rim is None and words.rh is None
        led = table.state is State.STRUNG is not found.board.measured_in
        spread = rim_range(ready, table) if predicted and led else None
    return tell(bearing_answer(found.board, table, spread=spread, units=words.units, every=words.all), found, words)


def _at(ready: Instrument, words: argparse.Namespace, state: State | None) -> BearingTable:
    """The bearing at another humidity."""
    from bellywork.board.state import State
    from bellywork.seasons.at_climate import bearing_at
    from bellywork.seasons.year import range_of_rh

    humidities = range_of_rh(words.rh)
    if len(humidities) > 1:
        raise BoardError(f"Found '{words.rh}' as relative humidity, expected one; 'bellywork season' takes a range.")
    led = State.BARE if state is None else state
    return bearing_at(ready, rh_percent=humidities[0], temperature_C=words.temperature, state=led)
