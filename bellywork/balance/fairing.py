"""The planed top made fair, bridge by bridge and row by row."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine, StringPlan
from bellywork.geometry.fair import faired


def faired_tops(
    now: StringLine, wanted_front_mm: Floats, wanted_rear_mm: Floats, tolerance_mm: Floats, plan: StringPlan | None
) -> tuple[Floats, Floats]:
    """Fair lines near the wanted heights of the bridge top at the front and rear pins, in mm, same state as `now`.

    The line leaves the exact one by the tolerance at most, and keeps under the present top where it can. Distances run
    along the pin row in plan; without a plan, over the note numbers.
    """
    tops = []
    for row, wanted, present in (
        ("front_pin_mm", wanted_front_mm, now.bridge_front_mm),
        ("rear_pin_mm", wanted_rear_mm, now.bridge_rear_mm),
    ):
        top = np.array(wanted)
        for here in now.bridges.values():
            along = now.note[here].astype(float) if plan is None else _distances(getattr(plan, row)[here])
            top[here] = faired(wanted[here], along, tolerance_mm[here], present[here])
        tops.append(top)
    return tops[0], tops[1]


def _distances(points_mm: Floats) -> Floats:
    """Distance of each point from the first along the row, in mm; points in one place are kept a little apart."""
    steps = np.hypot(*np.diff(points_mm, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(np.maximum(steps, 1e-3))])
