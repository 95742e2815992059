"""A table of a board folder, every cell checked against its column."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from bellywork.conventions import Unit
from bellywork.files.cell_text import could_be_thousands, date_in, note_in, number_in
from bellywork.files.checked import Value, checked, known_names, meant_by
from bellywork.files.columns import REMARK, TABLES, Column, Kind
from bellywork.files.gather import Gathered
from bellywork.files.sources import RawTable
from bellywork.findings import Place

MOST_TITLES = 2  # rows above a header
MOST_ROWS = 2000  # thickness and crown become one smooth surface through all points, which costs their number cubed
_TYPED: dict[Kind, Callable[[str], Value | None]] = {
    Kind.NUMBER: number_in,
    Kind.NOTE: note_in,
    Kind.DATE: date_in,
    Kind.WORD: str,
}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: its number in the file, and its cells by stem in bellywork's own units; None where blank."""

    file: str
    number: int
    cells: dict[str, Value | None]
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

    rows    none at all where the header lacks a column: a cell that is needed stands in every row that is here
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
    raw = without_title(raw, columns)
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
        reader = _Cells(raw, _places(columns, raw, gathered), gathered)
        all_there = all(column.stem in reader.headers for column in columns if column.required)
        for number, cells in raw.rows[1:]:
            so_far = gathered.grave
            row = reader.row(number, cells)
            if row.cells.get("note") is not None:
                notes.add(row.note())
            if all_there and gathered.grave == so_far:
                rows.append(row)
        for column in columns:
            if column.between and gathered.grave == before:
                _fill_between(column, rows, gathered)
    return Table(name=name, file=raw.file, rows=tuple(rows), sound=gathered.grave == before, notes=frozenset(notes))


def without_title(raw: RawTable, columns: tuple[Column, ...]) -> RawTable:
    """The table from its header on: a row or two above it that name no column are a title."""
    known = known_names(columns)
    for k, (_, cells) in enumerate(raw.rows[: MOST_TITLES + 1]):
        if sum(cell in known for cell in cells) >= 2:
            return replace(raw, rows=raw.rows[k:])
    return raw


def _fill_between(column: Column, rows: list[Row], gathered: Gathered) -> None:
    """Fill blank cells with what lies straight between the filled ones before and behind, bridge by bridge."""
    for bridge in dict.fromkeys(row.word("bridge") for row in rows):
        here = [row for row in rows if row.word("bridge") == bridge]
        if all(row.maybe("note") is not None for row in here):
            here.sort(key=Row.note)
        at = [row.value("note", float(k)) for k, row in enumerate(here)]
        known = [k for k, row in enumerate(here) if row.maybe(column.stem) is not None]
        for k, row in enumerate(here):
            if row.maybe(column.stem) is not None:
                continue
            if known and known[0] < k < known[-1]:
                low, high = max(i for i in known if i < k), min(i for i in known if i > k)
                share = (at[k] - at[low]) / (at[high] - at[low])
                first, last = here[low].value(column.stem), here[high].value(column.stem)
                row.cells[column.stem] = (1.0 - share) * first + share * last
            elif column.required:
                gathered.add("cell-empty", row.place(column.stem), "an empty cell", column.meaning, "Fill the cell.")


def _places(columns: tuple[Column, ...], raw: RawTable, gathered: Gathered) -> dict[int, tuple[Column, Unit]]:
    """Column and unit of each place of the header that holds one; what is unknown, twice or missing is said."""
    number, header = raw.rows[0]
    known = known_names(columns)
    places: dict[int, tuple[Column, Unit]] = {}
    meant: set[str] = set()
    for k, text in enumerate(header):
        place = Place(file=raw.file, row=number, column=text)
        if text in ("", REMARK):
            continue
        if text not in known:
            meant.add(meant_by(text, columns, place, gathered, kind="column", more=(REMARK,)))
        elif known[text][0].stem in {column.stem for column, _ in places.values()}:
            gathered.add(
                "column-twice", place, f"{known[text][0].stem} a second time", "each column once", "Take one away."
            )
        else:
            places[k] = known[text]
            meant.add(known[text][0].stem)
    for column in columns:
        if column.required and column.stem not in meant:
            gathered.add("column-missing", Place(file=raw.file, row=number, column=column.usual), "no such column",
                         column.meaning, f"Add the column {column.usual}.")  # fmt: skip
    return places


class _Cells:
    """How the cells of one table are read."""

    def __init__(self, raw: RawTable, places: dict[int, tuple[Column, Unit]], gathered: Gathered) -> None:
        header = raw.rows[0][1]
        self.raw, self.places, self.width, self.gathered = raw, places, len(header), gathered
        self.headers = {column.stem: header[k] for k, (column, _) in places.items()}
        self.above: dict[str, Value] = {}  # what blank cells run on from
        numbers = [cell for _, cells in raw.rows[1:] for cell in cells]
        with_commas = any(re.fullmatch(r"[+-]?\d+,\d+", cell) for cell in numbers)
        # the mark that may part the thousands: a comma where commas part cells, a point where commas are decimal
        self.doubtful = "," if raw.comma_parts else "." if with_commas else ""

    def row(self, number: int, cells: tuple[str, ...]) -> Row:
        """One row; everything that is wrong with it is said."""
        row = Row(file=self.raw.file, number=number, cells={}, headers=self.headers)
        beyond = [cell for cell in cells[self.width :] if cell]
        if beyond:
            # a decimal comma between commas moves all cells behind it: what they say means nothing
            self.gathered.add(
                "cell-without-column", row.place(), f"'{beyond[0][:60]}' beyond the last column", "one cell per column",
                "Check the separators of this row; a decimal comma needs semicolons between the cells.",
            )  # fmt: skip
            return row
        for k, (column, unit) in self.places.items():
            text = cells[k] if k < len(cells) else ""
            if text:
                value = row.cells[column.stem] = self.cell(text, column, unit, row.place(column.stem))
                if value is not None:
                    self.above[column.stem] = value
            elif column.runs_on and column.stem in self.above:
                row.cells[column.stem] = self.above[column.stem]
            elif column.required and not column.between:
                self.gathered.add(
                    "cell-empty", row.place(column.stem), "an empty cell", column.meaning, "Fill the cell."
                )
        return row

    def cell(self, text: str, column: Column, unit: Unit, place: Place) -> Value | None:
        """The value of a cell, a number in bellywork's own unit; None where it is wrong and was said to be."""
        if column.kind is Kind.NUMBER and self.doubtful and could_be_thousands(text, self.doubtful):
            digits = re.sub(r"\D", "", text)
            self.gathered.add(
                "number-doubtful", place, f"'{text}'", f"{digits} or {digits[:-3]}.{digits[-3:]}, whichever is meant",
                "Write no mark between thousands, and a point as the decimal sign.",
            )  # fmt: skip
            return None
        return checked(_TYPED[column.kind](text), text, column, unit, place, self.gathered)
