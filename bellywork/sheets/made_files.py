"""The files of a run of sheets: PDF, DXF, workbook and solids, all made before any is written."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from bellywork.errors import SheetError
from bellywork.sheets.bench import Bench, dxf_of
from bellywork.sheets.frame import Paper, Stamp, numbered
from bellywork.sheets.pdf import pdf_bytes

TABLES = "tables.xlsx"
SOLID_FORMATS = ("stl", "ply", "glb")


@dataclass(frozen=True, kw_only=True)
class Made:
    """A file's name and content, and the pages of a PDF."""

    name: str
    content: bytes
    pages: int | None = None


def made_files(
    bench: Bench, whats: Sequence[str], formats: Collection[str], paper: Paper, stamp: Stamp
) -> tuple[Made, ...]:
    """The files of these sheets in these formats.

    Raises SheetError where nothing can be made in them or the paper is too small, MissingLayer where the board's
    layers do not reach.
    """
    sheets = [bench.sheet(what) for what in whats if what != "solids"]
    made: list[Made] = []
    if "pdf" in formats:
        pages = numbered({sheet.name: sheet.pages(paper, stamp) for sheet in sheets}, stamp.printed)
        for sheet in sheets:
            title, leaves = f"{sheet.title}: {stamp.lines[0]}", pages[sheet.name]
            content = pdf_bytes(leaves, title=title, date=stamp.date)
            made.append(Made(name=f"{sheet.name}.pdf", content=content, pages=len(leaves)))
    if "dxf" in formats:
        drawn = [(sheet.name, dxf_of(sheet, stamp)) for sheet in sheets]
        made += [Made(name=f"{name}.dxf", content=content) for name, content in drawn if content is not None]
    if "xlsx" in formats:
        from bellywork.sheets.sheet_tables import tables_of
        from bellywork.sheets.workbook import workbook_bytes

        tables, assumptions = tables_of(bench, whats)
        made.append(Made(name=TABLES, content=workbook_bytes(tables, stamp, assumptions, bench.units)))
    for kind in SOLID_FORMATS:
        if kind in formats:
            from bellywork.solids.exported import solid_files

            made += [Made(name=name, content=content) for name, content in solid_files(bench.solids, kind).items()]
    if not made:
        raise SheetError(f"Nothing of {', '.join(whats)} is drawn at full size, so there is no DXF: take pdf or xlsx.")
    return tuple(made)
