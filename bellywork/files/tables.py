"""A table of a board folder, every cell checked against its column."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bellywork.conventions import UNITS, Unit, note_name
from bellywork.files.cells import note_in, number_in
from bellywork.files.columns import TABLES, Column, Kind
from bellywork.files.gather import Gathered, nearest
from bellywork.files.sources import RawTable
from bellywork.findings import Place

REMARK = "remark"


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row: its number in the file, and its cells by stem in bellywork's own units; None where blank."""

    file: str
    number: int
    cells: dict[str, float | int | str | None]
    headers: dict[str, str]

    def place(self, stem: str = "", note: int | None = None) -> Place:
        """Where the row, or one of its cells, stands."""
        return Place(file=self.file, row=self.number, column=self.headers.get(stem, stem), note=note)

    def value(self, stem: str, blank: float = float("nan")) -> float:
        """A number of the row, or `blank` where the cell is."""
        cell = self.cells.get(stem)
        return blank if cell is None else float(cell)

    def word(self, stem: str, blank: str = "") -> str:
        """A word of the row, or `blank` where the cell is."""
        cell = self.cells.get(stem)
        return blank if cell is None else str(cell)

    def note(self) -> int:
        """The row's note."""
        return int(self.value("note"))


@dataclass(frozen=True, kw_only=True)
class Table:
    """The rows of a table that hold no mistake; `sound` is False where some row did, or the header."""

    name: str
    file: str
    rows: tuple[Row, ...]
    sound: bool

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)


def table_from(name: str, raw: RawTable, gathered: Gathered) -> Table:
    """Check a raw table: its header, then every cell."""
    before = len(gathered.findings)
    if len(raw.rows) < 2:
        gathered.add(
            "empty-table", Place(file=raw.file), "no rows" if raw.rows else "an empty table",
            "a header and one row or more", "Fill the table, or take the file away.",
        )  # fmt: skip
        return Table(name=name, file=raw.file, rows=(), sound=False)
    places = _header(name, raw, gathered)
    headers = {column.stem: raw.rows[0][1][k] for k, (column, _) in places.items()}
    rows = []
    for number, cells in raw.rows[1:]:
        so_far = len(gathered.findings)
        row = Row(file=raw.file, number=number, cells={}, headers=headers)
        for k, text in enumerate(cells):
            if k in places:
                column, unit = places[k]
                row.cells[column.stem] = _cell(text, column, unit, row, gathered)
            elif k >= len(raw.rows[0][1]) and text:
                gathered.add(
                    "cell-without-column", row.place(), f"'{text}' beyond the last column", "one cell per column",
                    "Check the separators of this row; a decimal comma needs semicolons between the cells.",
                )  # fmt: skip
        for column, _ in places.values():
            if column.required and row.cells.get(column.stem) is None and len(gathered.findings) == so_far:
                gathered.add(
                    "cell-empty", row.place(column.stem), "an empty cell", column.meaning, "Fill the cell.",
                )  # fmt: skip
        if len(gathered.findings) == so_far:
            rows.append(row)
    return Table(name=name, file=raw.file, rows=tuple(rows), sound=len(gathered.findings) == before)


def _header(name: str, raw: RawTable, gathered: Gathered) -> dict[int, tuple[Column, Unit]]:
    """Which column stands where, in which unit."""
    columns = TABLES[name]
    number, header = raw.rows[0]
    places: dict[int, tuple[Column, Unit]] = {}
    spoken: set[str] = set()
    for k, text in enumerate(header):
        if text in ("", REMARK):
            continue
        place = Place(file=raw.file, row=number, column=text)
        column = next((c for c in columns if text in (c.stem, *(f"{c.stem}_{s}" for s in c.suffixes if s))), None)
        if column is None:
            column = _misspelt(text, columns, place, gathered)
        elif text == column.stem and "" not in column.suffixes:
            gathered.add(
                "unit-missing", place, f"'{text}' without a unit",
                " or ".join(f"{column.stem}_{s}" for s in column.suffixes), "Write the unit behind the name.",
            )  # fmt: skip
        elif column.stem in {c.stem for c, _ in places.values()}:
            gathered.add("column-twice", place, f"'{text}' a second time", "each column once", "Take one away.")
        else:
            places[k] = (column, UNITS[text[len(column.stem) + 1 :]])
        if column is not None:
            spoken.add(column.stem)
    for column in columns:
        if column.required and column.stem not in spoken:
            gathered.add(
                "column-missing", Place(file=raw.file, row=number, column=column.usual), "no such column",
                column.meaning, f"Add the column {column.usual}.",
            )  # fmt: skip
    return places


def _misspelt(text: str, columns: tuple[Column, ...], place: Place, gathered: Gathered) -> Column | None:
    """Name what is wrong with an unknown header; the column that it was meant for, where that is plain."""
    for column in sorted(columns, key=lambda c: -len(c.stem)):
        if text.startswith(f"{column.stem}_") and column.kind is Kind.NUMBER:
            other = text[len(column.stem) + 1 :]
            if other in UNITS or not any(
                c.stem.startswith(text.rsplit("_", 1)[0]) and c is not column for c in columns
            ):
                accepted = [f"{column.stem}_{s}" if s else column.stem for s in column.suffixes]
                gathered.add(
                    "unit-wrong", place, f"the unit '{other}'", " or ".join(accepted),
                    "Convert the column, or correct its unit.",
                )  # fmt: skip
                return column
    gathered.add(
        "column-unknown", place, f"'{text}'", f"a column of the table {place.file.split('.')[0]}",
        nearest(text, [*(c.usual for c in columns), REMARK]),
    )  # fmt: skip
    return None


def _cell(text: str, column: Column, unit: Unit, row: Row, gathered: Gathered) -> float | int | str | None:
    """The value of a cell; None where blank, or where it is wrong and was said to be."""
    if not text:
        return None
    place = row.place(column.stem)
    if column.kind is Kind.WORD:
        if column.choices and text not in column.choices:
            gathered.add(
                "word-unknown", place, f"'{text}'", " or ".join(column.choices), nearest(text, column.choices)
            )  # fmt: skip
            return None
        return text
    if column.kind is Kind.NOTE:
        note = note_in(text)
        if note is None:
            gathered.add(
                "note-unknown", place, f"'{text}'", f"a note from 1 to 88, or {note_name(1)} to {note_name(88)}",
                "Write the note's number or name.",
            )  # fmt: skip
        return note
    typed = number_in(text)
    if typed is None:
        gathered.add(
            "not-a-number", place, f"'{text}'", "a number, as 12.5, 12,5 or 3/8",
            "Write the number alone: its unit stands in the header.",
        )  # fmt: skip
        return None
    value = unit.inside(typed)
    bound = _bound(value, column)
    if bound:
        gathered.add(
            "out-of-range", place, f"{text} {unit.suffix}".strip(), bound, f"Measure it again: {column.meaning}.",
        )  # fmt: skip
        return None
    return value


def _bound(value: float, column: Column) -> str:
    """The bound that a value breaks, in words; empty where it keeps them all."""
    inside = f" {column.suffixes[0]}" if column.suffixes[0] else ""
    if column.above is not None and not value > column.above:
        return f"more than {column.above:g}{inside}"
    if column.least is not None and not value >= column.least:
        return f"{column.least:g}{inside} or more"
    if column.most is not None and not value <= column.most:
        return f"{column.most:g}{inside} or less"
    return ""
