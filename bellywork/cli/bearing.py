"""`bellywork bearing BOARD [--state bare|preloaded|strung] [--against BOARD] [--plate-up MM] [--tilt X,Y]`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, finite, progress
from bellywork.cli.learned import Learning, add_as_described, add_band
from bellywork.cli.lives import add_after, add_air, air_alone, life_asked, steps
from bellywork.cli.told import add_output, add_sink, sink_source, tell
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import BearingTable
    from bellywork.balance.sink import Sink
    from bellywork.board import State
    from bellywork.board.plate import PlateMove
    from bellywork.files.read import BoardFile
    from bellywork.instrument import Instrument
    from bellywork.measures import Units


def main(argv: Sequence[str] | None = None) -> int:
    """Print the bearing at every note."""
    from bellywork.answers.bearing_answer import bearing_answer
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.rim_range import rim_range
    from bellywork.balance.sink import SinkSource, sink_of
    from bellywork.board.plate import PlateMove
    from bellywork.board.state import State
    from bellywork.estimate.bands import bearing_bands
    from bellywork.measures import MEASURES

    parser = Parser(
        "bearing",
        "Front, rear and net bearing, string deflection, tension and downforce at every note.",
        "Without --state the heights are taken as they were measured. Strung, the strings are in balance on the board.",
    )
    add_board(parser)
    parser.add_argument("--state", choices=[state.value for state in State], help="lead the heights to this state")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    parser.add_argument("--against", type=Path, metavar="BOARD", help="set another folder's net bearing beside it")
    parser.add_argument(
        "--plate-up", type=finite, default=0.0, metavar="UP", help="what if the plate stood so much higher (--units)"
    )
    parser.add_argument(
        "--tilt",
        type=tilts,
        default=(0.0, 0.0),
        metavar="X,Y",
        help="and rose further towards the treble and towards the tail, in mm per m or inches per foot",
    )
    add_sink(parser)
    add_rim(parser)
    add_as_described(parser)
    add_band(parser)
    add_climate(parser, "lead the heights to this relative humidity in %% (needs the board described)")
    add_after(parser, "the strung board so long after its stringing, beside the day itself: 1w, 6m, 1y, 50y")
    add_air(parser)
    parser.add_argument("--history", action="store_true", help="what was read at each stage against its prediction")
    add_output(parser)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    tilt = [MEASURES["tilt"].inside_of(each, words.units) for each in words.tilt]
    up = MEASURES["height"].inside_of(words.plate_up, words.units)
    move = PlateMove(up_mm=up, tilt_x_mm_per_m=tilt[0], tilt_y_mm_per_m=tilt[1])
    moves = move != PlateMove()
    if words.rh is not None and (moves or words.against is not None):
        parser.error("found --rh with --plate-up, --tilt or --against, expected one what-if at a time")
    if moves and words.against is not None:
        parser.error("found --against with --plate-up or --tilt, expected one what-if at a time")
    air_alone(parser, words, "--after or --history", words.after is not None or words.history)
    others = (words.rh, words.against, words.sink, None if words.state == "strung" else words.state)
    if words.after is not None and (moves or any(others)):
        parser.error("found --after with --state, --sink, --rh, --against, --plate-up or --tilt, expected one of them")
    found = board_from(words.board)
    if words.history:
        return tell(_history(found, words), found, words)
    if words.after is not None:
        return tell(_after(found, words), found, words)
    state = None if words.state is None else State(words.state)
    board = Learning(found.board, words)
    ready = board.ready
    with progress("Balancing the strings on the board"):
        table = bearing(ready, state=state, sink=sink_source(words)) if words.rh is None else _at(ready, words, state)
        before = None
        if moves:
            before, table = _plate_moved(ready, table, move, sink_of(ready, sink_source(words)), words.units)
        elif words.against is not None:
            before = _other(words, state)
        predicted = table.sink_source is SinkSource.PREDICTED and words.rh is None and not moves
        led = predicted and state not in (None, found.board.measured_in)
        sureness = (
            board.sureness(partial(bearing_bands, table=table, state=table.state)) if led and board.banded else None
        )
        own_rim = led and state is State.STRUNG and words.rim is None and not board.taught
        spread = rim_range(ready, table) if own_rim and before is None else None
    told = bearing_answer(
        found.board, table, spread=spread, units=words.units, every=words.all, before=before, sureness=sureness
    )
    return tell(told, found, words)


def _history(found: BoardFile, words: argparse.Namespace) -> Answer:
    """What was read at each stage, beside what was predicted for it."""
    from bellywork.answers.history_answer import history_answer
    from bellywork.balance.sink import predicted_sink
    from bellywork.seasons.life import FINISHES, USUAL_AIR
    from bellywork.seasons.stages import stages

    ready = Learning(found.board, words).ready
    with progress("Leading the board through its stages"):
        read = stages(ready, air=words.air or USUAL_AIR, finish=words.finish or FINISHES[0])
    said = [*ready.assumptions, *predicted_sink(ready).assumptions]
    if any(each.days for each in read):
        said += life_asked(ready.board, words, max(each.days for each in read)).assumptions
    return history_answer(found.board.name, read, assumptions=said, units=words.units)


def _after(found: BoardFile, words: argparse.Namespace) -> Answer:
    """The bearing on a later day, beside that on the day of stringing."""
    from bellywork.answers.bearing_answer import Before, bearing_answer
    from bellywork.answers.sureness import Ageing
    from bellywork.estimate.bands import Bands
    from bellywork.seasons.bearing_after import bearing_after
    from bellywork.seasons.outlook import days_in, days_in_words

    day = days_in(words.after)
    life = life_asked(found.board, words, day)
    ready = Learning(found.board, words).ready
    told = bearing_after(ready, life=life, day=day, progress=steps("The board through time, with what is not known"))
    said = f"{days_in_words(day)} after the stringing; 'before' is just strung."
    return bearing_answer(
        found.board,
        told.then,
        spread=None,
        units=words.units,
        every=words.all,
        before=Before(table=told.now, words=f"{said[0].upper()}{said[1:]}"),
        sureness=Ageing(bands=Bands(bands=told.bands, total_N=told.total_N)),
    )


def tilts(text: str) -> tuple[float, float]:
    """Two tilts from a command line."""
    parts = text.split(",")
    if len(parts) != 2:
        raise argparse.ArgumentTypeError(f"found '{text}', expected two numbers as 0.5,-1")
    return finite(parts[0]), finite(parts[1])


def _plate_moved(
    ready: Instrument, table: BearingTable, move: PlateMove, sink: Sink, units: Units
) -> tuple[Before, BearingTable]:
    """The bearing as it was, and that with the plate moved, in the same state."""
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.what_if import beyond_supports, with_plate_moved
    from bellywork.quantities import said

    after = bearing(with_plate_moved(ready, move, sink), state=table.state, sink=sink)
    words = f"What if: the plate up by {said('up_mm', move.up_mm, units)}"
    if move.tilts:
        along, across = (said(f"tilt_{axis}_mm_per_m", getattr(move, f"tilt_{axis}_mm_per_m"), units) for axis in "xy")
        words += f", and further by {along} towards the treble and {across} towards the tail"
    too_far = beyond_supports(ready.board, move)
    limits = f" The supports do not allow it at {', '.join(too_far)}." if too_far else ""
    return Before(table=table, words=f"{words}.{limits}"), after


def _other(words: argparse.Namespace, state: State | None) -> Before:
    """The bearing of the other folder, in the same state."""
    from bellywork.answers.bearing_answer import Before
    from bellywork.balance.bearing_table import bearing

    other = board_from(words.against)
    table = bearing(Learning(other.board, words).ready, state=state, sink=sink_source(words))
    return Before(table=table, words=f"Before: {other.board.name}, the {table.state.value} board.")


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
