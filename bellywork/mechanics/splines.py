"""Uniform B-splines on one axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints

DEGREE = 3
LOCAL = DEGREE + 1


@dataclass(frozen=True, kw_only=True)
class Axis:
    """`cells` cells of equal `step` from `start`; functions 0 to cells + 2, function k living on cells k − 3 to k."""

    start: float
    step: float
    cells: int

    @property
    def stop(self) -> float:
        """Where the last cell ends."""
        return self.start + self.step * self.cells

    @property
    def functions(self) -> int:
        """How many splines there are."""
        return self.cells + DEGREE

    def evaluated(self, x: Floats) -> tuple[Ints, Floats]:
        """Cell of each x, and the four splines on it with their slopes: shape (points, 2, 4). Outside: end cells."""
        place = (x - self.start) / self.step
        cell = np.clip(np.floor(place).astype(np.int64), 0, self.cells - 1)
        return cell, local_splines(place - cell, self.step)


def local_splines(t: Floats, step: float) -> Floats:
    """The four cubic splines on a cell at t = 0 … 1, and their slopes per mm: shape (points, 2, 4)."""
    r = 1.0 - t
    local: Floats = np.empty((*t.shape, 2, LOCAL), dtype=np.float64)
    local[..., 0, :] = np.stack([r**3, 3 * t**3 - 6 * t**2 + 4, 3 * r**3 - 6 * r**2 + 4, t**3], axis=-1) / 6.0
    local[..., 1, :] = np.stack([-(r**2), 3 * t**2 - 4 * t, -(3 * r**2 - 4 * r), t**2], axis=-1) / (2.0 * step)
    return local
