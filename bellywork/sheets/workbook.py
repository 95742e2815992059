"""Tables as an XLSX workbook: units in the headers, header rows frozen, the same bytes from the same tables."""

from __future__ import annotations

import io
import math
import re
import zipfile
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

from bellywork.conventions import UNITS
from bellywork.files.write import ARCHIVE_MARK
from bellywork.sheets.frame import GENERAL_CAUTION, Stamp

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

Rows: TypeAlias = Sequence[Mapping[str, Any]]
SIGNS = {"deg": "°", "C": "°C", "percent": "%", "kg_m3": "kg/m³", "N_mm2": "N/mm²"}
FORMATS = {"mm": "0.00", "m": "0.00", "deg": "0.00", "N": "0.0", "MPa": "0.0", "percent": "0.0", "Hz": "0.0"}
WIDEST, NARROWEST = 40, 8  # of a column, in characters
FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # that an archive knows


def header(key: str) -> str:
    """A key of a JSON answer as a column's header, its unit in brackets.

    >>> header("plane_front_mm"), header("net_deg"), header("section"), header("degrees_per_mm")
    ('plane front (mm)', 'net (°)', 'section', 'degrees per mm')
    """
    stem, unit = _parted(key)
    return stem.replace("_", " ") + (f" ({SIGNS.get(unit, unit)})" if unit else "")


def _parted(key: str) -> tuple[str, str]:
    """Name and unit of a key; the unit is empty where it has none, or where it is part of a rate."""
    for unit in sorted(UNITS, key=len, reverse=True):
        if unit and key.endswith(f"_{unit}") and "_per_" not in key:
            return key[: -len(unit) - 1], unit
    return key, ""


def workbook_bytes(tables: Mapping[str, Rows], stamp: Stamp, sentences: Sequence[str] = ()) -> bytes:
    """The tables, each on a sheet of its own name, after a first sheet that says where they come from.

    tables      rows by name; all rows of one table have the keys of its first, with the unit at their end
    sentences   what was assumed, and other words for the first sheet

    Numbers that are not known are left empty. An empty table gives a sheet with no rows.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    about = book.active
    about.title = "about"
    for line in (*stamp.lines, GENERAL_CAUTION, *sentences):
        about.append([line])
    _no_formulas(about)
    about["A1"].font = Font(bold=True)
    about.column_dimensions["A"].width = 100
    for row in about.iter_rows():
        row[0].alignment = Alignment(wrap_text=True, vertical="top")
    for name, rows in tables.items():
        _fill(book.create_sheet(name), rows)
    out = io.BytesIO()
    book.save(out)
    return _stable(out.getvalue(), stamp.date)


def _fill(sheet: Worksheet, rows: Rows) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    keys = list(rows[0]) if rows else []
    sheet.append([header(key) for key in keys])
    for row in rows:
        sheet.append([_cell(row[key]) for key in keys])
    _no_formulas(sheet)
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E6E6E6")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "A2"
    for number, key in enumerate(keys, start=1):
        letter = get_column_letter(number)
        longest = (
            max(len(str(row[key])) for row in rows if not isinstance(row[key], float)) if _worded(rows, key) else 0
        )
        sheet.column_dimensions[letter].width = min(max(longest + 2, NARROWEST + 3), WIDEST)
        shown = FORMATS.get(_parted(key)[1], "0.000")
        for cell in sheet[letter][1:]:
            if isinstance(cell.value, float):
                cell.number_format = shown


def _no_formulas(sheet: Worksheet) -> None:
    """Let a name that begins with = be a name."""
    for line in sheet.iter_rows():
        for cell in line:
            if cell.data_type == "f":
                cell.data_type = "s"


def _worded(rows: Rows, key: str) -> bool:
    return any(not isinstance(row[key], float) for row in rows)


def _cell(value: Any) -> Any:
    """A value as a cell holds it: unknown numbers empty, lists in words."""
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, (list, tuple)):
        return ", ".join(map(str, value))
    return value


def _stable(archive: bytes, date: str) -> bytes:
    """The archive without the clock's times, marked as ours by its comment."""
    said = f"{date}T00:00:00Z".encode()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(archive)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for item in old.infolist():
            content = old.read(item)
            if item.filename == "docProps/core.xml":
                content = (
                    re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", said, content)
                    if date
                    else re.sub(rb"<dcterms:(created|modified).*?</dcterms:\1>", b"", content)
                )
                content = content.replace(b"<dc:creator>openpyxl<", b"<dc:creator>bellywork<")
            clean = zipfile.ZipInfo(item.filename, FIRST_DAY)
            clean.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(clean, content)
        new.comment = ARCHIVE_MARK
    return out.getvalue()
