"""`bellywork bearing BOARD [--state …] [--after TIME] [--against BOARD] [--plate-up MM] [--scale FILE] …`."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, progress
from bellywork.cli.later_bearing import after_told, history_told
from bellywork.cli.learned import Learning, add_as_described, add_band
from bellywork.cli.lives import add_after, add_air, air_alone
from bellywork.cli.plate_words import add_plate_move, plate_move
from bellywork.cli.told import add_output, add_sink, sink_source, tell
from bellywork.cli.what_if_bearing import WHAT_IFS, at_humidity, instead_told, other_board, plate_moved


def main(argv: Sequence[str] | None = None) -> int:
    """Print the bearing at every note."""
    from bellywork.answers.bearing_answer import bearing_answer
    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.rim_range import rim_range, rims_ahead
    from bellywork.balance.sink import SinkSource, sink_of
    from bellywork.board.state import State
    from bellywork.estimate.bands import bearing_bands

    parser = Parser(
        "bearing",
        "Front, rear and net bearing, string deflection, tension and downforce at every note.",
        "Without --state the heights are taken as they were measured. Strung, the strings are in balance on the board.",
    )
    add_board(parser)
    parser.add_argument("--state", choices=[state.value for state in State], help="lead the heights to this state")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    parser.add_argument("--against", type=Path, metavar="BOARD", help="set another folder's net bearing beside it")
    add_plate_move(parser, "what if the plate stood so much higher (--units)")
    parser.add_argument("--scale", type=Path, metavar="FILE.csv", help="what if it had the strings of this table")
    parser.add_argument("--targets", type=Path, metavar="FILE.csv", help="what if these were the targets")
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
    move = plate_move(words)
    moves = move is not None
    if words.rh is not None and (moves or words.against is not None):
        parser.error("found --rh with --plate-up, --tilt or --against, expected one what-if at a time")
    instead = {name: path for name in ("scale", "targets") if (path := getattr(words, name)) is not None}
    if sum(map(bool, (moves, words.against, instead))) > 1 or (instead and words.rh is not None):
        parser.error(f"found {WHAT_IFS}, expected one what-if at a time")
    air_alone(parser, words, "--after or --history", words.after is not None or words.history)
    beside = (moves, words.rh, words.against, words.sink, instead, words.band)
    if words.after is not None and any((*beside, words.state not in (None, "strung"))):
        parser.error(f"found --after with --state, --sink or one of {WHAT_IFS}, or --band, expected one of them")
    if words.history and any((*beside, words.after, words.state)):
        parser.error("found --history with --after, --state, --sink, --band or a what-if, expected it alone")
    found = board_from(words.board)
    other = None
    if instead or words.against is not None:
        other = board_from(words.against or words.board, instead=instead)
        found = found.beside(other)
    if words.history:
        return tell(history_told(found, words), found, words)
    if words.after is not None:
        return tell(after_told(found, words), found, words)
    state = None if words.state is None else State(words.state)
    board = Learning(found.board, words)
    ready = board.ready
    led_strung = state is State.STRUNG and found.board.measured_in is not State.STRUNG
    own_rim = led_strung and words.rim is None and not board.taught
    with progress("Balancing the strings on the board"):
        if own_rim and words.sink is None and words.rh is None and other is None and not moves:
            rims_ahead(ready)
        if words.rh is None:
            table = bearing(ready, state=state, sink=sink_source(words))
        else:
            table = at_humidity(ready, words, state)
        before = None
        if move is not None:
            before, table = plate_moved(ready, table, move, sink_of(ready, sink_source(words)), words.units)
        elif instead and other is not None:
            before, table = instead_told(other.board, ready, table, sink_of(ready, sink_source(words)), instead)
        elif other is not None:
            before = other_board(other.board, words, state)
        predicted = table.sink_source is SinkSource.PREDICTED and words.rh is None and not (moves or instead)
        led = predicted and state not in (None, found.board.measured_in)
        sureness = (
            board.sureness(partial(bearing_bands, table=table, state=table.state)) if led and board.banded else None
        )
        spread = rim_range(ready, table) if own_rim and led and before is None else None
    told = bearing_answer(
        found.board, table, spread=spread, units=words.units, every=words.all, before=before, sureness=sureness
    )
    return tell(told, found, words)
