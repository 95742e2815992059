"""The line along which the rim holds the panel: smooth where the outline stands for a curve, straight elsewhere.

A hinge along a polygon is not a hinge along the curve that its corners stand on: at each corner the edge may not slope
in either of two directions, so the panel is held as if clamped (Babuška's paradox: a plate hinged on a polygon of very
many sides is a quarter stiffer than on the circle). So the springs stand on a curve through corners that turn little.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bellywork.board.arrays import Floats

SMOOTH_TURN_DEG = 30.0  # a corner that turns by more is a corner


def rim_curves(corners: Floats) -> list[Callable[[Floats], Floats]]:
    """For each side of the outline a curve from its corner to the next, called with shares 0 to 1 of its length.

    Cubic Hermite curves; the direction at a corner is that of the circle through it and its neighbours.
    """
    runs = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(*runs.T)
    before, reach_before = np.roll(runs, 1, axis=0), np.roll(lengths, 1)
    turn = np.abs(np.arctan2(before[:, 0] * runs[:, 1] - before[:, 1] * runs[:, 0], (before * runs).sum(1)))
    smooth = turn < np.radians(SMOOTH_TURN_DEG)
    tangent = before / reach_before[:, None] ** 2 + runs / lengths[:, None] ** 2
    tangent /= np.hypot(*tangent.T)[:, None]
    # a long straight side beside short ones bulges by no more than those do
    reach = np.minimum(lengths, reach_before)
    return [
        _hermite(
            corners[k],
            runs[k],
            tangent[k] * reach[k] + runs[k] * (1.0 - reach[k] / lengths[k]) if smooth[k] else runs[k],
            tangent[n] * reach[n] + runs[k] * (1.0 - reach[n] / lengths[k]) if smooth[n] else runs[k],
        )
        for k, n in zip(range(len(corners)), np.roll(np.arange(len(corners)), -1))
    ]


def _hermite(start: Floats, run: Floats, out: Floats, into: Floats) -> Callable[[Floats], Floats]:
    def curve(share: Floats) -> Floats:
        t = share[:, None]
        straight: Floats = start + t * run
        return straight + t * (1.0 - t) ** 2 * (out - run) - t**2 * (1.0 - t) * (into - run)

    return curve
