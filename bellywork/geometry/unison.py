"""The outer strings of a unison: a bridge that rolls or rises along its notes turns the two by unlike angles."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.strings import StringLine, StringPlan
from bellywork.geometry.string_line import Bearing, bearing

# plan points and heights of the four places at which a string rests, F, B1, B2, R; only the pins follow a bridge
_PLACES = (
    ("front_mm", "front_height_mm"),
    ("front_pin_mm", "bridge_front_mm"),
    ("rear_pin_mm", "bridge_rear_mm"),
    ("rear_mm", "rear_height_mm"),
)
_PINS = ("front_pin_mm", "rear_pin_mm")


@dataclass(frozen=True, kw_only=True, eq=False)
class OuterStrings:
    """Bearing of each note's outer strings; NaN where the unison's width is not told, or there is one string only.

    left    the string on the side of the lower notes
    right   the string on the side of the higher notes
    """

    left: Bearing
    right: Bearing


def outer_strings(line: StringLine, plan: StringPlan, spread_mm: Floats) -> OuterStrings:
    """Bearing of the outer strings of every note's unison.

    spread_mm   distance between a note's outer strings, square to them, one per note; NaN: not told

    An outer string runs beside the note's middle, as long and as high as the rows of pins and rests make it there:
    each of F, B1, B2 and R is moved along the straight line to the next note's until it lies half the spread aside,
    pins within their bridge, front termination and rear rest within their section of it. So a row that runs
    obliquely shifts the two strings along themselves, and one that rises puts them at other heights. Beyond the first
    and last note of a run the line goes straight on. NaN too where a run has one note, or where the unison would reach
    past the next note. Plain geometry; the line's heights decide the state.
    """
    sides = []
    for towards in (-1, 1):
        half = towards * np.where(spread_mm > 0.0, spread_mm, np.nan) / 2.0
        sides.append(bearing(_beside(line, plan, half)))
    return OuterStrings(left=sides[0], right=sides[1])


def _beside(line: StringLine, plan: StringPlan, aside_mm: Floats) -> StringLine:
    """The line of the strings that run so far aside from the notes' middle, towards the higher notes positive."""
    along = plan.rear_mm - plan.front_mm
    along = along / np.linalg.norm(along, axis=1)[:, np.newaxis]
    heights: dict[str, Any] = {}
    shifts = []
    for place, height in _PLACES:
        points, level = getattr(plan, place), getattr(line, height)
        moved, there = np.full(points.shape, np.nan), np.full(len(level), np.nan)
        for run in _runs(line, by_section=place not in _PINS):
            step, share = _share(points[run], along[run], aside_mm[run])
            moved[run] = share[:, np.newaxis] * (points[run][step] - points[run])
            there[run] = level[run] + share * (level[run][step] - level[run])
        heights[height] = there
        shifts.append(np.sum(moved * along, axis=1))
    front, front_pin, rear_pin, rear = shifts
    return replace(
        line,
        **heights,
        speaking_mm=line.speaking_mm + front_pin - front,
        rows_mm=line.rows_mm + rear_pin - front_pin,
        back_mm=line.back_mm + rear - rear_pin,
    )


def _runs(line: StringLine, *, by_section: bool) -> Iterable[Ints]:
    """Places of the notes whose rests lie in one row, two or more of them."""
    keys = list(zip(line.bridge, line.section)) if by_section else [(name, "") for name in line.bridge]
    for key in dict.fromkeys(keys):
        run = np.flatnonzero([each == key for each in keys])
        if len(run) > 1:
            yield run


def _share(points: Floats, along: Floats, aside_mm: Floats) -> tuple[Ints, Floats]:
    """For each point of a row the neighbour whose direction the string beside it lies in, and how much of the way.

    The neighbour is the one on that side; at the end of the row the other, and the way is then negative.
    """
    n = len(points)
    own = np.arange(n)
    higher = aside_mm > 0.0
    step = np.clip(np.where(higher, own + 1, own - 1), 0, n - 1)
    step = np.where(step == own, np.where(higher, own - 1, own + 1), step)
    way = points[step] - points
    apart = np.abs(along[:, 0] * way[:, 1] - along[:, 1] * way[:, 0])
    share = np.where(step > own, aside_mm, -aside_mm) / apart
    return step, np.where(np.abs(share) < 1.0, share, np.nan)
