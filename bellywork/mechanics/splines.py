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
    tt, rr = t * t, r * r
    local: Floats = np.empty((*t.shape, 2, LOCAL), dtype=np.float64)
    value, slope = local[..., 0, :], local[..., 1, :]
    value[..., 0], value[..., 3] = rr * r / 6.0, tt * t / 6.0
    value[..., 1] = 0.5 * tt * t - tt + 2.0 / 3.0
    value[..., 2] = 0.5 * rr * r - rr + 2.0 / 3.0
    slope[..., 0], slope[..., 3] = rr / (-2.0 * step), tt / (2.0 * step)
    slope[..., 1] = (1.5 * tt - 2.0 * t) / step
    slope[..., 2] = (2.0 * r - 1.5 * rr) / step
    return local
