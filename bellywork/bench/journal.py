"""Every reading on the disk before it is acknowledged: one line of JSON each, never changed afterwards."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

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
    """

    key: str
    table: str
    note: int
    column: str
    text: str
    before: str
    at: str
    remark: str = ""


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
        self.readings, self._taken = _read(self.path)
        self._keys = {each.key for each in self.readings}
        if self._file.tell() and not _ends_a_line(self.path):
            self._append(b"\n")  # what a power cut left of a line stays, and counts for nothing

    def __contains__(self, key: str) -> bool:
        return key in self._keys

    @property
    def left(self) -> tuple[Reading, ...]:
        """Readings that were acknowledged and had not reached their table when the last bench ended."""
        return tuple(each for each in self.readings if each.key not in self._taken)

    def add(self, reading: Reading) -> None:
        """Write a reading; it is on the disk when this returns. Raises OutputError where it is not."""
        self._append(json.dumps(asdict(reading), ensure_ascii=False).encode() + b"\n")
        self.readings.append(reading)
        self._keys.add(reading.key)

    def taken(self, key: str) -> None:
        """Say that a reading stands in its table."""
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


def _read(path: Path) -> tuple[list[Reading], set[str]]:
    """Readings and the keys of those taken; a line that was cut off is passed over."""
    readings, taken = [], set()
    for entry in _entries(path):
        if "taken" in entry:
            taken.add(str(entry["taken"]))
        else:
            with contextlib.suppress(TypeError):  # a line of another kind
                readings.append(Reading(**entry))
    return readings, taken


def _entries(path: Path) -> Iterator[dict[str, Any]]:
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
