"""Crown report and owner's page on paper: what is printed is what was surveyed."""

import re
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.answers.crown_answer import crown_headline, look_at
from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import sink_of
from bellywork.balance.what_if import with_plate_moved
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.cli.main import main
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.measures import METRIC, units_named
from bellywork.sheets.crown_sheets import crown_sheet, owner_figure, set_curve
from bellywork.sheets.drawing import Circle, Polyline, Text
from bellywork.sheets.flow import Sentences, SheetGrid
from bellywork.sheets.sheet_pages import Sheet
from bellywork.survey.loss import Survey, surveyed
from bellywork.survey.owner_page import CrownRow, owner_told
from bellywork.survey.recovery import Best, best

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
OLD, LOPSIDED = SAMPLES / "old_small_grand", SAMPLES / "lopsided_board"


def test_both_are_written_and_say_what_was_found(tmp_path):
    assert main(["sheet", str(OLD), "--what", "crown,owner", "--format", "pdf,xlsx", "--to", str(tmp_path)]) == 1
    assert {path.name for path in tmp_path.iterdir()} == {"crown.pdf", "owner.pdf", "tables.xlsx"}
    try:
        words = {
            name: subprocess.run(
                ["pdftotext", "-layout", tmp_path / f"{name}.pdf", "-"], capture_output=True, text=True, check=True
            ).stdout
            for name in ("crown", "owner")
        }
    except FileNotFoundError:
        pytest.skip("no pdftotext here (poppler-utils); the project's own checks install it")
    for said in ("reversed", "read again", "Net bearing, strung", "expected"):
        assert said in words["crown"]
    for said in ("What could be done", "common practice", "without strings", "is lost for good"):
        assert said in " ".join(words["owner"].split())


@cache
def survey() -> Survey:
    return surveyed(read_board(OLD).board)


@cache
def got() -> Best:
    return best(survey())


def written(sheet: Sheet) -> list[str]:
    return [line for block in sheet.blocks if isinstance(block, Sentences) for line in block.lines]


def test_the_report_opens_with_what_the_command_says() -> None:
    headline, told = crown_headline(survey(), got(), METRIC), written(crown_sheet(survey(), got()))
    assert told[: len(headline)] == list(headline)
    assert any("rib 3" in line for line in headline)
    assert len(look_at(survey(), METRIC)) == 4
    assert set(look_at(survey(), METRIC)) <= set(told)
    grids = [block for block in crown_sheet(survey(), got()).blocks if isinstance(block, SheetGrid)]
    back = next(grid for grid in grids if grid.columns[0].head == "what came back")
    assert [float(text.replace("−", "-")) for text in back.columns[1].cells] == pytest.approx(
        survey().softness.measured_mm, abs=0.0051
    )
    moves = next(column for grid in grids for column in grid.columns if column.head == "move")
    assert [float(text.replace("−", "-")) for text in moves.cells] == pytest.approx(got().move_mm, abs=0.0051)


def test_the_setting_that_crown_tells_is_the_one_that_plane_takes_up() -> None:
    """On a board as described whose plate stands 2 mm too high, the strung bearing with the crown's setting is that of
    the what-if with the very words that the crown prints, to their rounding."""
    board = read_board(LOPSIDED).board
    line = board.needed_strings("test")
    high = replace(line, front_height_mm=line.front_height_mm + 2.0, rear_height_mm=line.rear_height_mm + 2.0)
    ready = prepared(replace(board, strings=high))
    told = surveyed(ready, as_described=True)
    found = best(told)
    line = next(line for line in crown_headline(told, found, METRIC) if "--plate-up" in line)
    told = re.search(r"--plate-up=(\S+) --tilt=([^,]+),(\S+)$", line)
    assert told is not None
    up, along, across = map(float, told.groups())
    move = PlateMove(up_mm=up, tilt_x_mm_per_m=along, tilt_y_mm_per_m=across)
    sink = sink_of(ready)
    strung = bearing(with_plate_moved(ready, move, sink), state=State.STRUNG, sink=sink)
    assert strung.net_deg == pytest.approx(found.net_deg, abs=0.02)
    assert plane(ready, plate=move).plate.move_mm == pytest.approx(found.move_mm, abs=0.02)


def test_a_set_within_its_band_is_drawn_as_nothing_found() -> None:
    """Sets of 0.1, 0.5 and −0.4 mm, known to 0.3: the first is broken out of the line, all stand in the band. In
    inches by 1/25.4. Kind: hand values."""
    planted = replace(
        survey(),
        note=np.array([1, 2, 3]),
        set_mm=np.array([0.1, 0.5, -0.4]),
        set_uncertainty_mm=np.array([0.3, 0.3, 0.3]),
    )
    curve = set_curve(planted, units_named("in"))
    assert np.isnan(curve.y).tolist() == [True, False, False]
    assert curve.y[1:] * 25.4 == pytest.approx([0.5, -0.4])
    assert curve.band is not None
    assert curve.band[0] * 25.4 == pytest.approx([-0.2, 0.2, -0.7])
    assert curve.band[1] * 25.4 == pytest.approx([0.4, 0.8, -0.1])


def test_the_owners_picture_stands_where_its_numbers_say() -> None:
    """Two ribs, from −1 to 9 mm over 90 mm of paper: 9 mm of it for each. Kind: hand values."""
    rows = (
        CrownRow(where="A0 to C1", made_mm=9.0, now_mm=6.0, sure_mm=0.5),
        CrownRow(where="D1", made_mm=3.0, now_mm=-0.5, sure_mm=0.5),
    )
    figure = owner_figure(rows)
    rings = [item.centre[0] for item in figure.items if isinstance(item, Circle)]
    assert rings == pytest.approx([140.0, 86.0])
    shapes = [item for item in figure.items if isinstance(item, Polyline) and item.pen is None]
    bars, dots = [each for each in shapes if each.fill], [each for each in shapes if not each.fill]
    ends = [(min(x for x, _ in bar.points), max(x for x, _ in bar.points)) for bar in bars]
    assert ends == [pytest.approx((108.5, 117.5)), pytest.approx((50.0, 59.0))]
    assert [np.mean([x for x, _ in dot.points]) for dot in dots] == pytest.approx([113.0, 54.5])
    texts = [item.text for item in figure.items if isinstance(item, Text)]
    assert "made 9.0, now 6.0 ± 0.5" in texts
    assert "made 3.0, now −0.5 ± 0.5" in texts
    assert texts.index("A0 to C1") < texts.index("made 9.0, now 6.0 ± 0.5") < texts.index("D1")


def test_the_owners_page_says_where_most_is_lost_and_what_is_left() -> None:
    """The old grand's rib under G♯5 to D♯6 was made with 3.6 mm and is pressed into a hollow."""
    first, _ = owner_told(survey(), got()).first
    worst = max(survey().surest.values(), key=lambda rib: rib.set_mm)
    hollow = worst.set_mm - worst.as_made_mm
    assert f"from {worst.as_made_mm:.1f} mm as made to a hollow of {hollow:.1f} mm." in first
    assert "G♯5 to D♯6" in first
