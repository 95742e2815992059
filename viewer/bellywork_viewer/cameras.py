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


def camera(preset: str, *, bounds_mm: Floats, line: StringLine, plan: StringPlan, aspect: float) -> Camera:
    """The camera of a preset.

    bounds_mm   (2, 3): least and greatest corner of what is to be seen
    aspect      width over height of the picture
    """
    low, high = np.asarray(bounds_mm)
    middle, size = (low + high) / 2.0, high - low
    if preset in ("top", "underside"):
        half = max(size[1], size[0] / aspect) / 2.0 * 1.25
        # room for the scale of colours below and the words at the upper left
        side = 1.0 if preset == "top" else -1.0
        middle = middle - [side * 0.07 * 2.0 * half * aspect, 0.14 * half, 0.0]
        return _looking(middle + side * np.array([0.0, 0.0, 3000.0]), middle, up=(0.0, 1.0, 0.0), half_height_mm=half)
    if preset == "keyboard":
        back = max(0.45 * size[1], 0.62 * size[0] / aspect) / np.tan(np.radians(ANGLE_DEG / 2.0))
        aim = middle - [0.06 * size[0], 0.16 * size[1], 0.0]
        return _looking(aim + back * np.array([0.05, -0.76, 0.65]), aim)
    longest = max(dict.fromkeys(line.bridge), key=lambda name: line.bridge.count(name))
    here = np.flatnonzero([name == longest for name in line.bridge])
    pins = plan.middle_mm[here]
    top = float(high[2])
    last, inner = pins[-1], pins[int(len(here) * 0.6)]
    way = (last - inner) / np.hypot(*(last - inner))
    return _looking(np.append(last + 520.0 * way, top + 380.0), np.append(inner, top) - [0.0, 0.0, 170.0])


def _looking(
    place: Floats, at: Floats, *, up: tuple[float, float, float] = (0.0, 0.0, 1.0), half_height_mm: float | None = None
) -> Camera:
    return Camera(place_mm=_three(place), at_mm=_three(at), up=up, half_height_mm=half_height_mm)


def _three(point: Floats) -> tuple[float, float, float]:
    x, y, z = (float(each) for each in point)
    return x, y, z
