"""The raw rows of a table: from CSV as any spreadsheet writes it, or from XLSX."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from bellywork.files.gather import Gathered
from bellywork.findings import Level, Place

LARGEST_BYTES = 5_000_000  # a full keyboard with every table is under 100 kB; more than this is some other file


@dataclass(frozen=True, kw_only=True)
class RawTable:
    """Cells as text. `rows` holds (row number as a spreadsheet counts, cells); the first is the header."""

    file: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def bytes_of(path: Path, gathered: Gathered) -> bytes | None:
    """The bytes of a file, or None with a finding where it cannot be read or is too large."""
    place = Place(file=path.name)
    try:
        if path.is_dir():
            gathered.add(
                "not-a-file", place, "a folder", "a file", "Move the folder away and put the table there.",
                level=Level.UNUSABLE,
            )  # fmt: skip
            return None
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            gathered.add(
                "file-too-large", place, f"{size / 1e6:.1f} MB", f"at most {LARGEST_BYTES / 1e6:.0f} MB",
                "This is no table of one instrument: check that the right file stands here.", level=Level.UNUSABLE,
            )  # fmt: skip
            return None
        return path.read_bytes()
    except (OSError, RuntimeError) as error:  # RuntimeError: a loop of symbolic links, in older Pythons
        reason = getattr(error, "strerror", None) or "a loop of links"
        gathered.add(
            "unreadable", place, f"a file that cannot be read ({reason.lower()})", "a readable file",
            "Check the file's permissions, and that no link leads back to itself.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None


def text_of(path: Path, gathered: Gathered) -> str | None:
    """The text of a file: UTF-8, with or without a byte order mark, or else Windows' western code page."""
    data = bytes_of(path, gathered)
    if data is None:
        return None
    if b"\0" in data:
        gathered.add(
            "not-text", Place(file=path.name), "bytes that are no text", "plain text",
            "Save the table as CSV (UTF-8), or as .xlsx under that name.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def csv_rows(path: Path, gathered: Gathered) -> RawTable | None:
    """The rows of a CSV file; the separator (comma, semicolon or tab) is the one that its header holds most of."""
    text = text_of(path, gathered)
    if text is None:
        return None
    header = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    separator = max(",;\t", key=header.count)
    rows = []
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        start = 1
        for cells in reader:
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                rows.append((start, tuple(cell.strip() for cell in cells)))
            start = reader.line_num + 1
    except csv.Error as error:
        gathered.add(
            "not-a-table", Place(file=path.name, row=reader.line_num), f"text that is no CSV ({error})",
            "rows of cells", "Save the table again as CSV.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None
    return RawTable(file=path.name, rows=tuple(rows))


def xlsx_rows(path: Path, sheet: str | None, gathered: Gathered) -> RawTable | None:
    """The rows of a sheet (by name, or the first) of an XLSX workbook; None where the workbook has no such sheet."""
    data = bytes_of(path, gathered)
    if data is None:
        return None
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), data_only=True, read_only=True)
        names = {name.strip().lower(): name for name in book.sheetnames}
        if sheet is not None and sheet not in names:
            return None
        page = book[names[sheet]] if sheet is not None else book[book.sheetnames[0]]
        rows = []
        for number, cells in enumerate(page.iter_rows(values_only=True), start=1):
            texts = tuple("" if cell is None else _plain(cell) for cell in cells)
            if any(texts) and not texts[0].startswith("#"):
                rows.append((number, texts))
    except Exception as error:  # whatever a damaged workbook raises out of zip, XML or openpyxl
        gathered.add(
            "not-a-workbook", Place(file=path.name), f"a file that is no workbook ({type(error).__name__})",
            "an .xlsx workbook", "Save it again as .xlsx, or each table as CSV.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None
    return RawTable(file=path.name if sheet is None else f"{path.name} [{sheet}]", rows=tuple(rows))


def _plain(cell: object) -> str:
    if isinstance(cell, float):
        return repr(cell)
    return str(cell).strip()
