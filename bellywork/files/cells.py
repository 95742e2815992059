"""Cells and rows of a table of a board folder, changed where they stand: every other byte of the file stays."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from bellywork.errors import BoardError
from bellywork.files.cell_text import note_in
from bellywork.files.columns import TABLES
from bellywork.files.gather import Gathered
from bellywork.files.sources import Sources, csv_rows, encoding_of, is_comment, separator_of
from bellywork.files.tables import without_title


@dataclass(frozen=True, kw_only=True, eq=False)
class CsvTable:
    """The cells of a CSV table as they stand in its file.

    path     the file; data: its bytes
    header   its columns as they are written
    rows     by column, as text
    """

    path: Path
    data: bytes
    header: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]

    def with_row(self, cells: Mapping[str, str]) -> bytes:
        """The file with one row more, behind the others. Raises BoardError where it lacks one of these columns."""
        self._needed(*cells)
        lines, separator, encoding = self._lines()
        end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
        if lines and not lines[-1].endswith(("\n", "\r")):
            lines[-1] += end
        return "".join([*lines, _line([cells.get(name, "") for name in self.header], separator, end)]).encode(encoding)

    def without_rows(self, column: str, text: str) -> bytes:
        """The file without the rows that hold this text in a column. Raises BoardError where it has none such."""
        self._needed(column)
        lines, separator, encoding = self._lines()
        place = self.header.index(column)
        kept = [line for line in lines if _cell(line, separator, place) != text]
        gone = [row for row in self.rows if row[column] == text]
        if not gone or len(lines) - len(kept) != len(gone):
            raise BoardError(f"{self.path.name} holds no rows of {text} that could be taken out.")
        return "".join(kept).encode(encoding)

    def without_row(self, cells: Mapping[str, str]) -> bytes:
        """The file without the last row that holds these cells. Raises BoardError where it has none such."""
        self._needed(*cells)
        lines, separator, encoding = self._lines()
        places = {self.header.index(name): text for name, text in cells.items()}
        found = [
            k
            for k, line in enumerate(lines)
            if all((_cell(line, separator, place) or "") == text for place, text in places.items())
        ]
        if not found:
            raise BoardError(f"{self.path.name} holds no such row by now; it was changed or taken out since.")
        return "".join(lines[: found[-1]] + lines[found[-1] + 1 :]).encode(encoding)

    def _needed(self, *columns: str) -> None:
        lacking = [name for name in columns if name not in self.header]
        if lacking:
            raise BoardError(f"{self.path.name} lacks {', '.join(lacking)} in its header; add that first.")

    def _lines(self) -> tuple[list[str], str, str]:
        """The lines of the file, what parts its cells, and how its letters are written."""
        encoding = encoding_of(self.data)
        lines = list(io.StringIO(self.data.decode(encoding), newline=""))
        return lines, separator_of(lines), encoding


def csv_table(path: Path, table: str) -> CsvTable | None:
    """The cells of a table of a board, by its name among `TABLES`; None where its file is no CSV table."""
    sources = Sources(path.parent, Gathered())
    raw, data = csv_rows(sources, path.name), sources.data(path.name)
    if raw is None or data is None or not raw.rows:
        return None
    raw = without_title(raw, TABLES[table].columns)
    header = raw.rows[0][1]
    rows = (dict(zip(header, (*row, *[""] * len(header)))) for _, row in raw.rows[1:])
    return CsvTable(path=path, data=data, header=header, rows=tuple(rows))


def new_table(header: Sequence[str]) -> bytes:
    """A table without rows."""
    return _line(list(header), ",", "\n").encode()


@dataclass(frozen=True, kw_only=True, eq=False)
class NoteTable(CsvTable):
    """A table with one row for each note; `cells` holds them by note, then by column."""

    cells: Mapping[int, Mapping[str, str]]

    def with_cell(self, note: int, column: str, text: str) -> bytes:
        """The file with another text in one cell. Raises BoardError where it has no such cell, or no plain row."""
        if column not in self.header or note not in self.cells:
            raise BoardError(f"{self.path.name} has no cell {column} of note {note}.")
        lines, separator, encoding = self._lines()
        at, place = self.header.index("note"), self.header.index(column)
        row = next((k for k, line in enumerate(lines) if note_in(_cell(line, separator, at) or "") == note), None)
        if row is None:
            raise BoardError(f"{self.path.name} holds note {note} in no row of its own; write it anew as plain CSV.")
        changed = [*lines[:row], _with_cell(lines[row], separator, place, text), *lines[row + 1 :]]
        before, after = (list(csv.reader(each, delimiter=separator)) for each in (lines, changed))
        if len(before) != len(after) or sum(one != other for one, other in zip(before, after)) > 1:
            raise BoardError(f"{self.path.name} has a cell of several lines; write it anew as plain CSV.")
        return "".join(changed).encode(encoding)


def note_table(path: Path) -> NoteTable:
    """The cells of a table as they stand in its file.

    Raises BoardError where it is no CSV table with notes, or a note stands in it twice.
    """
    found = csv_table(path, "notes")
    if found is None or "note" not in found.header:
        raise BoardError(f"{path.name} is no table with a column note that readings could be written to.")
    cells: dict[int, Mapping[str, str]] = {}
    for row in found.rows:
        note = note_in(row["note"])
        if note is None:
            continue
        if note in cells:
            raise BoardError(f"{path.name} holds note {note} twice; take one of its rows out first.")
        cells[note] = row
    return NoteTable(path=path, data=found.data, header=found.header, rows=found.rows, cells=cells)


def _with_cell(line: str, separator: str, place: int, text: str) -> str:
    cells = next(csv.reader([line], delimiter=separator))
    cells += [""] * (place + 1 - len(cells))
    cells[place] = text
    return _line(cells, separator, line[len(line.rstrip("\r\n")) :])


def _line(cells: Sequence[str], separator: str, end: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end).writerow(cells)
    return out.getvalue()


def _cell(line: str, separator: str, place: int) -> str | None:
    """The text of a cell of a line of the file; None where it is a comment or ends before."""
    if is_comment(line):
        return None
    cells = next(csv.reader([line], delimiter=separator), [])
    return cells[place].strip() if len(cells) > place else None
