"""A table of a board folder, every cell checked against its column."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from bellywork.conventions import Unit, note_name
from bellywork.files.cell_text import could_be_thousands, date_in, note_in, number_in
from bellywork.files.columns import TABLES, Column, Kind
from bellywork.files.gather import Gathered, nearest
from bellywork.files.header import Places, header_places
from bellywork.files.sources import RawTable
from bellywork.findings import Place

MOST_ROWS = 2000  # thickness and crown become one smooth surface through all points, which costs their number cubed
Cell = float | int | str | None


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: its number in the file, and its cells by stem in bellywork's own units; None where blank."""

    file: str
    number: int
    cells: dict[str, Cell]
    headers: dict[str, str]

    def place(self, stem: str = "", note: int | None = None) -> Place:
        """Where the row, or one of its cells, stands."""
        return Place(file=self.file, row=self.number, column=self.headers.get(stem, stem), note=note)

    def value(self, stem: str, blank: float = float("nan")) -> float:
        """A number of the row, or `blank` where the cell is."""
        cell = self.cells.get(stem)
        return blank if cell is None else float(cell)

    def maybe(self, stem: str) -> float | None:
        """A number of the row, or None where the cell is blank."""
        return None if self.cells.get(stem) is None else self.value(stem)

    def word(self, stem: str, blank: str = "") -> str:
        """A word of the row, or `blank` where the cell is."""
        cell = self.cells.get(stem)
        return blank if cell is None else str(cell)

    def note(self) -> int:
        """The row's note."""
        return int(self.value("note"))


@dataclass(frozen=True, kw_only=True)
class Table:
    """The rows of a table that hold no mistake; `sound` is False where some row did, or the header.

    notes   the notes of all rows, also of those with a mistake elsewhere
    """

    name: str
    file: str
    rows: tuple[Row, ...]
    sound: bool
    notes: frozenset[int]

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)


def table_from(name: str, raw: RawTable, gathered: Gathered) -> Table:
    """Check a raw table: its header, then every cell of every row."""
    before = gathered.grave
    columns = TABLES[name].columns
    rows: list[Row] = []
    notes: set[int] = set()
    if len(raw.rows) < 2:
        gathered.add(
            "empty-table", Place(file=raw.file), "no rows" if raw.rows else "an empty table",
            "a header and one row or more", "Fill the table, or take the file away.",
        )  # fmt: skip
    elif len(raw.rows) > MOST_ROWS + 1:
        gathered.add(
            "table-too-long", Place(file=raw.file), f"{len(raw.rows) - 1} rows", f"at most {MOST_ROWS}",
            "Thin the points out: a board needs no more than one every few centimetres.",
        )  # fmt: skip
    else:
        header = raw.rows[0][1]
        places = header_places(columns, raw, gathered)
        reader = _Cells(raw, {column.stem: header[k] for k, (column, _) in places.items()}, gathered)
        for number, cells in raw.rows[1:]:
            so_far = gathered.grave
            row = reader.row(number, cells, places, len(header))
            if row.cells.get("note") is not None:
                notes.add(row.note())
            if gathered.grave == so_far:
                rows.append(row)
    return Table(
        name=name, file=raw.file, rows=tuple(rows), sound=gathered.grave == before, notes=frozenset(notes)
    )  # fmt: skip


class _Cells:
    """How the cells of one table are read."""

    def __init__(self, raw: RawTable, headers: dict[str, str], gathered: Gathered) -> None:
        self.raw, self.headers, self.gathered = raw, headers, gathered
        numbers = [cell for _, cells in raw.rows[1:] for cell in cells]
        with_commas = any(re.fullmatch(r"[+-]?\d+,\d+", cell) for cell in numbers)
        # the mark that may part the thousands: a comma where commas part cells, a point where commas are decimal
        self.doubtful = "," if raw.comma_parts else "." if with_commas else ""

    def row(self, number: int, cells: tuple[str, ...], places: Places, width: int) -> Row:
        """One row; everything that is wrong with it is said."""
        row = Row(file=self.raw.file, number=number, cells={}, headers=self.headers)
        beyond = [cell for cell in cells[width:] if cell]
        if beyond:
            # a decimal comma between commas moves all cells behind it: what they say means nothing
            self.gathered.add(
                "cell-without-column", row.place(), f"'{beyond[0]}' beyond the last column", "one cell per column",
                "Check the separators of this row; a decimal comma needs semicolons between the cells.",
            )  # fmt: skip
            return row
        for k, (column, unit) in places.items():
            text = cells[k] if k < len(cells) else ""
            if text:
                row.cells[column.stem] = self.cell(text, column, unit, row)
            elif column.required:
                self.gathered.add(
                    "cell-empty", row.place(column.stem), "an empty cell", column.meaning, "Fill the cell."
                )  # fmt: skip
        return row

    def cell(self, text: str, column: Column, unit: Unit, row: Row) -> Cell:
        """The value of a cell; None where it is wrong and was said to be."""
        place = row.place(column.stem)
        if column.kind is Kind.NUMBER:
            return self.number(text, column, unit, place)
        if column.kind is Kind.NOTE:
            note = note_in(text)
            if note is None:
                self.gathered.add(
                    "note-unknown", place, f"'{text}'", f"a note from 1 to 88, or {note_name(1)} to {note_name(88)}",
                    "Write the note's number or name.",
                )  # fmt: skip
            return note
        if column.kind is Kind.DATE:
            date = date_in(text)
            if date is None:
                self.gathered.add(
                    "date-unreadable", place, f"'{text}'", "a date, as 2026-05-01", "Write year-month-day."
                )  # fmt: skip
            return date
        if column.choices and text not in column.choices:
            self.gathered.add(
                "word-unknown", place, f"'{text}'", " or ".join(column.choices), nearest(text, column.choices)
            )  # fmt: skip
            return None
        return text

    def number(self, text: str, column: Column, unit: Unit, place: Place) -> float | None:
        """The number in a cell, in bellywork's own unit."""
        typed = number_in(text)
        if typed is None:
            self.gathered.add(
                "not-a-number", place, f"'{text}'", "a number, as 12.5, 12,5 or 3/8",
                "Write the number alone: its unit stands in the header.",
            )  # fmt: skip
            return None
        if self.doubtful and could_be_thousands(text, self.doubtful):
            digits = re.sub(r"\D", "", text)
            self.gathered.add(
                "number-doubtful", place, f"'{text}'", f"{digits} or {digits[:-3]}.{digits[-3:]}, whichever is meant",
                "Write no mark between thousands, and a point as the decimal sign.",
            )  # fmt: skip
            return None
        value = unit.inside(typed)
        if not column.least <= value <= column.most or (column.whole and value != int(value)):
            low, high = f"{unit.outside(column.least):.4g}", f"{unit.outside(column.most):.4g}"
            self.gathered.add(
                "out-of-range", place, f"{text} {unit.suffix}".strip(),
                f"{low} to {high} {unit.suffix}".strip() + (", whole" if column.whole else ""),
                f"Check the number and the unit in the header: {column.meaning}.",
            )  # fmt: skip
            return None
        return value
