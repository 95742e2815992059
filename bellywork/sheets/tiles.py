"""A full-size drawing on as many pages as its length needs, with joining marks, or on one page of a roll."""

from __future__ import annotations

from bellywork.errors import SheetError
from bellywork.sheets.drawing import Box, Drawing, DrawingWindow, Item, Line, Page, Pen, Text, TextAnchor
from bellywork.sheets.frame import MARGIN_MM, PLAIN_MM, PageFrame

OVERLAP_MM = 10.0
ROLL_MM = 594.0  # a roll as wide as A1 is high (ISO 216)


def room_height_mm(frame: PageFrame) -> float:
    """How high a drawing may be."""
    if not frame.paper.roll:
        return frame.room.height
    return ROLL_MM - 2 * MARGIN_MM - frame.foot_mm(frame.paper.width_mm) - 2.0


def tiled(drawing: Drawing, frame: PageFrame) -> tuple[Page, ...]:
    """The drawing at full size on as many pages, side by side, as its length needs; or as one page of a roll.

    Neighbouring pages both show a strip of OVERLAP_MM; a dashed line with crosses in its middle, and a letter on
    either side, says where to lay one on the other.

    Raises SheetError where the paper is not high enough for the drawing.
    """
    room, box, most = frame.room, drawing.box, room_height_mm(frame)
    if box.height > most:
        raise SheetError(
            f"{drawing.name} is {box.height:.0f} mm high and {frame.paper.name} leaves {most:.0f} mm: "
            f"take {'DXF' if frame.paper.roll else 'a roll, or DXF'}."
        )
    if frame.paper.roll:
        return (_on_roll(drawing, frame),)
    step = room.width - OVERLAP_MM
    count = max(1, -int(-(box.width - OVERLAP_MM) // step))
    pages = []
    for k in range(count):
        left = box.left + k * step
        seen = Box(left=left, bottom=box.bottom, right=left + room.width, top=box.top)
        at = room.left, room.top - box.height
        marks: list[Item] = []
        if k > 0:
            marks += _joint(room.left + OVERLAP_MM / 2.0, at[1], room.top, k, here="right")
        if k < count - 1:
            marks += _joint(room.right - OVERLAP_MM / 2.0, at[1], room.top, k + 1, here="left")
        window = DrawingWindow(drawing=drawing, seen=seen, at=at)
        pages.append(frame.page(marks, windows=(window,)))
    return tuple(pages)


def _joint(x: float, bottom: float, top: float, which: int, *, here: str) -> list[Item]:
    """Line and crosses where two pages meet, with the joint's letter on this page's side."""
    items: list[Item] = [Line(start=(x, bottom), end=(x, top), pen=Pen.JOIN)]
    for y in (bottom + 4.0, top - 4.0):
        items.append(Line(start=(x - 3.0, y), end=(x + 3.0, y)))
    letter = chr(ord("A") + (which - 1) % 26) * ((which - 1) // 26 + 1)
    anchor, dx = (TextAnchor.RIGHT, -1.0) if here == "left" else (TextAnchor.LEFT, 1.0)
    items.append(Text(at=(x + dx, bottom + 0.6), text=letter, size_mm=PLAIN_MM, anchor=anchor, bold=True))
    return items


def _on_roll(drawing: Drawing, frame: PageFrame) -> Page:
    """One page as long as the drawing."""
    box = drawing.box
    width = max(box.width + 2 * MARGIN_MM, frame.paper.width_mm)
    foot = frame.foot_mm(width)
    height = box.height + foot + 2 * MARGIN_MM + 2.0
    window = DrawingWindow(drawing=drawing, seen=box, at=(MARGIN_MM, MARGIN_MM + foot + 2.0))
    return frame.page((), windows=(window,), size_mm=(width, height))
