"""A plot of curves over one axis as a figure on a page: black on white, each curve named at its end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellywork.board.arrays import Floats, Ints
from bellywork.measures import number
from bellywork.sheets.drawing import Box, Circle, Item, Line, Pen, Polyline, Text, TextAnchor, path, rectangle
from bellywork.sheets.flow import Figure
from bellywork.sheets.frame import SMALL_MM, fitted

HEIGHT_MM = 52.0
LEFT_MM, RIGHT_MM, UNDER_MM, OVER_MM = 16.0, 66.0, 11.0, 6.0
NEAR_MM = 3.2  # names of curves keep so far apart
PENS = (Pen.CUT, Pen.NOW, Pen.JOIN, Pen.FAINT, Pen.MARK)
TICKS = 6
SHADE = 0.87  # grey of a band


@dataclass(frozen=True, kw_only=True, eq=False)
class Curve:
    """One curve; where y is NaN it is broken. `dots` marks its points instead of joining them; `band` holds the ends
    of where y may lie.
    """

    name: str
    x: Floats
    y: Floats
    dots: bool = False
    band: tuple[Floats, Floats] | None = None


def ticks(low: float, high: float, count: int = TICKS) -> list[float]:
    """About so many round numbers from `low` to `high`.

    >>> ticks(0.0, 9.3)
    [0.0, 2.0, 4.0, 6.0, 8.0]
    """
    raw = (high - low) / count
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(s * power for s in (1.0, 2.0, 5.0, 10.0) if s * power >= raw * (1.0 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def plotted(
    curves: Sequence[Curve], *, x_words: str, y_words: str, width_mm: float, height_mm: float = HEIGHT_MM
) -> Figure:
    """The curves over a common x.

    x_words, y_words   what the axes are, with units     width_mm   room across the page

    The range of y holds 0, so that what is small is seen to be.
    """
    box = Box(left=LEFT_MM, bottom=UNDER_MM, right=width_mm - RIGHT_MM, top=height_mm - OVER_MM)
    x_low, x_high = _range(np.concatenate([c.x for c in curves]))
    y_low, y_high = _range(
        np.concatenate([[0.0], *(c.y for c in curves), *(end for c in curves for end in c.band or ())])
    )

    def at_x(x: Floats) -> Floats:
        return box.left + (x - x_low) / (x_high - x_low) * box.width

    def at_y(y: Floats) -> Floats:
        return box.bottom + (y - y_low) / (y_high - y_low) * box.height

    items: list[Item] = [
        *(shade for c in curves if c.band is not None for shade in _shaded(at_x(c.x), *map(at_y, c.band))),
        rectangle(box),
    ]
    x_digits, y_digits = _digits(ticks(x_low, x_high, 2 * TICKS)), _digits(ticks(y_low, y_high))
    for value in ticks(x_low, x_high, 2 * TICKS):
        x = float(at_x(np.array(value)))
        items.append(Line(start=(x, box.bottom), end=(x, box.bottom + 1.2), pen=Pen.FRAME))
        items.append(
            Text(at=(x, box.bottom - 3.4), text=_plain(value, x_digits), size_mm=SMALL_MM, anchor=TextAnchor.MIDDLE)
        )
    for value in ticks(y_low, y_high):
        y = float(at_y(np.array(value)))
        items.append(Line(start=(box.left, y), end=(box.right, y), pen=Pen.FRAME if value == 0.0 else Pen.FAINT))
        items.append(
            Text(at=(box.left - 1.2, y - 0.8), text=_plain(value, y_digits), size_mm=SMALL_MM, anchor=TextAnchor.RIGHT)
        )
    items.append(Text(at=(box.left + box.width / 2.0, 1.6), text=x_words, size_mm=SMALL_MM, anchor=TextAnchor.MIDDLE))
    items.append(Text(at=(box.left, box.top + 1.6), text=y_words, size_mm=SMALL_MM, bold=True))
    ends = []
    for k, curve in enumerate(curves):
        known = np.isfinite(curve.y)
        if not known.any():
            continue
        x_all, y_all = at_x(curve.x), at_y(curve.y)
        items += _drawn(x_all, y_all, known, PENS[k % len(PENS)], dots=curve.dots)
        ends.append((float(y_all[known][-1]), curve.name, PENS[k % len(PENS)], curve.dots))
    items += _names(ends, box)
    return Figure(height_mm=height_mm, items=tuple(items))


def _range(values: Floats) -> tuple[float, float]:
    known = values[np.isfinite(values)]
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 1.0)
    return (low, high) if high - low > 1e-9 else (low - 0.5, high + 0.5)


def _digits(values: Sequence[float]) -> int:
    """Decimals that tell these round numbers apart."""
    return next((k for k in range(6) if all(math.isclose(v, round(v, k), abs_tol=1e-9) for v in values)), 6)


def _plain(value: float, digits: int) -> str:
    return number(value, digits).replace("-", "−")


def _drawn(x: Floats, y: Floats, known: NDArray[np.bool_], pen: Pen, *, dots: bool) -> list[Item]:
    if dots:
        return [Circle(centre=(float(a), float(b)), radius_mm=0.8) for a, b in zip(x[known], y[known])]
    return [path(x[run], y[run], pen) for run in _runs(known)]


def _shaded(x: Floats, low: Floats, high: Floats) -> list[Item]:
    """The ground between the ends of a band, in as many parts as are known."""
    return [
        Polyline(
            points=tuple(
                (float(a), float(b)) for a, b in (*zip(x[run], low[run]), *zip(x[run][::-1], high[run][::-1]))
            ),
            closed=True,
            pen=None,
            fill=SHADE,
        )
        for run in _runs(np.isfinite(low) & np.isfinite(high))
    ]


def _runs(known: NDArray[np.bool_]) -> list[Ints]:
    """Places that are known, in runs without a gap, each of two at least."""
    parts = np.split(np.arange(len(known)), np.flatnonzero(~known))
    return [run for part in parts if len(run := part[known[part]]) > 1]


def _names(ends: Sequence[tuple[float, str, Pen, bool]], box: Box) -> list[Item]:
    """The curves' names right of the plot, lifted apart, each with a stroke of its pen."""
    ordered = sorted(ends, key=lambda each: each[0])
    heights: list[float] = []
    for end, *_ in ordered:
        heights.append(max(end, heights[-1] + NEAR_MM) if heights else end)
    for k in reversed(range(len(heights))):  # and back down where they have grown over the top
        heights[k] = min(heights[k], heights[k + 1] - NEAR_MM if k + 1 < len(heights) else box.top)
    items: list[Item] = []
    left = box.right + 1.0
    for y, (_, name, pen, dots) in zip(heights, ordered):
        if dots:
            items.append(Circle(centre=(left + 2.5, y), radius_mm=0.8))
        else:
            items.append(Line(start=(left, y), end=(left + 5.0, y), pen=pen))
        items.append(Text(at=(left + 6.0, y - 0.8), text=fitted(name, SMALL_MM, RIGHT_MM - 8.0), size_mm=SMALL_MM))
    return items
