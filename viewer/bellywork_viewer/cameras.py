"""Where the picture is taken from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine, StringPlan


@dataclass(frozen=True, kw_only=True)
class Camera:
    """A camera: where it stands, what it looks at, which way is up.

    half_height_mm   half of the height taken in without a vanishing point; None: with one, ANGLE_DEG from top to bottom
    """

    place_mm: tuple[float, float, float]
    at_mm: tuple[float, float, float]
    up: tuple[float, float, float]
    half_height_mm: float | None


PRESETS = {
    "top": "straight down on the strings",
    "keyboard": "from the keyboard, a little from above",
    "bridge": "along the long bridge from the treble",
    "underside": "from below, under the ribs",
}
ANGLE_DEG = 30.0  # what a camera with a vanishing point takes in from top to bottom
# Shares of a picture that stay free about the board: title above, scale of colours below; a window has its sliders left
LEFT, WINDOW_LEFT, RIGHT, TOP, BOTTOM = 0.04, 0.2, 0.07, 0.12, 0.15


def camera(
    preset: str,
    *,
    bounds_mm: Floats,
    labels_mm: Floats,
    line: StringLine,
    plan: StringPlan,
    aspect: float,
    left: float = LEFT,
) -> Camera:
    """The camera of a preset.

    bounds_mm   (2, 3): least and greatest corner of what is to be seen
    labels_mm   (labels, 3): places of words that are to be seen too
    aspect      width over height of the picture
    left        share of its width that stays free on the left
    """
    low, high = np.asarray(bounds_mm)
    middle, size = (low + high) / 2.0, high - low
    if preset in ("top", "underside"):
        half = max(size[1] / (1.0 - TOP - BOTTOM), size[0] / aspect / (1.0 - left - RIGHT)) / 2.0
        # x runs to the right in a picture from above, to the left in one from below
        side = 1.0 if preset == "top" else -1.0
        middle = middle - half * np.array([side * aspect * (left - RIGHT), BOTTOM - TOP, 0.0])
        return _looking(middle + side * np.array([0.0, 0.0, 3000.0]), middle, up=(0.0, 1.0, 0.0), half_height_mm=half)
    if preset == "keyboard":
        corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
        return _taking_in(np.concatenate([corners, labels_mm]), np.array([0.05, -0.76, 0.65]), aspect, left)
    longest = max(dict.fromkeys(line.bridge), key=lambda name: line.bridge.count(name))
    here = np.flatnonzero([name == longest for name in line.bridge])
    pins = plan.middle_mm[here]
    top = float(high[2])
    last, inner = pins[-1], pins[int(len(here) * 0.6)]
    way = (last - inner) / np.hypot(*(last - inner))
    return _looking(np.append(last + 520.0 * way, top + 380.0), np.append(inner, top) - [0.0, 0.0, 170.0])


def _taking_in(points: Floats, back: Floats, aspect: float, left: float) -> Camera:
    """The nearest camera, looking against `back`, that takes in all points within the free shares of the picture.

    In camera axes a point p is within the right edge if p_right - c_right <= t (c_back - p_back), t the slope of that
    edge. So each edge bounds c_right or c_up by the greatest p_right + t p_back, and two opposite edges bound c_back.
    """
    back = back / np.linalg.norm(back)
    right = np.cross([0.0, 0.0, 1.0], back)
    right = right / np.linalg.norm(right)
    tall = np.tan(np.radians(ANGLE_DEG / 2.0))
    edges = []
    for axis, half, plus, minus in (
        (right, tall * aspect, RIGHT, left),
        (np.cross(back, right), tall, TOP, BOTTOM),
    ):
        slopes = half * (1.0 - 2.0 * plus), half * (1.0 - 2.0 * minus)
        most = [float(np.max(points @ (sign * axis + slope * back))) for sign, slope in zip((1.0, -1.0), slopes)]
        edges.append((axis, slopes, most))
    away = max(sum(most) / sum(slopes) for _, slopes, most in edges)
    place = away * back
    for axis, slopes, most in edges:
        place = place + ((most[0] - slopes[0] * away) + (slopes[1] * away - most[1])) / 2.0 * axis
    middle = points.mean(axis=0)
    return _looking(place, place + ((middle - place) @ back) * back)


def _looking(
    place: Floats, at: Floats, *, up: tuple[float, float, float] = (0.0, 0.0, 1.0), half_height_mm: float | None = None
) -> Camera:
    return Camera(place_mm=_three(place), at_mm=_three(at), up=up, half_height_mm=half_height_mm)


def _three(point: Floats) -> tuple[float, float, float]:
    x, y, z = (float(each) for each in point)
    return x, y, z
