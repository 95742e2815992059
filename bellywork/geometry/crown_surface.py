"""The crown of the bare board as one smooth surface."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Rib
from bellywork.errors import BoardError

RIM_STEP_MM = 60.0
RIB_POINTS = 11


@dataclass(frozen=True, kw_only=True, eq=False)
class CrownSurface:
    """Rise of the panel's underside above the rim's glue line, bare."""

    rise: Callable[[Floats], Floats]

    def rise_mm(self, points_mm: Floats) -> Floats:
        """Rise in mm, up positive, at points (points, 2) in plan."""
        return self.rise(np.asarray(points_mm, dtype=float))


def chord_rise_mm(radius_mm: float, span_mm: float) -> float:
    """Rise of a circular arc over its chord: R − √(R² − (L/2)²).

    >>> round(chord_rise_mm(60 * 304.8, 500), 1)  # 60 ft over half a metre
    1.7
    """
    return float(radius_mm - np.sqrt(radius_mm**2 - (span_mm / 2.0) ** 2))


def crown_surface(body: Body) -> CrownSurface:
    """The bare board's crown: zero along the rim, an arc of its own radius over each rib, smooth in between.

    Where the board's crown was measured (`crown_points_mm`) the surface goes through those points instead of the
    ribs' arcs, and is free where the rim does not hold the panel upright. Between, a thin-plate spline: of all surfaces
    through the points the one that bends least.
    """
    measured = body.panel.crown_points_mm
    rim = body.outline.along(RIM_STEP_MM, held=len(measured) > 0)
    if len(measured):
        points = np.concatenate([rim, measured[:, :2]])
        rise = np.concatenate([np.zeros(len(rim)), measured[:, 2]])
    elif any(np.isfinite(rib.crown_radius_mm) for rib in body.ribs):
        arcs = [_arc(rib, start, stop) for rib in body.ribs for start, stop in rib.pieces_within(body.outline)]
        points = np.concatenate([rim, *(arc[:, :2] for arc in arcs)])
        rise = np.concatenate([np.zeros(len(rim)), *(arc[:, 2] for arc in arcs)])
    else:
        return CrownSurface(rise=lambda at: np.zeros(len(at)))
    return CrownSurface(rise=smooth_field(points, rise))


def smooth_field(points: Floats, values: Floats) -> Callable[[Floats], Floats]:
    """The thin-plate spline through values at points (points, 2); points nearer than 1 mm count once.

    f(x) = Σ wᵢ φ(|x − xᵢ|) + a plane, φ = r² ln r, the weights free of force and moment. In numpy and not by
    `scipy.interpolate`, which takes a third of a second to load, more than a whole command on a kept board;
    tests/geometry/test_crown_surface.py holds it against that.

    Raises BoardError where all points lie on one line.
    """
    _, first = np.unique(np.round(points), axis=0, return_index=True)
    points, values = points[first], values[first]
    middle, reach = points.mean(axis=0), max(float(np.ptp(points, axis=0).max()), 1.0)
    centres = (points - middle) / reach  # of the size of one: r² ln r of millimetres would drown the plane
    plane = np.column_stack([np.ones(len(points)), centres])
    if np.linalg.matrix_rank(plane) < 3:
        raise BoardError("A smooth surface needs points that do not all lie on one line.")
    system = np.block([[_bending(centres, centres), plane], [plane.T, np.zeros((3, 3))]])
    weights = np.linalg.solve(system, np.append(values, np.zeros(3)))

    def field(at: Floats) -> Floats:
        there = (at - middle) / reach
        return np.asarray(_bending(there, centres) @ weights[:-3] + weights[-3] + there @ weights[-2:])

    return field


def _bending(at: Floats, centres: Floats) -> Floats:
    """r² ln r between points, shape (at, centres)."""
    square = (at[:, :1] - centres[:, 0]) ** 2 + (at[:, 1:] - centres[:, 1]) ** 2
    return np.asarray(0.5 * square * np.log(np.maximum(square, 1e-300)))


def _arc(rib: Rib, start: float, stop: float) -> Floats:
    """Rows (x, y, rise) along a rib's arc over one piece of it, the ends left to the rim's own points."""
    half = (stop - start) / 2.0
    x = np.linspace(-half, half, RIB_POINTS + 1)[1:-1]
    R = rib.crown_radius_mm
    rise = np.sqrt(R**2 - x**2) - np.sqrt(R**2 - half**2) if np.isfinite(R) else 0.0 * x
    return np.column_stack([rib.points_at(start + half + x), rise])
