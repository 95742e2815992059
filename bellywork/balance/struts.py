"""What is left between the bridge top and the plate's struts over it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.plate import Strut
from bellywork.board.strings import StringLine, StringPlan
from bellywork.findings import Finding, Place

Lift = Callable[[Floats], Floats]
STEPS = 40  # points looked at between neighbouring notes


@dataclass(frozen=True, kw_only=True)
class StrutClearance:
    """One strut over one bridge.

    strut, bridge      names
    notes              the notes on either side (the same one twice where the strut stands over one note only)
    clearance_mm       underside of the strut above the highest bridge top under it; negative: they collide
    least_mm           clearance to be kept
    """

    strut: str
    bridge: str
    notes: tuple[int, int]
    clearance_mm: float
    least_mm: float

    @property
    def enough(self) -> bool:
        """True where the clearance is kept."""
        return self.clearance_mm >= self.least_mm


def strut_clearances(
    line: StringLine, plan: StringPlan, struts: Sequence[Strut], lift_mm: Lift | None = None
) -> tuple[StrutClearance, ...]:
    """The clearance of every strut over every bridge that it crosses, for the bridge tops of `line`.

    lift_mm   how far the plate was moved at places (points, 2) in plan, up positive; None: not at all

    The top runs straight between neighbouring notes of a bridge, at its front and at its rear pins.
    """
    found = []
    for strut in struts:
        for bridge in dict.fromkeys(line.bridge):
            under = _clearance(strut, bridge, line, plan, lift_mm)
            if under is not None:
                clearance, notes = under
                found.append(
                    StrutClearance(
                        strut=strut.name,
                        bridge=bridge,
                        notes=notes,
                        clearance_mm=clearance,
                        least_mm=strut.clearance_mm,
                    )
                )
    return tuple(found)


def clearance_findings(clearances: Sequence[StrutClearance]) -> tuple[Finding, ...]:
    """A finding for every strut that comes too near."""
    return tuple(
        Finding(
            code="strut-too-near",
            place=Place(file="struts.csv", note=each.notes[0]),
            found=f"{each.clearance_mm:.2f} mm between strut {each.strut} and the bridge {each.bridge}",
            expected=f"{each.least_mm:.2f} mm or more",
            remedy="Take the bridge down under the strut, beside the string rows, or raise the plate.",
        )
        for each in clearances
        if not each.enough
    )


def _clearance(
    strut: Strut, bridge: str, line: StringLine, plan: StringPlan, lift_mm: Lift | None
) -> tuple[float, tuple[int, int]] | None:
    """Clearance of a bridge within a strut's width, and the notes on either side; None where it does not cross."""
    here = np.flatnonzero([name == bridge for name in line.bridge])
    index = np.arange(len(here), dtype=float)
    at = np.linspace(0.0, index[-1], (len(here) - 1) * STEPS + 1)
    least, touched = np.inf, []
    for points, heights in (
        (plan.front_pin_mm[here], line.bridge_front_mm[here]),
        (plan.rear_pin_mm[here], line.bridge_rear_mm[here]),
    ):
        spots = np.column_stack([np.interp(at, index, points[:, k]) for k in (0, 1)])
        under = _distance_to(strut, spots) <= strut.width_mm / 2.0
        if np.any(under):
            underside = strut.underside_mm if lift_mm is None else strut.underside_mm + lift_mm(spots)
            least = min(least, float(np.min((underside - np.interp(at, index, heights))[under])))
            touched += at[under].tolist()
    if not touched:
        return None
    low, high = int(np.floor(min(touched))), int(np.ceil(max(touched)))
    return least, (int(line.note[here[low]]), int(line.note[here[high]]))


def _distance_to(strut: Strut, points_mm: Floats) -> Floats:
    """Distance in plan of each point from the strut's centre line, in mm."""
    run = strut.end_mm - strut.start_mm
    share = np.clip((points_mm - strut.start_mm) @ run / (run @ run), 0.0, 1.0)
    return np.asarray(np.hypot(*(points_mm - strut.start_mm - np.outer(share, run)).T))
