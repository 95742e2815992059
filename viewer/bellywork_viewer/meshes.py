"""Shapes made of plain arrays: tubes along paths, boxes, and the marks that stand on a bridge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellywork.board.arrays import Floats, Ints

SIDES = 6

# Each mark is told by its shape: a cone upwards, a diamond, a cube; unit size, centred
_CONE = np.array([[1, 0, -1], [-0.5, 0.87, -1], [-0.5, -0.87, -1], [0, 0, 1.2]], float), [
    [0, 1, 3], [1, 2, 3], [2, 0, 3], [1, 0, 2],
]  # fmt: skip
_DIAMOND = np.array([[1, 0, 0], [0, 1, 0], [-1, 0, 0], [0, -1, 0], [0, 0, 1.4], [0, 0, -1.4]], float), [
    [0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4], [1, 0, 5], [2, 1, 5], [3, 2, 5], [0, 3, 5],
]  # fmt: skip
_CUBE = np.array([[x, y, z] for z in (-0.8, 0.8) for y in (-0.8, 0.8) for x in (-0.8, 0.8)]), [
    [0, 2, 3], [0, 3, 1], [4, 5, 7], [4, 7, 6], [0, 1, 5], [0, 5, 4], [2, 6, 7], [2, 7, 3], [0, 4, 6], [0, 6, 2],
    [1, 3, 7], [1, 7, 5],
]  # fmt: skip
MARKS = {"short": _CONE, "lifted": _DIAMOND, "one-sided": _CUBE}


def tube_faces(paths: int, points: int) -> Ints:
    """Faces (faces, 3) of tubes whose vertices run path by path, point by point, side by side (`tube_vertices`)."""
    ring = np.arange(SIDES)
    after = (ring + 1) % SIDES
    quads = np.stack([np.stack([ring, after, after + SIDES], 1), np.stack([ring, after + SIDES, ring + SIDES], 1)])
    one = (quads.reshape(1, -1, 3) + SIDES * np.arange(points - 1)[:, None, None]).reshape(-1, 3)
    fan = np.stack([np.zeros(SIDES - 2, int), np.arange(1, SIDES - 1), np.arange(2, SIDES)], 1)
    one = np.concatenate([one, fan[:, ::-1], fan + SIDES * (points - 1)])
    out: Ints = (one[None] + SIDES * points * np.arange(paths)[:, None, None]).reshape(-1, 3)
    return out


def tube_vertices(paths_mm: Floats, radius_mm: float) -> Floats:
    """Vertices of tubes round paths (paths, points, 3) that run more along than up: rings stand upright in plan."""
    way = np.gradient(paths_mm[..., :2], axis=1)
    way = way / np.maximum(np.hypot(way[..., 0], way[..., 1]), 1e-12)[..., None]
    turn = 2.0 * np.pi * np.arange(SIDES) / SIDES
    out = np.repeat(paths_mm[:, :, None, :], SIDES, axis=2)
    out[..., 0] += radius_mm * np.cos(turn) * -way[..., 1, None]
    out[..., 1] += radius_mm * np.cos(turn) * way[..., 0, None]
    out[..., 2] -= radius_mm * np.sin(turn)
    return out.reshape(-1, 3)


def marks(kind: str, places_mm: Floats, size_mm: float) -> tuple[Floats, Ints]:
    """Vertices and faces of one mark at each place (places, 3)."""
    vertices, faces = MARKS[kind]
    points = (places_mm[:, None] + size_mm * vertices).reshape(-1, 3)
    numbers = (np.array(faces)[None] + len(vertices) * np.arange(len(places_mm))[:, None, None]).reshape(-1, 3)
    return points, numbers


def box_along(start: Floats, end: Floats, width_mm: float, low_mm: float, high_mm: float) -> tuple[Floats, Ints]:
    """A box along a line in plan."""
    way = (end - start) / np.hypot(*(end - start))
    side = np.array([-way[1], way[0]]) * width_mm / 2.0
    ring: NDArray[np.float64] = np.array([start - side, end - side, end + side, start + side])
    vertices = np.column_stack([np.tile(ring, (2, 1)), np.repeat([low_mm, high_mm], 4)])
    walls = [[k, (k + 1) % 4, (k + 1) % 4 + 4] for k in range(4)] + [[k, (k + 1) % 4 + 4, k + 4] for k in range(4)]
    return vertices, np.array([[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7], *walls])
