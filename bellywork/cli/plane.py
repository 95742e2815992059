"""`bellywork plane BOARD`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, progress
from bellywork.cli.learned import Learning, add_as_described, add_band
from bellywork.cli.lives import add_after, add_air, air_alone, life_asked
from bellywork.cli.plate_words import HAND, add_plate_move, plate_move
from bellywork.cli.told import add_output, add_sink, sink_source, tell

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.balance.plane_table import PlaneTable
    from bellywork.board import State
    from bellywork.files.read import BoardFile
    from bellywork.instrument import Instrument


def main(argv: Sequence[str] | None = None) -> int:
    """Print the planing schedule."""
    from bellywork.answers.plane_answer import plane_answer
    from bellywork.balance.planing import plane
    from bellywork.balance.rim_range import rim_range, rims_ahead
    from bellywork.balance.sink import SinkSource
    from bellywork.board.state import State
    from bellywork.estimate.bands import plane_bands

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
    add_plate_move(parser, HAND)
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_sink(parser)
    add_rim(parser)
    add_as_described(parser)
    add_band(parser)
    add_climate(parser, "meet the targets at this relative humidity in %%, or at the worst of a range as 35:55")
    add_after(parser, "meet the targets so long after the stringing, when the board has settled: 1w, 6m, 1y, 50y")
    add_air(parser)
    add_output(parser)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    air_alone(parser, words, "--after", words.after is not None)
    if words.after is not None and any((words.rh, words.plate_first, words.sink, words.band)):
        parser.error("found --after with --rh or --plate-first, --sink or --band, expected one of them")
    move = plate_move(words)
    if move is not None and any((words.after, words.rh, words.plate_first)):
        parser.error("found --plate-up or --tilt with --plate-first, --rh or --after, expected one of them")
    found = board_from(words.board)
    working, sink, first = (
        None if words.working is None else State(words.working),
        sink_source(words),
        words.plate_first,
    )
    board = Learning(found.board, words)
    ready = board.ready
    if words.after is not None:
        return tell(_after(found, ready, words, working), found, words)
    own_rim = words.rim is None and not board.taught
    with progress("Working out the planing schedule"):
        if own_rim and sink is None and words.rh is None:
            rims_ahead(ready)
        if words.rh is None:
            table = plane(ready, sink=sink, working=working, plate_first=first, plate=move)
        else:
            table = _at(ready, words, working)
        predicted = table.faired.sink_source is SinkSource.PREDICTED and words.rh is None
        sureness = board.sureness(partial(plane_bands, table=table)) if predicted and board.banded else None
        told_range = own_rim and predicted and table.aimed is State.STRUNG
        spread = rim_range(ready, table.faired) if told_range else None
    told = plane_answer(found.board, table, spread=spread, units=words.units, every=words.all, sureness=sureness)
    return tell(told, found, words)


def _after(found: BoardFile, ready: Instrument, words: argparse.Namespace, working: State | None) -> Answer:
    """The schedule whose targets are met on a later day."""
    from bellywork.answers.plane_answer import Later, plane_answer
    from bellywork.seasons.outlook import days_in, days_in_words
    from bellywork.seasons.plane_after import plane_after

    day = days_in(words.after)
    life = life_asked(found.board, words, day)
    with progress("Planing, and following the board through time"):
        told = plane_after(ready, life=life, day=day, working=working)
    later = Later(leave_mm=told.leave_mm, words=days_in_words(day))
    return plane_answer(found.board, told.table, spread=None, units=words.units, every=words.all, later=later)


def _at(ready: Instrument, words: argparse.Namespace, working: State | None) -> PlaneTable:
    """The schedule for another humidity, or for the worst of a range."""
    from bellywork.seasons.at_climate import plane_at
    from bellywork.seasons.year import range_of_rh

    return plane_at(
        ready,
        rh_percent=range_of_rh(words.rh),
        temperature_C=words.temperature,
        working=working,
        plate_first=words.plate_first,
    )
