"""What is left between the bridge top and the plate's struts over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Ints
from bellywork.board.body import away_from_segment_mm
from bellywork.board.plate import PlateMove, Strut
from bellywork.board.strings import StringLine, StringPlan
from bellywork.findings import Finding, Place

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
    line: StringLine, plan: StringPlan, struts: Sequence[Strut], plate: PlateMove | None = None
) -> tuple[StrutClearance, ...]:
    """The clearance of every strut over every bridge that it crosses, for the bridge tops of `line`.

    plate   how the plate was moved; None: not at all

    The top runs straight between neighbouring notes of a bridge, at its front and at its rear pins.
    """
    found = []
    for strut in struts:
        for bridge, here in line.bridges.items():
            under = _clearance(strut, here, line, plan, plate)
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
    strut: Strut, here: Ints, line: StringLine, plan: StringPlan, plate: PlateMove | None
) -> tuple[float, tuple[int, int]] | None:
    """Clearance of a bridge within a strut's width, and the notes on either side; None where it does not cross."""
    index = np.arange(len(here), dtype=float)
    at = np.linspace(0.0, index[-1], (len(here) - 1) * STEPS + 1)
    least, touched = np.inf, []
    for points, heights in (
        (plan.front_pin_mm[here], line.bridge_front_mm[here]),
        (plan.rear_pin_mm[here], line.bridge_rear_mm[here]),
    ):
        spots = np.column_stack([np.interp(at, index, points[:, k]) for k in (0, 1)])
        under = away_from_segment_mm(spots, strut.start_mm, strut.end_mm) <= strut.width_mm / 2.0
        if np.any(under):
            underside = strut.underside_mm + (0.0 if plate is None else plate.lift_mm(spots))
            least = min(least, float(np.min((underside - np.interp(at, index, heights))[under])))
            touched += at[under].tolist()
    if not touched:
        return None
    low, high = int(np.floor(min(touched))), int(np.ceil(max(touched)))
    return least, (int(line.note[here[low]]), int(line.note[here[high]]))
