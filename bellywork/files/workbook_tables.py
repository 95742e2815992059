"""Tables out of an XLSX workbook: values as they were when it was last saved."""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import Any

from bellywork.files.sources import RawTable, Sources
from bellywork.findings import Place, printable

LARGEST_UNPACKED_BYTES = 10_000_000  # a workbook of a full keyboard unpacks to under 1 MB
MOST_COLUMNS, MOST_SHEET_ROWS = 200, 5000


def workbook_sheets(sources: Sources, name: str) -> dict[str, RawTable]:
    """The sheets of a workbook by their names in small letters, in its order; empty, with a finding, where it is none.

    A cell holds what it showed when the workbook was saved; a formula that was saved without its value is a finding.
    """
    data = sources.data(name)
    if data is None:
        return {}
    try:
        unpacked = sum(part.file_size for part in zipfile.ZipFile(io.BytesIO(data)).infolist())
        if unpacked > LARGEST_UNPACKED_BYTES:
            sources.gathered.add(
                "file-too-large",
                Place(file=name),
                f"{unpacked / 1e6:.0f} MB once unpacked",
                f"at most {LARGEST_UNPACKED_BYTES / 1e6:.0f} MB",
                "This is no table of one instrument: check that the right file stands here.",
            )
            return {}
        return _sheets(data, name, sources)
    except Exception as error:  # a damaged workbook raises anything that zip, XML and openpyxl know
        sources.gathered.add(
            "not-a-workbook", Place(file=name), f"a file that is no workbook ({type(error).__name__})",
            "an .xlsx workbook", "Save it again as .xlsx, or each table as CSV.",
        )  # fmt: skip
        return {}


def _sheets(data: bytes, name: str, sources: Sources) -> dict[str, RawTable]:
    from openpyxl import load_workbook

    shown = load_workbook(io.BytesIO(data), data_only=True, read_only=True)
    typed = load_workbook(io.BytesIO(data), data_only=False, read_only=True)
    sheets = {}
    for title in shown.sheetnames:
        place = name if len(shown.sheetnames) == 1 else f"{name} [{title}]"
        for each in (shown[title], typed[title]):
            each.reset_dimensions()  # a sheet may say of itself that it is smaller than it is
        rows = _rows(place, shown[title], typed[title], sources)
        sheets[title.strip().lower()] = RawTable(file=printable(place), rows=tuple(rows), comma_parts=True)
    return sheets


def _rows(place: str, shown: Any, typed: Any, sources: Sources) -> list[tuple[int, tuple[str, ...]]]:
    """The rows of a sheet that hold anything, up to the first beyond all tables, which is said."""
    rows: list[tuple[int, tuple[str, ...]]] = []
    for number, (values, formulas) in enumerate(zip(shown.iter_rows(), typed.iter_rows()), start=1):
        if not values:  # a row that the file leaves out; there may be a million
            continue
        for column, (cell, formula) in enumerate(zip(values, formulas)):
            if cell.value is None and formula.data_type == "f":
                sources.gathered.add(
                    "formula-without-value",
                    Place(file=place, row=number, column=_letter(column)),
                    "a formula that was never worked out",
                    "a number or a word",
                    "Open the workbook in a spreadsheet, save it there, or type the value.",
                )
        cells = tuple("" if cell.value is None else _plain(cell.value) for cell in values)
        wide = max((k for k, cell in enumerate(cells, start=1) if cell), default=0)
        if wide > MOST_COLUMNS or (wide and number > MOST_SHEET_ROWS):
            sources.gathered.add(
                "cell-far-out",
                Place(file=place, row=number, column=_letter(wide - 1)),
                "a cell far from all others",
                f"a table of at most {MOST_COLUMNS} columns and {MOST_SHEET_ROWS} rows",
                "Delete that cell; it is easily filled by a slip.",
            )
            break
        comment = bool(cells) and cells[0].startswith("#") and values[0].data_type != "e"
        if wide and not comment:
            rows.append((number, cells[:wide]))
    return rows


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return str(get_column_letter(column + 1))


def _plain(value: Any) -> str:
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return repr(value) if isinstance(value, float) else printable(str(value)).strip()
