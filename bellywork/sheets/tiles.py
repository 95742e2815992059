"""Full-size drawings cut into pieces as wide as a page, laid on as few pages as they fit; or on one page of a roll."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely.affinity import rotate

from bellywork.errors import SheetError
from bellywork.sheets.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    DrawingWindow,
    Item,
    Line,
    Page,
    Pen,
    Polyline,
    Text,
    TextAnchor,
    arc_points,
    shifted,
)
from bellywork.sheets.frame import MARGIN_MM, SMALL_MM, PageFrame
from bellywork.sheets.lettering import width_mm

OVERLAP_MM = 10.0
ROLL_MM = 594.0  # a roll as wide as A1 is high (ISO 216)
LEAST_MM = 60.0  # the last piece of a drawing is at least so long: to be held, and to hold its labels
APART_MM = 3.0
NEAR_MM = 80.0  # a joint's name is shorter
BESIDE_MM = 2.4  # a turned name stands beside its joint's crosses
CLEAR_MM = 0.6  # round what a piece shows, so that no stroke is halved
RISE, FALL = 0.76, 0.24  # of a letter above and under its base line, as parts of its size


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A part of a drawing as wide as a page or less, with the marks of its joints.

    drawing   what it shows, labels whole      seen   the part of it that it shows
    """

    drawing: Drawing
    seen: Box


def laid(drawings: Sequence[Drawing], frame: PageFrame) -> tuple[Page, ...]:
    """The drawings at full size on as few pages as their pieces fit; on a roll one under another, as wide as it is.

    Each piece goes on the first page with room for it, so that the pieces of one drawing stand near each other.

    Raises SheetError where the paper is not high enough for a drawing.
    """
    if frame.paper.roll:
        high = ROLL_MM - 2 * MARGIN_MM - frame.foot_mm(frame.paper.width_mm) - 2.0
        for drawing in drawings:
            _fitting(drawing.name, drawing.box.height, high, frame)
        return tuple(_on_roll(strip, frame) for strip in stacked(drawings, high))
    leaves: list[_Leaf] = []
    for drawing in drawings:
        for piece in pieces(drawing, frame.room.width):
            _fitting(drawing.name, piece.seen.height, frame.room.height, frame)
            if not any(leaf.took(piece) for leaf in leaves):
                leaves.append(_Leaf(frame.room))
                leaves[-1].took(piece)
    return tuple(leaf.page(frame) for leaf in leaves)


def pieces(drawing: Drawing, wide_mm: float) -> tuple[Piece, ...]:
    """A drawing cut from left to right into pieces of at most this width, each no higher than what it shows.

    Neighbours both show a strip of OVERLAP_MM; a dotted line with crosses in its middle, named on either side by the
    drawing and the joint's letter, says where to lay one on the other. A label stands whole on the piece that holds
    the point it is put to, and on no other.

    >>> box = Box(left=0.0, bottom=0.0, right=500.0, top=20.0)
    >>> line = Line(start=(0.0, 5.0), end=(500.0, 5.0))
    >>> [piece.seen.width for piece in pieces(Drawing(name="long", box=box, items=(line,)), 267.0)]
    [267.0, 243.0]
    """
    box, step = drawing.box, wide_mm - OVERLAP_MM
    count = max(1, -int(-(box.width - OVERLAP_MM) // step))
    lines = [item for item in drawing.items if not isinstance(item, Text)]
    drawn = shapely.GeometryCollection([ink(item) for item in lines])
    cuts = [box.left + k * step + OVERLAP_MM / 2.0 for k in range(1, count)]
    if cuts:
        cuts[-1] = min(cuts[-1], box.right - LEAST_MM)
    found = []
    for k, (start, end) in enumerate(itertools.pairwise((box.left, *cuts, box.right))):
        texts = [
            _within(
                item, start + BESIDE_MM if k else start - CLEAR_MM, end - BESIDE_MM if k < count - 1 else end + CLEAR_MM
            )
            for item in drawing.items
            if isinstance(item, Text) and start <= item.at[0] < end
        ]
        left, right = start - OVERLAP_MM / 2.0 * (k > 0), end + OVERLAP_MM / 2.0 * (k < count - 1)
        shown = shapely.clip_by_rect(drawn, left, box.bottom - 1e3, right, box.top + 1e3)
        marks: list[Item] = []
        for at, which, side in ((start, k, "right"), (end, k + 1, "left")):
            if 0 < which < count:
                marks += _joint(drawing.name, drawn, [*texts], at, which, here=side)
        written = [*map(ink, texts), *map(ink, marks)]
        _, bottom, _, top = shapely.GeometryCollection([shown, *written]).bounds
        seen = Box(left=left, bottom=bottom - CLEAR_MM, right=right, top=top + CLEAR_MM)
        found.append(Piece(drawing=replace(drawing, items=(*lines, *texts, *marks)), seen=seen))
    return tuple(found)


@dataclass
class _Leaf:
    """A page in the making: rows of pieces from its top down. A row holds its top, height, used width and pieces."""

    room: Box
    rows: list[_Row] = field(default_factory=list)

    def took(self, piece: Piece) -> bool:
        """Whether there was room for the piece; it is then on the page."""
        wide, high = piece.seen.width, piece.seen.height
        for row in self.rows:
            if high <= row.high + 1e-9 and row.used + wide <= self.room.width + 1e-9:
                row.take(piece)
                return True
        top = self.rows[-1].top - self.rows[-1].high - APART_MM if self.rows else self.room.top
        if top - high < self.room.bottom - 1e-9:
            return False
        self.rows.append(_Row(top=top, high=high))
        self.rows[-1].take(piece)
        return True

    def page(self, frame: PageFrame) -> Page:
        """The page, named by what stands on it."""
        windows = [
            DrawingWindow(drawing=piece.drawing, seen=piece.seen, at=(self.room.left + x, row.top - piece.seen.height))
            for row in self.rows
            for x, piece in row.pieces
        ]
        names = dict.fromkeys(window.drawing.name for window in windows)
        return replace(frame, title=f"{frame.title}, 1:1: {', '.join(names)}").page((), windows=tuple(windows))


@dataclass
class _Row:
    """Pieces side by side under one top, none higher than the first."""

    top: float
    high: float
    used: float = 0.0
    pieces: list[tuple[float, Piece]] = field(default_factory=list)

    def take(self, piece: Piece) -> None:
        """Put the piece at the right end."""
        self.pieces.append((self.used, piece))
        self.used += piece.seen.width + APART_MM


def _fitting(name: str, high_mm: float, most_mm: float, frame: PageFrame) -> None:
    if high_mm > most_mm:
        raise SheetError(
            f"{name} is {high_mm:.0f} mm high and {frame.paper.name} leaves {most_mm:.0f} mm: "
            f"take {'DXF' if frame.paper.roll else 'a roll, or DXF'}."
        )


def _joint(
    name: str, drawn: shapely.Geometry, texts: Sequence[Text], at: float, which: int, *, here: str
) -> tuple[Item, ...]:
    """Line and crosses where two pieces meet, and its name on this piece's side where it hides nothing."""
    half = OVERLAP_MM / 2.0
    near = shapely.union_all(shapely.clip_by_rect(drawn, at - NEAR_MM, -1e6, at + NEAR_MM, 1e6))
    _, low, _, high = shapely.clip_by_rect(drawn, at - half, -1e6, at + half, 1e6).bounds
    quarter = (high - low) / 4.0
    letter = chr(ord("A") + (which - 1) % 26) * ((which - 1) // 26 + 1)
    anchor, dx = (TextAnchor.RIGHT, -1.0) if here == "left" else (TextAnchor.LEFT, 1.0)
    named = Text(at=(at + dx, 0.0), text=f"{name}, {letter}", size_mm=SMALL_MM, anchor=anchor, bold=True)
    return (
        Line(start=(at, low), end=(at, high), pen=Pen.JOIN),
        *(Line(start=(at - 3.0, y), end=(at + 3.0, y)) for y in (low + quarter, high - quarter)),
        _free(named, low, high, shapely.union_all([near, *map(ink, texts)])),
    )


def _free(text: Text, low: float, high: float, drawn: shapely.Geometry) -> Text:
    """The text between two heights where it meets least of what is drawn: from the middle on, lying, then turned."""
    middle = (low + high - text.size_mm) / 2.0
    steps = [sign * step for step in range(int((high - low) / 2.0) + 1) for sign in (1.0, -1.0)]
    tried = [replace(text, at=(text.at[0], middle + step)) for step in steps]
    wide = width_mm(text.text, text.size_mm, text.bold)
    to_right = text.anchor is TextAnchor.LEFT
    turned = replace(text, anchor=TextAnchor.MIDDLE, turn_deg=90.0)
    x = text.at[0] + (RISE * text.size_mm + BESIDE_MM if to_right else -FALL * text.size_mm - BESIDE_MM)
    tried += [
        replace(turned, at=(x, (low + high) / 2.0 + step)) for step in steps if 2.0 * abs(step) < high - low - wide
    ]
    return min(tried, key=lambda each: round(shapely.intersection(drawn, ink(each)).length, 3))


def _within(text: Text, left: float, right: float) -> Text:
    """The text moved sideways, where it must be, to stand whole between two joints."""
    low, _, high, _ = ink(text).bounds
    move = max(left + CLEAR_MM - low, 0.0) or min(right - CLEAR_MM - high, 0.0)
    return replace(text, at=(text.at[0] + move, text.at[1]))


def ink(item: Item) -> shapely.Geometry:
    """What an item covers of the paper: a line, or the box of a text."""
    match item:
        case Line():
            return shapely.LineString([item.start, item.end])
        case Polyline():
            return shapely.LineString((*item.points, item.points[0]) if item.closed else item.points)
        case Arc():
            return shapely.LineString(arc_points(item))
        case Circle():
            return shapely.Point(item.centre).buffer(item.radius_mm)
        case Text():
            wide = width_mm(item.text, item.size_mm, item.bold)
            left = (
                item.at[0] - wide * {TextAnchor.LEFT: 0.0, TextAnchor.MIDDLE: 0.5, TextAnchor.RIGHT: 1.0}[item.anchor]
            )
            whole = shapely.box(left, item.at[1] - FALL * item.size_mm, left + wide, item.at[1] + RISE * item.size_mm)
            return rotate(whole, item.turn_deg, origin=item.at)


def _on_roll(drawing: Drawing, frame: PageFrame) -> Page:
    """One page as long as the drawing."""
    box = drawing.box
    width = max(box.width + 2 * MARGIN_MM, frame.paper.width_mm)
    foot = frame.foot_mm(width)
    height = box.height + foot + 2 * MARGIN_MM + 2.0
    window = DrawingWindow(drawing=drawing, seen=box, at=(MARGIN_MM, MARGIN_MM + foot + 2.0))
    named = replace(frame, title=f"{frame.title}, 1:1: {drawing.name}")
    return named.page((), windows=(window,), size_mm=(width, height))


def stacked(drawings: Sequence[Drawing], height_mm: float) -> tuple[Drawing, ...]:
    """Drawings one under another, left edges in line, as many on each as `height_mm` allows.

    >>> low = Drawing(name="a", box=Box(left=5.0, bottom=0.0, right=9.0, top=40.0), items=())
    >>> [strip.name for strip in stacked([low, low, low], 100.0)]
    ['a, a', 'a']
    """
    strips: list[list[Drawing]] = []
    used = float("inf")
    for drawing in drawings:
        if used + APART_MM + drawing.box.height > height_mm or not strips:
            strips.append([])
            used = -APART_MM
        strips[-1].append(drawing)
        used += APART_MM + drawing.box.height
    return tuple(map(_one_strip, strips))


def _one_strip(drawings: Sequence[Drawing]) -> Drawing:
    items: list[Item] = []
    y = width = 0.0
    for drawing in drawings:
        box = drawing.box
        items += shifted(drawing.items, -box.left, y - box.top)
        y -= box.height + APART_MM
        width = max(width, box.width)
    whole = Box(left=0.0, bottom=y + APART_MM, right=width, top=0.0)
    return Drawing(name=", ".join(drawing.name for drawing in drawings), box=whole, items=tuple(items))
