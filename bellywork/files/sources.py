"""The files of a board folder, each read once, and the raw rows of the tables in them."""

from __future__ import annotations

import codecs
import csv
import hashlib
import io
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from bellywork.files.gather import Gathered
from bellywork.findings import Level, Place, printable

LARGEST_BYTES = 5_000_000  # a full keyboard with every table is under 100 kB; more than this is some other file


@dataclass(frozen=True, kw_only=True)
class RawTable:
    """Cells as text. `rows` holds (row number as a spreadsheet counts, cells); the first is the header.

    comma_parts   True where commas part the cells, so that a comma inside a cell need not be a decimal comma
    """

    file: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    comma_parts: bool = False


class Sources:
    """The files of one folder by name; what cannot be read is found once and then missing.

    given   bytes that take the place of files
    """

    def __init__(self, folder: Path, gathered: Gathered, given: Mapping[str, bytes] | None = None) -> None:
        self.folder, self.gathered = folder, gathered
        self._read: dict[str, bytes | None] = dict(given or {})

    def data(self, name: str, level: Level = Level.WRONG) -> bytes | None:
        """The bytes of a file, or None with a finding where it is no file, too large or cannot be read."""
        if name not in self._read:
            self._read[name] = self._bytes(name, level)
        return self._read[name]

    def text(self, name: str, level: Level = Level.WRONG) -> str | None:
        """The text of a file: UTF-8, with or without a byte order mark, or else Windows' western code page."""
        data = self.data(name, level)
        if data is None:
            return None
        if b"\0" in data:
            self.gathered.add(
                "not-text", Place(file=name), "bytes that are no text", "plain text",
                "Save it as CSV or text in UTF-8; a workbook's name ends in .xlsx.", level=level,
            )  # fmt: skip
            return None
        return data.decode(encoding_of(data), errors="replace")

    def fingerprint(self, *others: Sources) -> str:
        """SHA-256 over the names and bytes of all files read, in the order of their names, and then of the others'."""
        digest = hashlib.sha256()
        for name, data in (item for each in (self, *others) for item in sorted(each._read.items())):
            if data is not None:
                digest.update(f"{name}\0{len(data)}\0".encode())
                digest.update(data)
        return digest.hexdigest()

    def _bytes(self, name: str, level: Level) -> bytes | None:
        place = Place(file=name)
        try:
            about = (self.folder / name).stat()
            if not stat.S_ISREG(about.st_mode):
                self.gathered.add(
                    "not-a-file", place, "a folder" if stat.S_ISDIR(about.st_mode) else "no plain file", "a file",
                    "Move it away and put the file there.", level=level,
                )  # fmt: skip
                return None
            if about.st_size > LARGEST_BYTES:
                self.gathered.add(
                    "file-too-large", place, f"{about.st_size / 1e6:.1f} MB", f"at most {LARGEST_BYTES / 1e6:.0f} MB",
                    "This is no table of one instrument: check that the right file stands here.", level=level,
                )  # fmt: skip
                return None
            return (self.folder / name).read_bytes()
        except OSError as error:
            self.gathered.add(
                "unreadable", place, f"a file that cannot be read ({(error.strerror or 'no reason').lower()})",
                "a readable file", "Check its permissions, and that no link leads nowhere or back to itself.",
                level=level,
            )  # fmt: skip
            return None


def is_comment(line: str) -> bool:
    """Whether a line of a table is a remark, and no row."""
    return line.lstrip().startswith("#")


def separator_of(lines: Iterable[str]) -> str:
    """What parts the cells of a CSV: comma, semicolon or tab, the one that its first row holds most of."""
    first = next((line for line in lines if line.strip() and not is_comment(line)), "")
    return max(",;\t", key=first.count)


def encoding_of(data: bytes) -> str:
    """How a file's letters are written: UTF-8, with or without a byte order mark, or Windows' western code page."""
    if data.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def csv_rows(sources: Sources, name: str) -> RawTable | None:
    """The rows of a CSV file; what parts its cells is told by its first row."""
    text = sources.text(name)
    if text is None:
        return None
    lines = io.StringIO(text, newline="")
    separator = separator_of(lines)
    rows = []
    lines.seek(0)
    reader = csv.reader(_without_comments(lines), delimiter=separator)
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((start, tuple(printable(cell).strip() for cell in cells)))
            start = reader.line_num + 1
    except csv.Error as error:
        sources.gathered.add(
            "not-a-table", Place(file=name, row=reader.line_num), f"text that is no CSV ({error})",
            "rows of cells", "Save the table again as CSV.",
        )  # fmt: skip
        return None
    return RawTable(file=name, rows=tuple(rows), comma_parts=separator == ",")


def _without_comments(lines: Iterator[str]) -> Iterator[str]:
    """The lines, comments emptied so that rows keep their numbers and quotes in comments mean nothing."""
    for line in lines:
        yield "\n" if is_comment(line) else line
