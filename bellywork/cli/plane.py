"""`bellywork plane BOARD`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, progress
from bellywork.cli.learned import Learning, add_as_described, add_band
from bellywork.cli.told import add_output, add_sink, sink_source, tell

if TYPE_CHECKING:
    from bellywork.balance.plane_table import PlaneTable
    from bellywork.board import State
    from bellywork.instrument import Instrument


def main(argv: Sequence[str] | None = None) -> int:
    """Print the planing schedule."""
    from bellywork.answers.plane_answer import plane_answer
    from bellywork.balance.planing import plane
    from bellywork.balance.rim_range import rim_range
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
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_sink(parser)
    add_rim(parser)
    add_as_described(parser)
    add_band(parser)
    add_climate(parser, "meet the targets at this relative humidity in %%, or at the worst of a range as 35:55")
    add_output(parser)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    found = board_from(words.board)
    working, sink, first = (
        None if words.working is None else State(words.working),
        sink_source(words),
        words.plate_first,
    )
    board = Learning(found.board, words)
    ready = board.ready
    with progress("Working out the planing schedule"):
        if words.rh is None:
            table = plane(ready, sink=sink, working=working, plate_first=first)
        else:
            table = _at(ready, words, working)
        predicted = table.faired.sink_source is SinkSource.PREDICTED and words.rh is None
        sureness = board.sureness(partial(plane_bands, table=table)) if predicted and board.banded else None
        own_rim = predicted and table.aimed is State.STRUNG and words.rim is None and not board.taught
        spread = rim_range(ready, table.faired) if own_rim else None
    told = plane_answer(found.board, table, spread=spread, units=words.units, every=words.all, sureness=sureness)
    return tell(told, found, words)


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
