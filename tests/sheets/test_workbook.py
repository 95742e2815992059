"""The workbook read back with openpyxl: headers with units, frozen heads, numbers as given, the same bytes twice."""

import io
import math
import re
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from bellywork.answers.answer_table import AnswerColumn, AnswerTable
from bellywork.board import Board, Climate
from bellywork.files.write import is_ours
from bellywork.measures import Units
from bellywork.sheets.frame import Stamp, stamp_of
from bellywork.sheets.workbook import workbook_bytes

TABLE = AnswerTable(
    key="plane",
    columns=(
        AnswerColumn(quantity="note", values=[1, 2]),
        AnswerColumn(quantity="name", values=["A0", "=1+1"]),
        AnswerColumn(quantity="measured", values=[True, False]),
        AnswerColumn(quantity="net_deg", values=[1.25, -0.125], band=(np.array([1.0, -0.5]), np.array([1.5, 0.25]))),
        AnswerColumn(quantity="block_mm", values=[2.54, 3.0]),
        AnswerColumn(quantity="kerf_at", values=[0.5, 0.4]),
        AnswerColumn(quantity="tension_N", values=[math.nan, 9.0]),
        AnswerColumn(quantity="rib.notes", values=[(1, 2), ()]),
    ),
)
EMPTY = AnswerTable(key="empty", columns=(AnswerColumn(quantity="note"), AnswerColumn(quantity="net_deg")))
INCH = Units(length="in", force="lb")


def stamp(date: str = "2026-05-04") -> Stamp:
    return stamp_of(Board(name="Invented", climate=Climate(date=date)), "0123456789abcdef", "0.1.0")


def test_a_table_reads_back_with_units_in_its_frozen_header() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes({"plane": TABLE, "empty": EMPTY}, stamp(), ["Assumed."])))
    assert book.sheetnames == ["about", "plane", "empty"]
    sheet = book["plane"]
    head, first, second = sheet.iter_rows(values_only=True)
    assert head == ("note", "name", "measured", "net (°)", "net low (°)", "net high (°)", "block (mm)", "kerf at",
                    "tension (N)", "notes")  # fmt: skip
    assert first == (1, "A0", True, 1.25, 1.0, 1.5, 2.54, 0.5, None, "1, 2")
    assert second == (2, "=1+1", False, -0.125, -0.5, 0.25, 3.0, 0.4, 9.0, None)
    assert sheet["D1"].comment.text == "front and rear bearing together"
    assert sheet["B3"].data_type == "s"  # not a formula
    assert sheet.freeze_panes == "A2"
    assert (sheet["D2"].number_format, sheet["H2"].number_format) == ("0.00", "0.000")
    words = [row[0] for row in book["about"].iter_rows(values_only=True)]
    assert words[:4] == list(stamp().lines)
    assert words[-1] == "Assumed."


def test_the_same_tables_give_the_same_bytes_with_no_date_but_the_boards(tmp_path: Path) -> None:
    first = workbook_bytes({"plane": TABLE}, stamp())
    assert first == workbook_bytes({"plane": TABLE}, stamp())
    dated = openpyxl.load_workbook(io.BytesIO(first)).properties
    assert (str(dated.created), str(dated.modified), dated.creator) == (
        "2026-05-04 00:00:00",
        "2026-05-04 00:00:00",
        "bellywork",
    )
    undated = workbook_bytes({"plane": TABLE}, stamp(""))
    with zipfile.ZipFile(io.BytesIO(undated)) as archive:
        assert not re.search(rb"\d{4}-\d\d-\d\d", archive.read("docProps/core.xml"))
    (tmp_path / "tables.xlsx").write_bytes(first)
    assert is_ours(tmp_path / "tables.xlsx")


def test_numbers_stand_in_the_users_units() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes({"plane": TABLE}, stamp(), units=INCH)))
    head, first, second = book["plane"].iter_rows(values_only=True)
    assert (head[6], head[8]) == ("block (in)", "tension (lb)")
    assert first[6] == pytest.approx(0.1)
    assert second[8] == pytest.approx(9.0 / (0.45359237 * 9.80665))
    assert book["plane"]["G2"].number_format == "0.000"
