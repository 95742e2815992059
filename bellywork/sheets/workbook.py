"""Tables as an XLSX workbook: units in the headers, header rows frozen, the same bytes from the same tables."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bellywork.answers.answer import CAUTION
from bellywork.answers.answer_table import AnswerColumn, AnswerTable, plain
from bellywork.files.write import ARCHIVE_MARK
from bellywork.measures import METRIC, Units
from bellywork.quantities import QuantityKind
from bellywork.sheets.frame import Stamp

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

WIDEST, NARROWEST = 40, 8  # of a column, in characters
FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # that an archive knows


def header(column: AnswerColumn, units: Units) -> str:
    """What stands over a column: its label, and its unit in brackets.

    >>> header(AnswerColumn(quantity="plane_front_mm"), METRIC), header(AnswerColumn(quantity="section"), METRIC)
    ('exact front (mm)', 'section')
    """
    unit, label = column.registered.unit(units), column.label or column.registered.key
    return f"{label} ({unit})" if unit else label


def workbook_bytes(
    tables: Mapping[str, AnswerTable], stamp: Stamp, sentences: Sequence[str] = (), units: Units = METRIC
) -> bytes:
    """The tables, each on a sheet of its own name, after a first sheet that says where they come from.

    tables      by the names of their sheets; what each column means is a comment on its header
    sentences   what was assumed, and other words for the first sheet

    Numbers that are not known are left empty. An empty table gives a sheet with no rows.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    about = book.active
    about.title = "about"
    for line in (*stamp.lines, CAUTION, *sentences):
        about.append([line])
    about["A1"].font = Font(bold=True)
    about.column_dimensions["A"].width = 100
    _no_formulas(about)
    for row in about.iter_rows():
        row[0].alignment = Alignment(wrap_text=True, vertical="top")
    for name, table in tables.items():
        _fill(book.create_sheet(name), table, units)
    out = io.BytesIO()
    book.save(out)
    return _stable(out.getvalue(), stamp.date)


def _fill(sheet: Worksheet, table: AnswerTable, units: Units) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    columns = _with_bands(table)
    sheet.append([header(column, units) for column in columns])
    for row in range(len(table)):
        sheet.append([_cell(column, column.values[row], units) for column in columns])
    _no_formulas(sheet)
    for cell, column in zip(sheet[1], columns):
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E6E6E6")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.comment = Comment(column.registered.meaning, "bellywork")
    sheet.freeze_panes = "A2"
    for number, column in enumerate(columns, start=1):
        letter, measured = get_column_letter(number), column.registered.kind is QuantityKind.NUMBER
        longest = max((len(str(value)) for value in column.values), default=0)
        sheet.column_dimensions[letter].width = (
            NARROWEST + 3 if measured else min(max(longest + 2, NARROWEST + 3), WIDEST)
        )
        digits = units.of(column.registered.measure)[1]
        for cell in sheet[letter][1:] if measured else ():
            cell.number_format = f"0.{'0' * digits}" if digits else "0"


def _no_formulas(sheet: Worksheet) -> None:
    """Let a name that begins with = be a name."""
    for line in sheet.iter_rows():
        for cell in line:
            if cell.data_type == "f":
                cell.data_type = "s"


def _with_bands(table: AnswerTable) -> list[AnswerColumn]:
    """The columns, each band's ends as columns behind it."""
    columns = []
    for column in table.columns:
        columns.append(column)
        for end, word in zip(column.band or (), ("low", "high")):
            columns.append(replace(column, values=end, band=None, head=f"{column.label} {word}"))
    return columns


def _cell(column: AnswerColumn, value: Any, units: Units) -> Any:
    """A value as a cell holds it, in the user's unit: unknown numbers empty, lists in words."""
    value = plain(value)
    quantity = column.registered
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if quantity.kind is QuantityKind.NUMBER and value is not None:
        return quantity.measure.outside(float(value), units)
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
