"""The bearing on a later day beside that on the day of stringing, note by note."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable, bearing, table_of
from bellywork.balance.sink import EnteredSink, SinkSource, predicted_sink
from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.conventions import note_name
from bellywork.instrument import Instrument, prepared
from bellywork.seasons.life import Life
from bellywork.seasons.outlook import Outlook, outlook


@dataclass(frozen=True, kw_only=True, eq=False)
class BearingAfter:
    """The bearing of a strung board now and then.

    now, then   just strung, and `day` days later
    bands       of `then`: ends of the 95 % range by quantity, for what time does
    total_N     ends of that of the whole downforce
    day         since the stringing
    """

    now: BearingTable
    then: BearingTable
    bands: Mapping[str, tuple[Floats, Floats]]
    total_N: tuple[float, float]
    day: float


def bearing_after(
    board: Board | Instrument, *, life: Life, day: float, progress: Callable[[str], None] | None = None
) -> BearingAfter:
    """The bearing so many days after the stringing, in balance on the board as it then is.

    Heights of a strung board are taken as those of the day of stringing, and led back to the bare one. Raises as
    `bearing` and `outlook` do.
    """
    ready = worked_bare(prepared(board))
    seen = outlook(ready, life=life, days=(0.0, day), progress=progress)
    said = (*predicted_sink(ready).assumptions, *seen.assumptions, _against_now(ready, seen))
    return BearingAfter(
        now=_table(ready, seen, 0.0, said),
        then=_table(ready, seen, day, said),
        bands={
            "net_deg": (seen.low["net_deg"][1], seen.high["net_deg"][1]),
            "sink_mm": (-seen.high["height_mm"][1], -seen.low["height_mm"][1]),
        },
        total_N=(float(seen.low["downforce_N"][1]), float(seen.high["downforce_N"][1])),
        day=day,
    )


def worked_bare(ready: Instrument) -> Instrument:
    """The instrument with its heights led to the bare state, from which a later day is told."""
    whole = ready.board
    if whole.measured_in is State.BARE:
        return ready
    bare = predicted_sink(ready).bare(whole.needed_strings("A later day"), whole.measured_in)
    return replace(ready, board=replace(whole, strings=bare, measured_in=State.BARE), _kept={})


def _table(ready: Instrument, seen: Outlook, day: float, said: tuple[str, ...]) -> BearingTable:
    """The bearing of a board with bare heights, at one of the times of its outlook."""
    stop = seen.service.at(seen.life.before_days + day)
    line = seen.service.line[stop]
    fallen = EnteredSink(
        source=SinkSource.PREDICTED,
        preloaded_mm=None,
        strung_mm=ready.board.needed_strings("A later day").top_mm - line.top_mm,
        assumptions=said,
    )
    want = wanted(line, ready.board.targets, ready.pull_N)
    table = table_of(
        line,
        state=State.STRUNG,
        sink=fallen,
        scale=ready.board.scale,
        want=want,
        assumptions=(*ready.assumptions, *fallen.assumptions, *want.assumptions),
        plan=ready.board.plan,
    )
    if not seen.life.untuned:
        return table
    return table.pulled(seen.service.pull_N[stop], ready.board.needed_scale("A later day").unisons)


def _against_now(ready: Instrument, seen: Outlook) -> str:
    """What the board's time in the shop does to the bearing on the day of stringing, in a sentence."""
    off = seen.middle["net_deg"][seen.place(0.0)] - bearing(ready, state=State.STRUNG).net_deg
    most = int(np.argmax(np.abs(off)))
    return (
        f"Just strung, the board has crept and taken up moisture since it was glued in: the net bearing then differs "
        f"from that of 'bearing --state strung' by up to {abs(float(off[most])):.2f}°, at {note_name(seen.note[most])}."
    )
