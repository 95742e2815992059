"""One cell of a table of a board folder, changed where it stands: every other byte of the file stays."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from bellywork.errors import BoardError
from bellywork.files.cell_text import note_in
from bellywork.files.columns import TABLES
from bellywork.files.gather import Gathered
from bellywork.files.sources import Sources, csv_rows, encoding_of, is_comment, separator_of
from bellywork.files.tables import without_title


@dataclass(frozen=True, kw_only=True, eq=False)
class NoteTable:
    """The cells of a CSV table with one row for each note, as text.

    path     the file; data: its bytes
    header   its columns as they are written
    cells    by note, then by column
    """

    path: Path
    data: bytes
    header: tuple[str, ...]
    cells: Mapping[int, Mapping[str, str]]

    def with_cell(self, note: int, column: str, text: str) -> bytes:
        """The file with another text in one cell. Raises BoardError where it has no such cell, or no plain row."""
        if column not in self.header or note not in self.cells:
            raise BoardError(f"{self.path.name} has no cell {column} of note {note}.")
        encoding = encoding_of(self.data)
        lines = list(io.StringIO(self.data.decode(encoding), newline=""))
        separator = separator_of(lines)
        place = self.header.index(column)
        row = next((k for k, line in enumerate(lines) if _note(line, separator, self.header) == note), None)
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
    sources = Sources(path.parent, Gathered())
    raw, data = csv_rows(sources, path.name), sources.data(path.name)
    if raw is not None:
        raw = without_title(raw, TABLES["notes"].columns)
    if raw is None or data is None or not raw.rows or "note" not in raw.rows[0][1]:
        raise BoardError(f"{path.name} is no table with a column note that readings could be written to.")
    header = raw.rows[0][1]
    cells: dict[int, dict[str, str]] = {}
    for _, row in raw.rows[1:]:
        named = dict(zip(header, (*row, *[""] * len(header))))
        note = note_in(named["note"])
        if note is None:
            continue
        if note in cells:
            raise BoardError(f"{path.name} holds note {note} twice; take one of its rows out first.")
        cells[note] = named
    return NoteTable(path=path, data=data, header=header, cells=cells)


def _with_cell(line: str, separator: str, place: int, text: str) -> str:
    cells = next(csv.reader([line], delimiter=separator))
    cells += [""] * (place + 1 - len(cells))
    cells[place] = text
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=line[len(line.rstrip("\r\n")) :]).writerow(cells)
    return out.getvalue()


def _note(line: str, separator: str, header: tuple[str, ...]) -> int | None:
    """The note of a line of the file; None where it is a comment or something else."""
    if is_comment(line):
        return None
    cells = next(csv.reader([line], delimiter=separator), [])
    place = header.index("note")
    return note_in(cells[place]) if len(cells) > place else None
