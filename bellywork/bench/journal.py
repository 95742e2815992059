"""Every reading on the disk before it is acknowledged: one line of JSON each, never changed afterwards."""

from __future__ import annotations

import contextlib
import datetime
import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, TypeAlias

from bellywork.errors import OutputError

JOURNAL = "bench_journal.jsonl"
LARGEST_BYTES = 50_000_000


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One cell of a table as somebody typed it.

    key      that the typing device gave it: sent twice, it counts once
    table    file name of the table; note: row; column: header as it stands in the file
    text     what the cell is to hold; before: what it held when it was typed
    at       when it was acknowledged, ISO 8601 with the zone; remark: of whoever typed it
    rh       relative humidity of that day in %, as it was typed; empty: not told
    """

    key: str
    table: str
    note: int
    column: str
    text: str
    before: str
    at: str
    remark: str = ""
    rh: str = ""

    def __str__(self) -> str:
        return f"{self.column} of note {self.note}, {self.text}"


@dataclass(frozen=True, kw_only=True)
class NewRow:
    """A row that somebody added to a table: its cells by header, `key`, `table`, `at` and `rh` as of a reading.

    stood    how many equal rows the table had before, so that it is known whether this one is among them
    """

    key: str
    table: str
    cells: dict[str, str]
    at: str
    rh: str = ""
    stood: int = 0

    def __str__(self) -> str:
        return f"a row of {self.table}, {', '.join(self.cells.values())}"


@dataclass(frozen=True, kw_only=True)
class RowsOut:
    """Rows that somebody took out of a table: those that hold `rows` in `column`."""

    key: str
    table: str
    column: str
    rows: str
    at: str

    def __str__(self) -> str:
        return f"{self.column} {self.rows} taken out of {self.table}"


@dataclass(frozen=True, kw_only=True)
class RowBack:
    """A row of the bench that somebody took back: `gone` its cells by header, `of` the key that it was added under.

    stood    how many equal rows the table had before, it among them
    """

    key: str
    table: str
    gone: dict[str, str]
    of: str
    at: str
    stood: int = 1

    def __str__(self) -> str:
        return f"a row of {self.table} taken back, {', '.join(self.gone.values())}"


Entry: TypeAlias = Reading | NewRow | RowsOut | RowBack


def now() -> str:
    """The time of an entry: local, to the second, with its offset."""
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")


class Journal:
    """The journal of a board folder, held by one bench at a time.

    Raises OutputError where the folder cannot be written to, or another bench holds it.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / JOURNAL
        try:
            self._file = self.path.open("ab")
        except OSError as error:
            why = (error.strerror or "no reason").lower()
            raise OutputError(f"{folder} cannot be written to ({why}), so no reading would be kept.") from None
        if not _held(self._file.fileno()):
            self._file.close()
            raise OutputError(f"Another bench is open on {folder}; use its address, or end it first.")
        self.entries, self._taken = _read(self.path)
        self._keys = {each.key for each in self.entries}
        if self._file.tell() and not _ends_a_line(self.path):
            self._append(b"\n")  # what a power cut left of a line stays, and counts for nothing

    def __contains__(self, key: str) -> bool:
        return key in self._keys

    @property
    def left(self) -> tuple[Entry, ...]:
        """What was acknowledged and had not reached its table when the last bench ended."""
        return tuple(each for each in self.entries if each.key not in self._taken)

    def overtaken(self, entry: Entry) -> bool:
        """Whether the cell of a reading was read anew since: the later reading is the one that stands."""
        if not isinstance(entry, Reading):
            return False
        same = [
            each
            for each in self.entries
            if isinstance(each, Reading) and (each.note, each.column) == (entry.note, entry.column)
        ]
        return same[-1].key != entry.key

    @property
    def to_take_back(self) -> list[Reading | NewRow]:
        """What was typed and stands since, the latest first: the last reading of each cell, and each row."""
        cells: set[tuple[int, str]] = set()
        gone: set[str] = set()
        found: list[Reading | NewRow] = []
        for each in reversed(self.entries):
            if isinstance(each, RowBack):
                gone.add(each.of)
            elif isinstance(each, RowsOut):
                gone.add(each.rows)
            elif isinstance(each, NewRow):
                if not gone & {each.key, each.cells.get("trial", each.key)}:
                    found.append(each)
            elif (each.note, each.column) not in cells:
                cells.add((each.note, each.column))
                found.append(each)
        return found

    @property
    def read_again(self) -> set[int]:
        """The notes of which a height that stood there already was read once more, and not taken back."""
        standing: dict[tuple[int, str], list[Reading]] = {}
        for each in self.entries:
            if isinstance(each, Reading):
                cell = standing.setdefault((each.note, each.column), [])
                if cell and (each.text, each.before) == (cell[-1].before, cell[-1].text):
                    cell.pop()
                else:
                    cell.append(each)
        return {each.note for cell in standing.values() for each in cell if each.before and each.text}

    def remark(self, note: int) -> str:
        """The last remark on a note; empty where there is none."""
        remarks = (each.remark for each in reversed(self.entries) if isinstance(each, Reading) and each.note == note)
        return next((remark for remark in remarks if remark), "")

    def add(self, entry: Entry) -> None:
        """Write an entry; it is on the disk when this returns. Raises OutputError where it is not."""
        self._append(json.dumps(asdict(entry), ensure_ascii=False).encode() + b"\n")
        self.entries.append(entry)
        self._keys.add(entry.key)

    def taken(self, key: str) -> None:
        """Say that an entry stands in its table."""
        self._append(json.dumps({"taken": key}).encode() + b"\n")
        self._taken.add(key)

    def close(self) -> None:
        """Let another bench have the folder."""
        self._file.close()

    def _append(self, line: bytes) -> None:
        try:
            self._file.write(line)
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            why = (error.strerror or "no reason").lower()
            raise OutputError(f"{self.path} could not be written ({why}); the reading is not kept.") from None


KINDS: dict[str, type[NewRow | RowsOut | RowBack]] = {"cells": NewRow, "rows": RowsOut, "gone": RowBack}


def _read(path: Path) -> tuple[list[Entry], set[str]]:
    """What was written and the keys of what was taken; a line that was cut off is passed over."""
    entries: list[Entry] = []
    taken = set()
    for line in _lines(path):
        if "taken" in line:
            taken.add(str(line["taken"]))
        else:
            kind: type[Entry] = next((kind for word, kind in KINDS.items() if word in line), Reading)
            with contextlib.suppress(TypeError):  # a line of another kind
                entries.append(kind(**line))
    return entries, taken


def _lines(path: Path) -> Iterator[dict[str, Any]]:
    if path.stat().st_size > LARGEST_BYTES:
        raise OutputError(f"{path} is larger than a journal can be; move it away.")
    for line in path.read_bytes().splitlines():
        with contextlib.suppress(ValueError):
            entry = json.loads(line)
            if isinstance(entry, dict):
                yield entry


def _ends_a_line(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read() == b"\n"


def _held(handle: int) -> bool:
    """Take the lock of a file, which ends with the process; True where it is had, or the system knows none."""
    try:
        import fcntl
    except ImportError:  # not on Windows
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
