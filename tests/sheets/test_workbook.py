"""The workbook read back with openpyxl: headers with units, frozen heads, numbers as given, the same bytes twice."""

import io
import math
import re
import zipfile
from pathlib import Path

import openpyxl

from bellywork.board import Board, Climate
from bellywork.files.write import is_ours
from bellywork.sheets.frame import Stamp, stamp_of
from bellywork.sheets.workbook import workbook_bytes

ROWS = [
    {
        "note": 1,
        "name": "A0",
        "measured": True,
        "net_deg": 1.25,
        "block_mm": 2.5,
        "kerf_at": 0.5,
        "pull_N": math.nan,
    },
    {
        "note": 2,
        "name": "=1+1",
        "measured": False,
        "net_deg": -0.125,
        "block_mm": 3.0,
        "kerf_at": 0.4,
        "pull_N": 9.0,
    },
]


def stamp(date: str = "2026-05-04") -> Stamp:
    return stamp_of(Board(name="Invented", climate=Climate(date=date)), "0123456789abcdef", "0.1.0")


def test_a_table_reads_back_with_units_in_its_frozen_header() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes({"plane": ROWS, "empty": []}, stamp(), ["Assumed."])))
    assert book.sheetnames == ["about", "plane", "empty"]
    sheet = book["plane"]
    head, first, second = sheet.iter_rows(values_only=True)
    assert head == ("note", "name", "measured", "net (°)", "block (mm)", "kerf at", "pull (N)")
    assert first == (1, "A0", True, 1.25, 2.5, 0.5, None)
    assert second == (2, "=1+1", False, -0.125, 3.0, 0.4, 9.0)
    assert sheet["B3"].data_type == "s"  # not a formula
    assert sheet.freeze_panes == "A2"
    assert sheet["E2"].number_format == "0.00"
    words = [row[0] for row in book["about"].iter_rows(values_only=True)]
    assert words[:4] == list(stamp().lines)
    assert words[-1] == "Assumed."


def test_the_same_tables_give_the_same_bytes_with_no_date_but_the_boards(tmp_path: Path) -> None:
    first = workbook_bytes({"plane": ROWS}, stamp())
    assert first == workbook_bytes({"plane": ROWS}, stamp())
    dated = openpyxl.load_workbook(io.BytesIO(first)).properties
    assert (str(dated.created), str(dated.modified), dated.creator) == (
        "2026-05-04 00:00:00",
        "2026-05-04 00:00:00",
        "bellywork",
    )
    undated = workbook_bytes({"plane": ROWS}, stamp(""))
    with zipfile.ZipFile(io.BytesIO(undated)) as archive:
        assert not re.search(rb"\d{4}-\d\d-\d\d", archive.read("docProps/core.xml"))
    (tmp_path / "tables.xlsx").write_bytes(first)
    assert is_ours(tmp_path / "tables.xlsx")
