"""The panel's thickness as a smooth field."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Panel
from bellywork.geometry.crown_surface import smooth_field


def thickness_field(panel: Panel) -> Callable[[Floats], Floats]:
    """Thickness in mm at points (points, 2): smooth through the measured points, never beyond their extremes.

    Fewer than three points, or points in one line, give the thickness of the nearest one.
    """
    places, values = panel.thickness_points_mm[:, :2], panel.thickness_points_mm[:, 2]
    low, high = float(values.min()), float(values.max())
    if low == high:
        return lambda at: np.full(len(at), low)
    spread = np.linalg.svd(places - places.mean(0), compute_uv=False) if len(places) > 2 else np.zeros(2)
    if spread[-1] < 1e-6 * max(spread[0], 1.0):

        def nearest(at: Floats) -> Floats:
            away = np.hypot(*(at[:, None] - places[None]).transpose(2, 0, 1))
            return np.asarray(values[away.argmin(1)])

        return nearest
    field = smooth_field(places, values)
    return lambda at: np.clip(field(at), low, high)
