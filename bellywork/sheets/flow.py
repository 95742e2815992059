"""Headings, sentences, tables and figures laid down a page from top to bottom, on to the next where it is full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from bellywork.errors import SheetError
from bellywork.sheets.drawing import Box, Item, Line, Page, Pen, Text, TextAnchor, rectangle, shifted
from bellywork.sheets.frame import LEADING, PLAIN_MM, SMALL_MM, TITLE_MM, PageFrame, fitted
from bellywork.sheets.lettering import true_minus, width_mm, wrapped

ROW_MM = 6.2
HEAD_MM = 8.4
FEW_LINES = 6  # so many lines are not parted
FEW_ROWS = 5  # fewer rows of a table do not stand alone on a page
HEAD_LINE_MM = 3.2  # a further line of a head
GAP_MM = 3.0
PAD_MM = 0.8


@dataclass(frozen=True, kw_only=True)
class Heading:
    """A heading."""

    text: str


@dataclass(frozen=True, kw_only=True)
class Sentences:
    """Sentences, one under another, each broken to the page's width; numbered from 1 where asked, without dots where
    they are plain.
    """

    lines: tuple[str, ...]
    numbered: bool = False
    plain: bool = False

    @property
    def indent_mm(self) -> float:
        """Room for the number or the dot before each."""
        return 0.0 if self.plain else 6.0 if self.numbered else 3.0


@dataclass(frozen=True, kw_only=True)
class SheetColumn:
    """A column of a table. A box is left empty, to be filled in by hand.

    head, unit   what stands over it     share   its part of the table's width
    cells        one text per row; none for a box
    """

    head: str
    unit: str = ""
    share: float = 1.0
    cells: tuple[str, ...] = ()
    left: bool = False
    box: bool = False


@dataclass(frozen=True, kw_only=True)
class SheetGrid:
    """A table; its head is drawn again on a new page."""

    columns: tuple[SheetColumn, ...]
    rows: int


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A small figure, drawn from its own lower left corner."""

    height_mm: float
    items: tuple[Item, ...]


Block: TypeAlias = Heading | Sentences | SheetGrid | Figure


def laid_out(blocks: Sequence[Block], frame: PageFrame) -> tuple[Page, ...]:
    """The blocks on as many pages as they need.

    Raises SheetError where a figure is higher than a page.
    """
    flow = _Flow(frame)
    for k, block in enumerate(blocks):
        match block:
            case Heading():
                flow.heading(block, blocks[k + 1 : k + 3])
            case Sentences():
                flow.sentences(block)
            case SheetGrid():
                flow.grid(block)
            case Figure():
                flow.figure(block)
    return tuple(frame.page(leaf) for leaf in flow.leaves if leaf)


class _Flow:
    """The pages so far, and how far down the last one is full."""

    def __init__(self, frame: PageFrame) -> None:
        self.room: Box = frame.room
        self.leaves: list[list[Item]] = [[]]
        self.y = self.room.top

    def need(self, height: float) -> None:
        """Go to a new page where this one has not so much room left."""
        if self.y - height < self.room.bottom and self.leaves[-1]:
            self.turn()

    def turn(self) -> None:
        """Go to a new page."""
        self.leaves.append([])
        self.y = self.room.top

    def put(self, *items: Item) -> None:
        """Draw on the present page."""
        self.leaves[-1] += items

    def heading(self, heading: Heading, following: Sequence[Block]) -> None:
        """A heading, with room for what begins under it: what explains a figure or a table stands with it."""
        match following:
            case [Figure() as figure, *_]:
                after = figure.height_mm
            case [SheetGrid() as grid, *_]:
                after = self.begun(grid, self.y - TITLE_MM * LEADING - GAP_MM - self.room.bottom)
            case [Sentences(plain=True) as told, Figure() as figure]:
                after = self.sentences_height(told) + GAP_MM + figure.height_mm
            case [Sentences() as told, *_]:
                after = self.sentences_kept(told)
            case _:
                after = 2 * PLAIN_MM * LEADING
        self.need(TITLE_MM * LEADING + GAP_MM + after)
        self.y -= TITLE_MM * 1.1
        self.put(
            Text(
                at=(self.room.left, self.y),
                text=fitted(heading.text, TITLE_MM, self.room.width, bold=True),
                size_mm=TITLE_MM,
                bold=True,
            )
        )
        self.y -= GAP_MM

    def sentences_height(self, sentences: Sentences) -> float:
        """How high sentences will be, one under another."""
        room = self.room.width - sentences.indent_mm
        lines = sum(len(wrapped(sentence, PLAIN_MM, room)) for sentence in sentences.lines)
        return lines * PLAIN_MM * LEADING

    def sentences_kept(self, sentences: Sentences) -> float:
        """How much of them must stand together: all of numbered ones and of a few others, where a page holds that."""
        whole, few = self.sentences_height(sentences), FEW_LINES * PLAIN_MM * LEADING
        return whole if whole <= (self.room.height if sentences.numbered else few) else 2 * PLAIN_MM * LEADING

    def sentences(self, sentences: Sentences) -> None:
        """Sentences, a number or a dot before each."""
        indent = sentences.indent_mm
        self.need(self.sentences_kept(sentences))
        for number, sentence in enumerate(sentences.lines, start=1):
            lines = wrapped(true_minus(sentence), PLAIN_MM, self.room.width - indent)
            self.need(len(lines) * PLAIN_MM * LEADING)
            for k, line in enumerate(lines):
                self.y -= PLAIN_MM * LEADING
                if k == 0:
                    mark = f"{number}" if sentences.numbered else "" if sentences.plain else "·"
                    self.put(Text(at=(self.room.left, self.y), text=mark, size_mm=PLAIN_MM, bold=True))
                self.put(Text(at=(self.room.left + indent, self.y), text=line, size_mm=PLAIN_MM))
        self.y -= GAP_MM

    def grid(self, grid: SheetGrid) -> None:
        """A table, row by row."""
        self.need(self.begun(grid, self.y - self.room.bottom))
        edges = self._edges(grid)
        heads = _heads(grid, edges)
        self._head(grid, edges, heads)
        here = int((self.y - self.room.bottom) // ROW_MM)
        turn = grid.rows - FEW_ROWS if 0 < grid.rows - here < FEW_ROWS <= grid.rows - FEW_ROWS else 0
        for row in range(grid.rows):
            if self.y - ROW_MM < self.room.bottom or (row and row == turn):
                self.turn()
                self._head(grid, edges, heads)
            self._row(grid, edges, row)
        self.y -= GAP_MM

    def begun(self, grid: SheetGrid, left_mm: float) -> float:
        """How much of a table must fit where so much of a page is left: all of it, unless a page cannot hold that under
        a heading, or several rows can stand on either side of the break.
        """
        head = _head_mm(_heads(grid, self._edges(grid)))
        whole, here = head + grid.rows * ROW_MM, int((left_mm - head) // ROW_MM)
        parted = here >= FEW_ROWS and grid.rows >= 2 * FEW_ROWS
        return whole if whole <= self.room.height - TITLE_MM * LEADING - GAP_MM and not parted else head + 2 * ROW_MM

    def _edges(self, grid: SheetGrid) -> list[tuple[float, float]]:
        whole, x, edges = sum(column.share for column in grid.columns), self.room.left, []
        for column in grid.columns:
            width = self.room.width * column.share / whole
            edges.append((x, x + width))
            x += width
        return edges

    def _head(self, grid: SheetGrid, edges: list[tuple[float, float]], heads: list[list[str]]) -> None:
        self.y -= _head_mm(heads)
        box = Box(left=self.room.left, bottom=self.y, right=self.room.right, top=self.y + _head_mm(heads))
        self.put(rectangle(box, pen=None, fill=0.9))
        for column, (left, right), lines in zip(grid.columns, edges, heads):
            told = [(column.unit, 1.4, False)]
            told += [(line, 4.9 + HEAD_LINE_MM * up, True) for up, line in enumerate(reversed(lines))]
            for text, up, bold in told:
                self.put(_cell(text, left, right, self.y + up, left_side=column.left, bold=bold, size=SMALL_MM))

    def _row(self, grid: SheetGrid, edges: list[tuple[float, float]], row: int) -> None:
        bottom = self.y - ROW_MM
        for column, (left, right) in zip(grid.columns, edges):
            if column.box:
                self.put(rectangle(Box(left=left + 0.6, bottom=bottom + 0.5, right=right - 0.6, top=self.y - 0.5)))
            else:
                self.put(_cell(column.cells[row], left, right, bottom + 2.0, left_side=column.left))
        self.put(Line(start=(self.room.left, bottom), end=(self.room.right, bottom), pen=Pen.FAINT))
        self.y = bottom

    def figure(self, figure: Figure) -> None:
        """A figure across the page."""
        if figure.height_mm > self.room.height:
            raise SheetError(
                f"A figure of {figure.height_mm:.0f} mm is higher than the paper's {self.room.height:.0f}."
            )
        self.need(figure.height_mm)
        self.y -= figure.height_mm
        self.put(*shifted(figure.items, self.room.left, self.y))
        self.y -= GAP_MM


def _heads(grid: SheetGrid, edges: list[tuple[float, float]]) -> list[list[str]]:
    """What stands over each column, broken to its width."""
    return [
        wrapped(column.head, SMALL_MM, right - left - 2 * PAD_MM, bold=True)
        for column, (left, right) in zip(grid.columns, edges)
    ]


def _head_mm(heads: list[list[str]]) -> float:
    return HEAD_MM + HEAD_LINE_MM * (max(map(len, heads), default=1) - 1)


def _cell(
    text: str, left: float, right: float, y: float, *, left_side: bool, bold: bool = False, size: float = PLAIN_MM
) -> Text:
    """Text in a cell, made smaller (to the smallest letters at most), then cut, where it is too wide."""
    room = right - left - 2 * PAD_MM
    wide = width_mm(text, size, bold)
    if wide > room:
        size = max(size * room / wide, SMALL_MM)
    x, anchor = (left + PAD_MM, TextAnchor.LEFT) if left_side else (right - PAD_MM, TextAnchor.RIGHT)
    return Text(at=(x, y), text=fitted(text, size, room, bold=bold), size_mm=size, anchor=anchor, bold=bold)
