"""What stands on every page: title block, check bar and cautions; the sizes of paper."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bellywork.answers.answer import CAUTION
from bellywork.board.board import Board
from bellywork.measures import METRIC, Units
from bellywork.sheets.drawing import (
    Box,
    Drawing,
    DrawingWindow,
    Item,
    Line,
    Page,
    Pen,
    Text,
    TextAnchor,
    rectangle,
    shifted,
)
from bellywork.sheets.lettering import width_mm, wrapped

MARGIN_MM = 10.0
BAR_MM, INCH_BAR_MM, BAR_ROOM_MM = 100.0, 4 * 25.4, 108.0
SMALL_MM, PLAIN_MM, TITLE_MM = 2.5, 2.8, 4.2  # no letter is smaller than 7 points
LEADING = 1.4
BLOCK_MM = 22.0  # title block, above the cautions
NAME_CHARACTERS = 12  # of the fingerprint

SCALE_CAUTION = "Print at 100 %, not fitted to the page; measure the bar before use."


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A sheet of paper, upright; a roll is as wide as it is told here and as long as it needs."""

    name: str
    width_mm: float
    height_mm: float
    roll: bool = False


# ISO 216; a letter is 8½ × 11 in; a roll's tables stand on A4
PAPERS = {
    "a4": Paper(name="a4", width_mm=210.0, height_mm=297.0),
    "letter": Paper(name="letter", width_mm=215.9, height_mm=279.4),
    "roll": Paper(name="roll", width_mm=210.0, height_mm=297.0, roll=True),
}


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """What every page says of where its numbers come from.

    lines     board; state, humidity, temperature and date of the measurement; version and fingerprint; units
    date      of the measurement
    inches    the bar to measure is 4 in long, not 100 mm
    printed   day on which the sheets were made, ISO 8601; empty: not told
    """

    lines: tuple[str, ...]
    date: str = ""
    inches: bool = False
    printed: str = ""


def stamp_of(board: Board, fingerprint: str, version: str, units: Units = METRIC, *, printed: str = "") -> Stamp:
    """The stamp of a board: its name, the state and climate of its measurement, version, fingerprint and units."""
    climate = board.climate
    measured = [f"measured {board.measured_in.value}"]
    measured.append("RH not noted" if climate.rh_percent is None else f"{round(climate.rh_percent, 1):g} % RH")
    if climate.temperature_C is not None:
        measured.append(f"{round(climate.temperature_C, 1):g} °C")
    measured.append(climate.date or "date not noted")
    source = f"bellywork {version} · inputs {fingerprint[:NAME_CHARACTERS]}"
    return Stamp(
        lines=(board.name, ", ".join(measured), source, units_words(units)),
        date=climate.date,
        inches=units.decimal == "in",
        printed=printed,
    )


def units_words(units: Units) -> str:
    """The units of a sheet's numbers."""
    return f"Lengths in {units.decimal}, forces in {units.force}, angles in degrees."


@dataclass(frozen=True, kw_only=True)
class PageFrame:
    """Paper, and what stands round the drawing on each page of one sheet."""

    paper: Paper
    stamp: Stamp
    title: str
    cautions: tuple[str, ...]
    landscape: bool = False

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of a page as it lies."""
        size = self.paper.width_mm, self.paper.height_mm
        return size[::-1] if self.landscape else size

    def caution_lines(self, room_mm: float) -> list[str]:
        """The cautions, broken to the room."""
        text = " ".join((*self.cautions, CAUTION))
        return wrapped(f"Caution: {text}", SMALL_MM, room_mm)

    def foot_mm(self, width: float) -> float:
        """Height of the foot of a page of this width, with a last line for the page's number."""
        return BLOCK_MM + (len(self.caution_lines(width - 2 * MARGIN_MM - 4.0)) + 1) * SMALL_MM * LEADING + 2.0

    @property
    def room(self) -> Box:
        """Where a page has room for the drawing."""
        width, height = self.size_mm
        return Box(
            left=MARGIN_MM,
            bottom=MARGIN_MM + self.foot_mm(width) + 2.0,
            right=width - MARGIN_MM,
            top=height - MARGIN_MM,
        )

    def page(
        self,
        items: Sequence[Item],
        *,
        windows: tuple[DrawingWindow, ...] = (),
        size_mm: tuple[float, float] | None = None,
    ) -> Page:
        """A page with its frame, but for its number; `size_mm` where it is not the paper's own."""
        width, height = size_mm or self.size_mm
        return Page(
            width_mm=width, height_mm=height, items=(*items, *self._foot(width, bar=bool(windows))), windows=windows
        )

    def _foot(self, width: float, *, bar: bool) -> list[Item]:
        """Title block, cautions, and on a page with something at full size the bar to measure."""
        left, right, top = MARGIN_MM, width - MARGIN_MM, MARGIN_MM + self.foot_mm(width)
        items: list[Item] = [rectangle(Box(left=left, bottom=MARGIN_MM, right=right, top=top))]
        y = top - 1.3 * TITLE_MM
        room = right - left - (BAR_ROOM_MM + 8.0 if bar else 4.0)
        items.append(
            Text(at=(left + 2.0, y), text=fitted(self.title, PLAIN_MM, room, bold=True), size_mm=PLAIN_MM, bold=True)
        )
        for line in self.stamp.lines:
            y -= SMALL_MM * LEADING + 0.2
            items.append(Text(at=(left + 2.0, y), text=fitted(line, SMALL_MM, room), size_mm=SMALL_MM))
        items += shifted(check_bar(self.stamp.inches), right - BAR_ROOM_MM, top - 6.5) if bar else ()
        for k, line in enumerate(self.caution_lines(right - left - 4.0)):
            items.append(
                Text(at=(left + 2.0, top - BLOCK_MM - 2.0 - k * SMALL_MM * LEADING), text=line, size_mm=SMALL_MM)
            )
        return items


def numbered(sheets: Mapping[str, Sequence[Page]], printed: str = "") -> dict[str, tuple[Page, ...]]:
    """The pages of sheets that are made together, by their names, numbered through, with what stands where."""
    total, at, places = sum(map(len, sheets.values())), 0, []
    for name, pages in sheets.items():
        places.append(f"{name} {at + 1}" + (f"–{at + len(pages)}" if len(pages) > 1 else ""))
        at += len(pages)
    after = f" of this run: {', '.join(places)}" if len(sheets) > 1 else ""
    after += f" · printed {printed}" if printed else ""
    numbers = itertools.count(1)
    return {
        name: tuple(_with_line(page, f"page {next(numbers)} of {total}{after}") for page in pages)
        for name, pages in sheets.items()
    }


def _with_line(page: Page, text: str) -> Page:
    """A page with the last line of its foot."""
    line = fitted(text, SMALL_MM, page.width_mm - 2 * MARGIN_MM - 4.0)
    return replace(page, items=(*page.items, Text(at=(MARGIN_MM + 2.0, MARGIN_MM + 1.6), text=line, size_mm=SMALL_MM)))


def check_bar(inches: bool = False) -> tuple[Item, ...]:
    """The bar to measure, from (0, 0): 100 mm from its first to its last stroke with ticks every 10 mm, or 4 in with
    ticks every half inch.
    """
    long, words, parts = (INCH_BAR_MM, "4 in", 8) if inches else (BAR_MM, "100 mm", 10)
    ticks = (
        Line(start=(long * k / parts, -high), end=(long * k / parts, high), pen=Pen.FRAME)
        for k in range(parts + 1)
        for high in (2.0 if 2 * k % parts == 0 else 1.0,)
    )
    bar = Line(start=(0.0, 0.0), end=(long, 0.0), pen=Pen.FRAME)
    text = Text(at=(long / 2.0, -5.2), text=f"{words}. {SCALE_CAUTION}", size_mm=SMALL_MM, anchor=TextAnchor.MIDDLE)
    return bar, *ticks, text


def stamped(drawing: Drawing, title: str, stamp: Stamp, cautions: tuple[str, ...]) -> Drawing:
    """A full-size drawing with check bar, stamp and cautions under it."""
    box, items = drawing.box, list(drawing.items)
    y = box.bottom - 10.0
    items += shifted(check_bar(stamp.inches), box.left, y)
    for line in (title, *stamp.lines, *cautions, CAUTION):
        y -= PLAIN_MM * LEADING + (5.0 if line is title else 0.0)
        items.append(Text(at=(box.left, y), text=line, size_mm=PLAIN_MM))
    whole = Box(left=box.left, bottom=y - 2.0, right=max(box.right, box.left + 180.0), top=box.top)
    return Drawing(name=drawing.name, box=whole, items=tuple(items))


def fitted(text: str, size_mm: float, room_mm: float, *, bold: bool = False) -> str:
    """Text cut with an ellipsis where it is wider than its room."""
    if width_mm(text, size_mm, bold) <= room_mm:
        return text
    while text and width_mm(f"{text}…", size_mm, bold) > room_mm:
        text = text[:-1]
    return f"{text.rstrip()}…"
