"""Whole cells inside the outline, and the exact pieces of those that it or the kink at a free end cuts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.grid import Grid
from bellywork.mechanics.space import Space

if TYPE_CHECKING:
    from shapely import Polygon

GAUSS = 4
KINKED_GAUSS = 6  # rφ and r²φ are of a higher degree


def _unit_gauss(count: int) -> tuple[Floats, Floats]:
    """Gauss places and weights on 0 to 1."""
    at, weight = np.polynomial.legendre.leggauss(count)
    return (at + 1.0) / 2.0, weight / 2.0


GAUSS_T, GAUSS_W = _unit_gauss(GAUSS)


@dataclass(frozen=True, kw_only=True, eq=False)
class Quadrature:
    """Where the panel is integrated.

    whole            numbers of the cells that lie inside the outline and hold no functions of free ends
    cut              numbers of the cells that the outline cuts
    points, weights  (points, 2) and mm², on all other cells: those that the outline cuts, up to it, and those with
                     functions of free ends, cut along the lines on which these kink
    """

    whole: Ints
    cut: Ints
    points: Floats
    weights: Floats


def panel_points(space: Space, outline: Polygon, gauss: int, kinked: int) -> tuple[Floats, Floats]:
    """All points of the panel (points, 2) and their weights, mm², with so many Gauss points each way.

    kinked   on cells that hold functions of free ends
    """
    found = quadrature(space, outline, gauss, kinked)
    points, weights = _box_points(space.grid, found.whole, gauss)
    return np.vstack([points, found.points]), np.concatenate([weights, found.weights])


def quadrature(space: Space, outline: Polygon, gauss: int = GAUSS, kinked: int = KINKED_GAUSS) -> Quadrature:
    """Gauss points on whole cells, and on the triangles into which the pieces of all others fall.

    gauss, kinked   so many each way on triangles, and on those of cells that hold functions of free ends
    """
    import shapely

    grid = space.grid
    boxes = shapely.polygons(np.stack(grid.corners(np.arange(grid.x.cells * grid.y.cells)), axis=1))
    shapely.prepare(outline)
    inside = shapely.covers(outline, boxes)
    cut = shapely.intersects(outline, boxes) & ~inside
    bent = space.kinked & (inside | cut)
    split = {int(k): _split(space, int(k), shapely.intersection(outline, boxes[k])) for k in np.flatnonzero(bent)}
    one = np.array([k for k, parts in split.items() if len(parts) == 1 and inside[k]], dtype=np.int64)
    pieces = [part for k, parts in split.items() if len(parts) > 1 or not inside[k] for part in parts]
    found = (
        _triangle_points(_triangles(shapely.intersection(outline, boxes[cut & ~bent])), gauss),
        _triangle_points(_triangles(np.array(pieces, dtype=object)), kinked),
        _box_points(grid, one, kinked),
    )
    points, weights = (np.concatenate(part) for part in zip(*found))
    return Quadrature(whole=np.flatnonzero(inside & ~bent), cut=np.flatnonzero(cut), points=points, weights=weights)


def _triangles(pieces: NDArray[np.object_]) -> Floats:
    """Corners (triangles, 3, 2) of the triangles that polygons fall into."""
    import shapely

    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(pieces))
    corners: Floats = shapely.get_coordinates(triangles[shapely.area(triangles) > 0.0]).reshape(-1, 4, 2)[:, :3]
    return corners


def _split(space: Space, cell: int, piece: Polygon) -> list[Polygon]:
    """A cell's piece of the panel, split along the lines across the free ends whose functions live on it."""
    import shapely

    parts = [piece]
    for end in space.ends_on(cell):
        across = np.array([-end.outward[1], end.outward[0]])
        far = 4.0 * max(space.grid.x.step, space.grid.y.step)
        middle = np.asarray(shapely.get_coordinates(shapely.centroid(piece))[0])
        foot = middle - end.beyond(middle) * end.outward
        sides = foot + far * across, foot - far * across
        half = shapely.Polygon([*sides, sides[1] + far * end.outward, sides[0] + far * end.outward])
        if end.beyond(shapely.get_coordinates(piece)).min() < 0.0:
            parts = [each for part in parts for each in (part.intersection(half), part.difference(half))]
    return [part for part in parts if part.area > 0.0]


def _triangle_points(corners: Floats, count: int) -> tuple[Floats, Floats]:
    """Gauss points of a square folded onto each triangle (exact to degree 2 · count − 2), with weights."""
    at, w = _unit_gauss(count)
    s, t = np.meshgrid(at, at, indexing="ij")
    weight = np.outer(w, w) * (1.0 - s)
    second, third = s.ravel(), ((1.0 - s) * t).ravel()
    a, b, c = (corners[:, k, None] for k in range(3))
    points = a + (b - a) * second[:, None] + (c - a) * third[:, None]
    (bx, by), (cx, cy) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    twice_area = np.abs(bx * cy - by * cx)
    return points.reshape(-1, 2), (twice_area[:, None] * weight.ravel()).ravel()


def _box_points(grid: Grid, cells: Ints, count: int) -> tuple[Floats, Floats]:
    """Gauss points (exact to degree 2 · count − 1 each way) of whole cells, with weights."""
    at, w = _unit_gauss(count)
    size = np.array([grid.x.step, grid.y.step])
    places = np.stack(np.meshgrid(at, at, indexing="ij"), axis=-1).reshape(-1, 2) * size
    points = grid.corners(cells)[0][:, None] + places
    return points.reshape(-1, 2), np.tile(np.outer(w, w).ravel() * size.prod(), len(cells))
