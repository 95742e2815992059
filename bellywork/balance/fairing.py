"""The planed top made fair, bridge by bridge and row by row."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine, StringPlan
from bellywork.board.targets import PlaningRules
from bellywork.geometry.fair import faired
from bellywork.geometry.string_line import bearing


def faired_tops(
    now: StringLine, wanted_front_mm: Floats, wanted_rear_mm: Floats, rules: PlaningRules, plan: StringPlan | None
) -> tuple[Floats, Floats]:
    """Fair lines near the wanted heights of the bridge top at the front and rear pins, in mm, same state as `now`.

    The line may leave the exact one by the fair tolerance, and nowhere by more than would cost the bearing tolerance
    at that note: in the top octave this is the narrower of the two. It keeps under the present top where it can.
    Distances run along the pin row in plan; without a plan, over the note numbers.
    """
    tolerance = np.minimum(rules.fair_tolerance_mm, rules.bearing_tolerance_deg / bearing(now).degrees_per_mm)
    tops = []
    for row, wanted, present in (
        ("front_pin_mm", wanted_front_mm, now.bridge_front_mm),
        ("rear_pin_mm", wanted_rear_mm, now.bridge_rear_mm),
    ):
        top = np.array(wanted)
        for here in now.bridges.values():
            along = now.note[here].astype(float) if plan is None else _distances(getattr(plan, row)[here])
            top[here] = faired(wanted[here], along, tolerance[here], present[here])
        tops.append(top)
    return tops[0], tops[1]


def _distances(points_mm: Floats) -> Floats:
    """Distance of each point from the first along the row, in mm; points in one place are kept a little apart."""
    steps = np.hypot(*np.diff(points_mm, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(np.maximum(steps, 1e-3))])
