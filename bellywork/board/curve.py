"""A smooth curve in plan through given points: the natural cubic spline.

Written out because `scipy.interpolate` takes a third of a second to load, more than a whole command on a kept board;
`tests/board/test_curve.py` holds it against that.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class NaturalCurve:
    """Cubic from knot to knot, two derivatives continuous, straight at both ends; beyond them the end's cubic goes on.

    knots_mm    (n,), ascending
    points_mm   (n, 2)
    """

    knots_mm: Floats
    points_mm: Floats

    @cached_property
    def _bent(self) -> Floats:
        """Second derivatives at the knots (n, 2): none at the ends, and inside the slopes of two pieces meet."""
        step, chord = np.diff(self.knots_mm), np.diff(self.points_mm, axis=0)
        out = np.zeros_like(self.points_mm)
        if len(step) > 1:
            turn = np.diff(chord / step[:, None], axis=0)
            matrix = (
                np.diag((step[:-1] + step[1:]) / 3.0) + np.diag(step[1:-1] / 6.0, 1) + np.diag(step[1:-1] / 6.0, -1)
            )
            out[1:-1] = np.linalg.solve(matrix, turn)
        return out

    def __call__(self, along_mm: ArrayLike, derivative: int = 0) -> Floats:
        """Points (…, 2) at distances along; with `derivative` 1 the slopes there.

        >>> curve = NaturalCurve(knots_mm=np.array([0.0, 2.0]), points_mm=np.array([[0.0, 0.0], [2.0, 4.0]]))
        >>> curve(0.5).tolist(), curve(0.5, 1).tolist()
        ([0.5, 1.0], [1.0, 2.0])
        """
        along = np.asarray(along_mm, dtype=float)
        k = np.clip(np.searchsorted(self.knots_mm, along, side="right") - 1, 0, len(self.knots_mm) - 2)
        step = (self.knots_mm[k + 1] - self.knots_mm[k])[..., None]
        t = (along - self.knots_mm[k])[..., None] / step
        first, last = self.points_mm[k], self.points_mm[k + 1]
        bent, then = self._bent[k] * step**2 / 6.0, self._bent[k + 1] * step**2 / 6.0
        r = 1.0 - t
        if derivative:
            return np.asarray((last - first + (1.0 - 3.0 * r**2) * bent + (3.0 * t**2 - 1.0) * then) / step)
        return np.asarray(r * first + t * last + (r**3 - r) * bent + (t**3 - t) * then)
