"""What each unknown does to the board's compliance, on coarse cells.

Moduli by the work on the part that they belong to, rims by other springs on the same board, the panel's thickness on a
board assembled anew. Shares by which a compliance changes hang on the grid far less than the compliance itself:
tests/estimate has both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.estimate.unknowns import OF_READINGS, RIM_SIDES, Unknown, changed, waves_at
from bellywork.instrument import Instrument
from bellywork.mechanics.model import assembled
from bellywork.mechanics.part_work import PartWork

CELL_MM = 60.0
STEP = 1e-4  # of a logarithm
STEP_MM = 0.02  # of the thickness
WHOLE = {"ribs": "rib ", "bridges": "bridge "}  # the parts that an unknown of all of them means
RATIO = (0.5, 2.0)  # bounds of what one entry of the compliance may be of the same entry of another board


@dataclass(frozen=True, kw_only=True, eq=False)
class Sensitivity:
    """A board's compliance at points, and its change with each unknown.

    compliance_mm_N   (points, points), on coarse cells
    slope_mm_N        (unknowns, points, points), for each unit of an unknown
    bend_mm_N         (unknowns, points, points): half the second derivative; 0 but for the rim, which runs over decades
    """

    compliance_mm_N: Floats
    slope_mm_N: Floats
    bend_mm_N: Floats

    def slope_at(self, values: Floats) -> Floats:
        """The slopes where the unknowns have moved to these values, by the bends alone; none is turned by them."""
        whole = np.abs(np.einsum("kii->k", self.slope_mm_N)) + 1e-300
        turn = 2.0 * values * np.einsum("kii->k", self.bend_mm_N) / whole
        held = np.divide(np.clip(turn, -0.8, 0.8), turn, out=np.ones_like(turn), where=turn != 0.0)
        return np.asarray(self.slope_mm_N + 2.0 * (held * values)[:, None, None] * self.bend_mm_N)

    def on(self, body: Body, unknowns: tuple[Unknown, ...], points_mm: Floats) -> Sensitivity:
        """The sensitivity of a board near this one.

        Moduli and thickness change each entry of the compliance by the same share as here; what the rim does is
        computed anew, over the scatter that the unknowns now have.
        """
        near = PartWork.of(body, points_mm, CELL_MM)
        there = near.compliance_mm_N
        ratio = np.clip(there / self.compliance_mm_N, *RATIO)
        slope, bend = ratio * self.slope_mm_N, np.zeros_like(self.bend_mm_N)
        for k, unknown in enumerate(unknowns):
            if unknown.key in RIM_SIDES:
                slope[k], bend[k] = _of_rim(near, unknowns, k)
        return Sensitivity(compliance_mm_N=there, slope_mm_N=slope, bend_mm_N=bend)


def sensitivity(ready: Instrument, unknowns: tuple[Unknown, ...], points_mm: Floats) -> Sensitivity:
    """The sensitivity of an instrument's board at points (points, 2), kept in the user's cache folder.

    A rim's stiffness is changed by its whole scatter up and down: compliance runs from hinged to clamped in an S, and
    the slope that counts is the one over the range in which the rim is likely to be.

    Raises BoardError for a point off the board.
    """
    body = ready.board.needed_body("The band of an answer")
    of_body = tuple(each for each in unknowns if each.key not in OF_READINGS)

    def arrays() -> dict[str, Floats]:
        near = PartWork.of(body, points_mm, CELL_MM)
        every = _derivatives(near, of_body)
        slope, bend = (np.array(each) for each in zip(*every))
        return {"compliance_mm_N": near.compliance_mm_N, "slope_mm_N": slope, "bend_mm_N": bend}

    told = [(each.key, each.rib, each.sigma, each.waves) for each in of_body]
    found = ready.kept_on_disk("sensitivity", (told, points_mm), arrays, of_strings=False)
    # what is not known of readings does nothing to the board
    where = [each in of_body for each in unknowns]
    return Sensitivity(
        compliance_mm_N=found["compliance_mm_N"],
        slope_mm_N=_spread(found["slope_mm_N"], where),
        bend_mm_N=_spread(found["bend_mm_N"], where),
    )


def _spread(known: Floats, where: list[bool]) -> Floats:
    """What is known of some unknowns, (unknowns, …) with zeros for the others."""
    out = np.zeros((len(where), *known.shape[1:]))
    out[where] = known
    return out


def _derivatives(near: PartWork, unknowns: tuple[Unknown, ...]) -> list[tuple[Floats, Floats]]:
    """Slope and bend of a board's compliance with each unknown."""
    body, points, here = near.body, near.points_mm, near.compliance_mm_N
    parts, none = near.of_stiffeners(), np.zeros_like(here)
    moduli = [k for k, unknown in enumerate(unknowns) if unknown.key.startswith("panel_")]
    woods = [changed(body, unknowns, STEP * np.eye(len(unknowns))[k]).panel.wood for k in moduli]
    panel = dict(zip(moduli, near.of_panel(woods)))

    def slope(k: int, unknown: Unknown) -> Floats:
        if k in panel:
            return panel[k] / STEP
        if unknown.key == "thickness":
            thicker = changed(body, unknowns, STEP_MM * np.eye(len(unknowns))[k])
            return np.asarray((compliance(thicker, points) - here) / STEP_MM)
        if unknown.key == "rib":
            return parts.get(f"rib {unknown.rib}", none)
        if unknown.key in WHOLE:
            return np.asarray(sum((part for name, part in parts.items() if name.startswith(WHOLE[unknown.key])), none))
        if unknown.key == "model":  # everything is stiffer, the rim too
            return -here
        return np.asarray(-here * between(waves_at(body, unknown, points)))

    return [
        _of_rim(near, unknowns, k) if unknown.key in RIM_SIDES else (slope(k, unknown), none)
        for k, unknown in enumerate(unknowns)
    ]


def _of_rim(near: PartWork, unknowns: tuple[Unknown, ...], k: int) -> tuple[Floats, Floats]:
    """Slope and bend with one way of holding the rim, over its whole scatter."""
    step = unknowns[k].sigma * np.eye(len(unknowns))[k]
    more, less = (near.on_rim_of(changed(near.body, unknowns, sign * step)) for sign in (1.0, -1.0))
    return (more - less) / (2.0 * step[k]), (more + less - 2.0 * near.compliance_mm_N) / (2.0 * step[k] ** 2)


def compliance(body: Body, points_mm: Floats, cell_mm: float = CELL_MM) -> Floats:
    """Sink at points for forces at points, (points, points), mm/N, on coarse cells."""
    return assembled(body, cell_mm=cell_mm).influence(points_mm, points_mm)


def between(values: Floats) -> Floats:
    """Mean of each two of some values, (points, points)."""
    return np.asarray((values[:, None] + values[None, :]) / 2.0)
