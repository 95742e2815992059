"""A drawing as plain primitives in mm, full size, y up: recorded once, replayed to PDF and DXF."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]


class Pen(Enum):
    """What a line means; each pen is a layer of a DXF drawing. Width in mm; dash and gap in turn in mm, none for
    an unbroken line; grey, 0 black to 1 white.
    """

    CUT = (0.35, (), 0.0)
    NOW = (0.25, (2.0, 1.0), 0.0)
    MARK = (0.13, (), 0.0)
    FRAME = (0.18, (), 0.0)
    FAINT = (0.09, (), 0.6)
    JOIN = (0.18, (0.6, 0.9), 0.0)

    def __init__(self, width_mm: float, dashes_mm: tuple[float, ...], grey: float) -> None:
        self.width_mm = width_mm
        self.dashes_mm = dashes_mm
        self.grey = grey


class TextAnchor(Enum):
    """Which point of a text's base line stands where it is put."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True, kw_only=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    pen: Pen = Pen.MARK


@dataclass(frozen=True, kw_only=True)
class Polyline:
    """Straight lines from point to point; `fill` is the grey of its inside (0 black to 1 white), None for none."""

    points: tuple[Point, ...]
    closed: bool = False
    pen: Pen | None = Pen.MARK
    fill: float | None = None


@dataclass(frozen=True, kw_only=True)
class Arc:
    """An arc of a circle, counter-clockwise from `start_deg` to `end_deg`, both from +x."""

    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float
    pen: Pen = Pen.MARK


@dataclass(frozen=True, kw_only=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius_mm: float
    pen: Pen = Pen.MARK


@dataclass(frozen=True, kw_only=True)
class Text:
    """One line of text; `size_mm` is the size of its letters as printers count it, `turn_deg` counter-clockwise."""

    at: Point
    text: str
    size_mm: float = 2.8
    anchor: TextAnchor = TextAnchor.LEFT
    turn_deg: float = 0.0
    bold: bool = False


Item: TypeAlias = Line | Polyline | Arc | Circle | Text


@dataclass(frozen=True, kw_only=True)
class Box:
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Width in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height in mm."""
        return self.top - self.bottom


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """Items at full size inside their box. `name` stands in titles and in the names of files."""

    name: str
    box: Box
    items: tuple[Item, ...]


@dataclass(frozen=True, kw_only=True)
class DrawingWindow:
    """A drawing as seen through a box of it, the box's lower left corner at `at` on a page; never scaled."""

    drawing: Drawing
    seen: Box
    at: Point


@dataclass(frozen=True, kw_only=True)
class Page:
    """A sheet of paper: size in mm, what is drawn on it (origin lower left), and windows onto larger drawings."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    windows: tuple[DrawingWindow, ...] = ()


def rectangle(box: Box, pen: Pen | None = Pen.FRAME, fill: float | None = None) -> Polyline:
    """A box as a closed line."""
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    return Polyline(points=corners, closed=True, pen=pen, fill=fill)


def path(x: Iterable[float], y: Iterable[float], pen: Pen) -> Polyline:
    """A line through points given by their coordinates, which may come as arrays."""
    return Polyline(points=tuple((float(a), float(b)) for a, b in zip(x, y, strict=True)), pen=pen)


def arc_points(arc: Arc) -> tuple[Point, ...]:
    """Points on an arc, so close that straight lines between them stay within 0.005 mm of it."""
    turn = math.radians((arc.end_deg - arc.start_deg) % 360.0)
    step = 2.0 * math.acos(max(1.0 - 0.005 / arc.radius_mm, 0.0))
    count, start = max(math.ceil(turn / step), 1), math.radians(arc.start_deg)
    angles = (start + turn * k / count for k in range(count + 1))
    return tuple(
        (arc.centre[0] + arc.radius_mm * math.cos(angle), arc.centre[1] + arc.radius_mm * math.sin(angle))
        for angle in angles
    )


def shifted(items: Sequence[Item], dx: float, dy: float) -> tuple[Item, ...]:
    """The items moved by so many mm.

    >>> shifted([Line(start=(0.0, 0.0), end=(1.0, 0.0))], 2.0, 3.0)[0].end
    (3.0, 3.0)
    """

    def moved(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    def one(item: Item) -> Item:
        match item:
            case Line():
                return replace(item, start=moved(item.start), end=moved(item.end))
            case Polyline():
                return replace(item, points=tuple(map(moved, item.points)))
            case Text():
                return replace(item, at=moved(item.at))
            case _:
                return replace(item, centre=moved(item.centre))

    return tuple(map(one, items))
