"""Pages replayed to PDF, 1:1, the same bytes from the same pages."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from bellywork.errors import OutputError
from bellywork.sheets.drawing import (
    Arc,
    Circle,
    DrawingWindow,
    Item,
    Line,
    Page,
    Pen,
    Polyline,
    Text,
    TextAnchor,
    arc_points,
)
from bellywork.sheets.lettering import POINT_MM, face, printable

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

LONGEST_MM = 14400 * POINT_MM  # ISO 32000-1, annex C: a page is at most 14 400 units of 1/72 in long
LIBRARYS_OWN = b"ReportLab Generated PDF document"  # comment in the second line; our mark takes its place
MARK = b"bellywork result"
NO_DATE = b"20000101000000"  # what the library writes for the date of a document that is to be stable


def pdf_bytes(pages: Sequence[Page], *, title: str, date: str = "") -> bytes:
    """The pages as one PDF document.

    title   the document's title      date   its date, ISO 8601; without it the first day of 2000 stands in the file

    Raises OutputError for a page longer than PDF allows (5080 mm).
    """
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=face(False))
    canvas.setTitle(printable(title))
    canvas.setCreator("bellywork")
    for page in pages:
        if max(page.width_mm, page.height_mm) > LONGEST_MM:
            longest = max(page.width_mm, page.height_mm)
            raise OutputError(
                f"A page of {longest:.0f} mm is longer than PDF allows (5080 mm); tile it on A4 or Letter."
            )
        canvas.setPageSize((page.width_mm / POINT_MM, page.height_mm / POINT_MM))
        canvas.scale(1.0 / POINT_MM, 1.0 / POINT_MM)
        for window in page.windows:
            _draw_window(canvas, window)
        _draw(canvas, page.items)
        canvas.showPage()
    canvas.save()
    day = date.replace("-", "").encode()[:8]
    return (
        out.getvalue()
        .replace(LIBRARYS_OWN, MARK.ljust(len(LIBRARYS_OWN)), 1)
        .replace(NO_DATE, day + b"000000" if len(day) == 8 else NO_DATE)
    )


def _draw_window(canvas: Canvas, window: DrawingWindow) -> None:
    """What is seen of a larger drawing, cut off at the window's edge."""
    seen = window.seen
    canvas.saveState()
    canvas.translate(window.at[0] - seen.left, window.at[1] - seen.bottom)
    clip = canvas.beginPath()
    clip.rect(seen.left, seen.bottom, seen.width, seen.height)
    canvas.clipPath(clip, stroke=0, fill=0)
    _draw(canvas, window.drawing.items)
    canvas.restoreState()


def _draw(canvas: Canvas, items: Iterable[Item]) -> None:
    for item in items:
        match item:
            case Line():
                _take(canvas, item.pen)
                canvas.line(*item.start, *item.end)
            case Polyline():
                _draw_polyline(canvas, item)
            case Circle():
                _take(canvas, item.pen)
                canvas.circle(*item.centre, item.radius_mm)
            case Arc():
                _take(canvas, item.pen)
                _draw_arc(canvas, item)
            case Text():
                _draw_text(canvas, item)


def _take(canvas: Canvas, pen: Pen) -> None:
    canvas.setLineWidth(pen.width_mm)
    canvas.setDash(list(pen.dashes_mm))
    canvas.setStrokeGray(pen.grey)


def _draw_polyline(canvas: Canvas, item: Polyline) -> None:
    if item.pen is not None:
        _take(canvas, item.pen)
    if item.fill is not None:
        canvas.setFillGray(item.fill)
    way = canvas.beginPath()
    way.moveTo(*item.points[0])
    for point in item.points[1:]:
        way.lineTo(*point)
    if item.closed:
        way.close()
    canvas.drawPath(way, stroke=int(item.pen is not None), fill=int(item.fill is not None))


def _draw_arc(canvas: Canvas, arc: Arc) -> None:
    """As straight lines: the curves of PDF are no circles."""
    way = canvas.beginPath()
    for k, point in enumerate(arc_points(arc)):
        way.lineTo(*point) if k else way.moveTo(*point)
    canvas.drawPath(way, stroke=1, fill=0)


def _draw_text(canvas: Canvas, item: Text) -> None:
    canvas.saveState()
    canvas.setFillGray(0.0)
    canvas.setFont(face(item.bold), item.size_mm)
    canvas.translate(*item.at)
    canvas.rotate(item.turn_deg)
    place = {
        TextAnchor.LEFT: canvas.drawString,
        TextAnchor.MIDDLE: canvas.drawCentredString,
        TextAnchor.RIGHT: canvas.drawRightString,
    }
    place[item.anchor](0.0, 0.0, printable(item.text))
    canvas.restoreState()
