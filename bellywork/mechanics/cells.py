"""Whole cells inside the outline, and the exact pieces of those that it cuts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.grid import Grid

if TYPE_CHECKING:
    from shapely import Polygon

GAUSS = 4
GAUSS_T, GAUSS_W = (
    (g + 1.0) / 2.0 if k == 0 else g / 2.0 for k, g in enumerate(np.polynomial.legendre.leggauss(GAUSS))
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Quadrature:
    """Where the panel is integrated: numbers of the whole and of the cut cells; points and weights (mm²) on these."""

    whole: Ints
    cut: Ints
    cut_points: Floats
    cut_weights: Floats


def quadrature(grid: Grid, outline: Polygon) -> Quadrature:
    """Gauss points on whole cells, and on the triangles into which the outline's part of each cut cell falls."""
    import shapely

    x = grid.x.start + grid.x.step * np.arange(grid.x.cells + 1)
    y = grid.y.start + grid.y.step * np.arange(grid.y.cells + 1)
    boxes = shapely.box(x[:-1, None], y[None, :-1], x[1:, None], y[None, 1:]).ravel()
    shapely.prepare(outline)
    whole = shapely.covers(outline, boxes)
    cut = shapely.intersects(outline, boxes) & ~whole
    pieces = shapely.intersection(outline, boxes[cut])
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(pieces))
    corners = shapely.get_coordinates(triangles[shapely.area(triangles) > 0.0]).reshape(-1, 4, 2)[:, :3]
    points, weights = _triangle_points(corners)
    return Quadrature(whole=np.flatnonzero(whole), cut=np.flatnonzero(cut), cut_points=points, cut_weights=weights)


def _triangle_points(corners: Floats) -> tuple[Floats, Floats]:
    """Gauss points of a square folded onto each triangle (exact to degree 6), with weights."""
    s, t = np.meshgrid(GAUSS_T, GAUSS_T, indexing="ij")
    weight = np.outer(GAUSS_W, GAUSS_W) * (1.0 - s)
    second, third = s.ravel(), ((1.0 - s) * t).ravel()
    a, b, c = (corners[:, k, None] for k in range(3))
    points = a + (b - a) * second[:, None] + (c - a) * third[:, None]
    (bx, by), (cx, cy) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    twice_area = np.abs(bx * cy - by * cx)
    return points.reshape(-1, 2), (twice_area[:, None] * weight.ravel()).ravel()
