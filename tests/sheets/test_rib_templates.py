"""Full-size templates and cauls of lopsided ribs. Kinds of expected numbers: worked out by hand; closed form."""

import math
from pathlib import Path

import pytest

from bellywork.files.read import read_board
from bellywork.sheets.drawing import Drawing, Line, Text
from bellywork.sheets.rib_sheet import caul_grid, caul_radii, cut_list, rib_drawing

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
RIBS = {rib.name: rib for rib in read_board(LOPSIDED).board.needed_body("test").ribs}


def uprights(drawing: Drawing) -> list[tuple[float, float]]:
    """The upright lines of a drawing: where along the rib, and how long."""
    lines = [item for item in drawing.items if isinstance(item, Line) and item.start[0] == item.end[0]]
    return sorted((line.start[0], line.start[1] - line.end[1]) for line in lines)


def test_the_knees_of_both_feathers_are_drawn_from_their_own_ends() -> None:
    """Rib a, 500 mm: ends 5 and 9 mm high, knees 60 mm from the start and 180 mm from the end, there 18 mm high."""
    expected = [(0.0, 5.0), (60.0, 18.0), (250.0, 18.0), (320.0, 18.0), (500.0, 9.0)]
    for found, wanted in zip(uprights(rib_drawing(RIBS["a"])), expected, strict=True):
        assert found == pytest.approx(wanted, abs=1e-9)


def test_a_rib_without_a_feather_at_one_end_has_its_only_knee_at_the_other() -> None:
    """Rib d, 325 mm, 16 mm high from its start on; the feather of 120 mm at its end begins at 205 mm."""
    places = [at for at, _ in uprights(rib_drawing(RIBS["d"]))]
    assert 205.0 in places
    assert 120.0 not in places


def test_each_dimension_of_a_rib_stands_at_its_place() -> None:
    """Rib a: 60, 250 and 320 mm from its start 18 mm high; 5 mm at its start, 9 mm at its end; it starts at (300, 0)
    in plan. Kind: hand values."""
    texts = [item for item in rib_drawing(RIBS["a"]).items if isinstance(item, Text)]
    at = {text.text: text.at[0] for text in texts}
    assert {words: round(x) for words, x in at.items() if "from start" in words} == {
        "60 mm from start": 61,
        "250 mm from start": 251,
        "320 mm from start": 319,
    }
    assert [text.text for text in texts].count("18.0 mm high") == 3
    assert at["5.0 mm high"] == pytest.approx(1.5)
    assert at["end of rib a, 9.0 mm high"] == pytest.approx(498.5)
    assert "Rib a from the side, glued face up: 500.0 mm × 22.0 mm wide, R 13.00 m. Start at x 300 mm, y 0 mm." in at


def test_the_cut_list_names_each_end() -> None:
    columns = {column.head: column.cells for column in cut_list([RIBS["a"]]).columns}
    assert columns["length"] == ("500.0",)
    assert (columns["start height"], columns["end height"]) == (("5.0",), ("9.0",))
    assert (columns["start feather"], columns["end feather"]) == (("60",), ("180",))
    assert columns["crown radius"] == ("13.00",)
    assert columns["rise"] == ("2.40",)  # 13 000 − √(13 000² − 250²) = 2.404


def test_a_caul_falls_at_its_end_by_what_the_whole_half_length_takes() -> None:
    """Closed form R − √(R² − x²): at the end of rib b's caul (R 15 m, 380 mm from its middle) 4.814 mm, at 300 mm
    3.000; rib a's (13 m, 250 mm) 2.404; rib c's (16 m, 400 mm) 5.001."""
    cauls = caul_radii([RIBS[name] for name in "abc"])
    assert cauls == ((13000.0, 250.0), (15000.0, 380.0), (16000.0, 400.0))
    columns = {column.head: column.cells for column in caul_grid(cauls).columns}
    assert columns["at the end"] == ("2.40", "4.81", "5.00")
    assert columns["at 300 mm"] == ("–", "3.00", f"{16000 - math.sqrt(16000**2 - 300**2):.2f}")
