"""Stress against strength: how much of its wood's strength each part uses under a load that stays for years."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats
from bellywork.mechanics.solution import Solution

LASTING_YEARS = 10.0
END_MM = 30.0
BASIS = (
    "Short-term strength of clear wood (Wood Handbook, means of small specimens) times a duration-of-load factor from "
    "the handbook's curve (the 'Madison curve', from memory); no allowance for knots, joints or scatter."
)


def duration_factor(years: float) -> float:
    """Share of the short-term strength that wood keeps under a load of this duration.

    The curve behind the Wood Handbook's duration-of-load chapter (Wood, 1951; from memory):
    share in % = 18.3 + 108.4 · seconds^−0.04635, 100 % at the few minutes of a test.

    >>> round(duration_factor(10.0), 2)
    0.62
    """
    seconds = years * 365.25 * 24.0 * 3600.0
    return float((18.3 + 108.4 * seconds**-0.04635) / 100.0)


@dataclass(frozen=True, kw_only=True)
class Use:
    """How much of its strength a part uses at its worst place.

    part, what       the part, and which stress
    stress_MPa       the greatest, without its sign
    strength_MPa     short-term strength times the factor for the load's duration; NaN where no figure is known
    share            stress over strength; NaN where no figure is known
    place_mm         where, in plan
    """

    part: str
    what: str
    stress_MPa: float
    strength_MPa: float
    share: float
    place_mm: tuple[float, float]


def uses(solution: Solution, *, years: float = LASTING_YEARS) -> tuple[Use, ...]:
    """What ribs and bridges use of their strength under a load that stays so many years; see BASIS.

    Stress along the grain at the glue line and at the edge against the modulus of rupture, shear in the section against
    shear along the grain. Left out are the glue line's shear and all that is nearer than END_MM to an end: there stress
    peaks where end and rim meet in a point, and grows with ever finer cells (more than END_MM away it is good to 5 %).
    """
    factor = duration_factor(years)
    out = []
    for stations, forces in zip(solution.discrete.stations, solution.stiffeners()):
        run = stations.run_mm
        away = np.minimum(run - run[0], run[-1] - run) >= min(END_MM, 0.25 * (run[-1] - run[0]))
        points = stations.points_mm[away]
        glue, edge = stations.glue_wood, stations.edge_wood
        bending = [
            _use(stations.name, "bending", s[away], w.strength.bending, factor, points)
            for s, w in ((forces.glue_MPa, glue), (forces.edge_MPa, edge))
        ]
        out.append(max(bending, key=lambda use: use.stress_MPa if np.isnan(use.share) else use.share))
        shear = min((w.strength.shear_parallel or np.nan for w in (glue, edge)), default=np.nan)
        out.append(_use(stations.name, "shear", forces.shear_MPa[away], shear, factor, points))
    return tuple(out)


def panel_uses(solution: Solution, points_mm: ArrayLike, *, years: float = LASTING_YEARS) -> tuple[Use, ...]:
    """What the panel uses of its strength at the worst of some points, along the grain, across it and in shear.

    Across the grain pull is held against the tensile strength and pressure against the proportional limit.
    """
    points = np.atleast_2d(np.asarray(points_mm, dtype=float))
    stress, wood, factor = solution.panel_stress(points), solution.discrete.body.panel.wood, duration_factor(years)
    pull, press = np.maximum(stress.across_grain, 0.0), np.minimum(stress.across_grain, 0.0)
    return (
        _use("panel", "along the grain", stress.along_grain, wood.strength.bending, factor, points),
        _use("panel", "pulled across the grain", pull, wood.strength.tension_across, factor, points),
        _use("panel", "pressed across the grain", press, wood.strength.compression_across, factor, points),
        _use("panel", "shear", stress.shear, wood.strength.shear_parallel, factor, points),
    )


def _use(part: str, what: str, stress: Floats, strength: float | None, factor: float, points: Floats) -> Use:
    size = np.abs(stress).reshape(len(points), -1).max(axis=1)
    worst = int(np.argmax(size))
    lasting = float("nan") if strength is None else strength * factor
    return Use(
        part=part,
        what=what,
        stress_MPa=float(size[worst]),
        strength_MPa=lasting,
        share=float(size[worst]) / lasting,
        place_mm=(float(points[worst, 0]), float(points[worst, 1])),
    )
