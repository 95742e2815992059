"""Which string was meant by a click: the one that passes nearest on the picture, if any is near."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats

NEAR_PX = 12.0  # a click farther from every string means none
STILL_PX = 4.0  # a button that moved farther than this turned the board


def nearest_string(paths_px: Floats, place_px: Floats, *, within_px: float = NEAR_PX) -> int | None:
    """Place in the arrays of the string that passes nearest to a point of the picture; None where none is near.

    paths_px   broken lines (strings, points, 2), NaN for what lies behind the camera

    >>> nearest_string(np.array([[[0.0, 0.0], [9.0, 0.0]], [[0.0, 8.0], [9.0, 8.0]]]), np.array([4.0, 5.0]))
    1
    """
    start, run = paths_px[:, :-1], np.diff(paths_px, axis=1)
    long = np.maximum(np.sum(run * run, axis=2), 1e-12)
    share = np.clip(np.sum((place_px - start) * run, axis=2) / long, 0.0, 1.0)
    away = np.linalg.norm(start + share[..., None] * run - place_px, axis=2)
    nearest = np.where(np.isnan(away), np.inf, away).min(axis=1)
    return int(np.argmin(nearest)) if nearest.min() <= within_px else None


def projected_px(points_mm: Floats, matrix: Floats, size_px: tuple[int, int], corner_px: tuple[int, int]) -> Floats:
    """Places on the picture (…, 2), from its lower left corner; NaN for what lies behind the camera.

    matrix   (4, 4) from mm to the cube from -1 to 1; size_px and corner_px: of the pane on the picture
    """
    seen = np.concatenate([points_mm, np.ones((*points_mm.shape[:-1], 1))], axis=-1) @ np.asarray(matrix).T
    depth = np.where(seen[..., 3:] > 0.0, seen[..., 3:], np.nan)
    out: Floats = (seen[..., :2] / depth + 1.0) / 2.0 * size_px + corner_px
    return out
