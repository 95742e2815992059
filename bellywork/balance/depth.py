"""The depth to plane, from a wanted bearing and the sink that belongs to it."""

from __future__ import annotations

from bellywork.balance.sink import Sink
from bellywork.balance.wanted import Wanted
from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine
from bellywork.geometry.string_line import topped


def depths(bare: StringLine, want: Wanted, sink: Sink) -> tuple[Floats, Floats]:
    """Depth to plane at the front and rear pins, in mm: bare height now less bare height wanted.

    The target fixes each angle in its state, so each force, so the sink that leads from there to the bare state.
    """
    goal = sink.bare(topped(bare, want.front_mm, want.rear_mm), want.state)
    return bare.bridge_front_mm - goal.bridge_front_mm, bare.bridge_rear_mm - goal.bridge_rear_mm
