"""The six-foot grand of twelve notes, typed the short way. Kind of every expected number: hand calculation, and the
same instrument typed out in full, corner by corner, as it was invented.
"""

import csv
import tomllib
from pathlib import Path

import numpy as np
import pytest
from small import TEXTS, write_small

from bellywork.files.derived import edge_to_edge
from bellywork.files.read import read_board

FOLDER = Path(__file__).resolve().parents[2] / "sample_boards" / "six_foot_grand"
FILES = ("board.toml", "notes.csv", "string_plan.csv", "outline.csv", "ribs.csv", "bridges.csv")


def test_a_predicted_sink_takes_at_most_300_cells() -> None:
    texts = [path.read_text(encoding="utf-8") for path in FOLDER.glob("*.csv")]
    tables = [list(csv.reader(text.splitlines()))[1:] for text in texts]
    cells = sum(bool(cell) for rows in tables for row in rows for cell in row)
    keys = tomllib.loads((FOLDER / "board.toml").read_text(encoding="utf-8"))["ribs"]
    assert cells + len(keys) == 300


def test_it_is_the_instrument_that_was_typed_out_in_full() -> None:
    """A few corners, pins and sizes as they were invented: places good to 0.1 mm, as they were written down."""
    board = read_board(FOLDER).board
    plan = {note: k for k, note in enumerate(board.plan.note.tolist())}
    for note, front, pin, rear in (
        (14, (252.7, -59.1), (541.9, 1077.2), (565.2, 1169.0)),
        (40, (630.1, -47.7), (564.0, 663.4), (554.8, 762.6)),
        (88, (1329.3, -13.0), (1330.4, 48.0), (1331.4, 106.0)),
    ):
        assert board.plan.front_mm[plan[note]] == pytest.approx(front, abs=0.1)
        assert board.plan.rear_pin_mm[plan[note]] == pytest.approx(pin, abs=0.1)
        assert board.plan.rear_mm[plan[note]] == pytest.approx(rear, abs=0.1)
    assert board.strings.rows_mm.tolist() == pytest.approx(
        [19.5, 18.5, 17.5, 17.5, 16.2, 15.0, 15.0, 13.7, 12.5, 12.5, 10.9, 9.5], abs=0.05
    )
    assert board.strings.cap_mm.tolist() == [12.0] * 12
    ribs = {rib.name: rib for rib in board.body.ribs}
    assert len(ribs) == 13
    for name, end, height, radius, feather in (
        ("2", (1395.8, 288.6), 23.20, 13850, 95.9),
        ("7", (1058.6, 879.1), 24.95, 15600, 180.0),
        ("13", (381.5, 1382.4), 27.05, 17700, 95.5),
    ):
        rib = ribs[name]
        assert rib.end_mm == pytest.approx(end, abs=0.1)
        assert rib.height_mm == pytest.approx(height)
        assert rib.crown_radius_mm == pytest.approx(radius)
        assert rib.feather_mm == pytest.approx((feather, feather))
        assert (rib.width_mm, rib.end_height_mm, rib.wood.name) == (24.0, (6.0, 6.0), "sitka_spruce")
    long = next(bridge for bridge in board.body.bridges if bridge.name == "long")
    # 25 mm beyond the pins of notes 29 and 88, whose middles are (297.0, 1022.8) and (1330.3, 43.2)
    assert np.hypot(*(long.line_mm[0] - (297.0, 1022.8))) == pytest.approx(25.0, abs=0.1)
    assert np.hypot(*(long.line_mm[-1] - (1330.3, 43.2))) == pytest.approx(25.0, abs=0.1)
    assert (long.root_mm[0], long.root_mm[-1]) == (23.0, 19.5)
    assert np.all(np.diff(long.root_mm) <= 0.0)


def test_a_rib_runs_from_edge_to_edge() -> None:
    """By hand: through (100, 0) at 45°, a board of 300 by 200 is left at (300, 200); through (250, 0) at (300, 50)."""
    board = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [0.0, 200.0]])
    for x, end in ((100.0, (300.0, 200.0)), (250.0, (300.0, 50.0))):
        start, last = edge_to_edge(np.array([x, 0.0]), 45.0, board)
        assert start == pytest.approx((x, 0.0), abs=1e-9)
        assert last == pytest.approx(end)
    back, _ = edge_to_edge(np.array([100.0, 0.0]), 225.0, board)
    assert back == pytest.approx((300.0, 200.0))
    # a bay: the stretch on which the point lies
    bay = np.array([[0, 0], [400, 0], [400, 100], [250, 100], [250, 50], [150, 50], [150, 100], [0, 100]], dtype=float)
    start, last = edge_to_edge(np.array([320.0, 80.0]), 0.0, bay)
    assert (start[0], last[0]) == pytest.approx((250.0, 400.0))
    assert edge_to_edge(np.array([500.0, 500.0]), 0.0, board) is None


def test_a_blank_between_is_straight_over_the_note_and_an_end_must_be_filled(tmp_path: Path) -> None:
    """By hand: rows of 16 at note 40 and 10 at note 60, blank at 49: 16 − 6 · 9/20 = 13.3 mm."""
    notes = TEXTS["notes.csv"].replace("390.0,16.0", "390.0,").replace("225.0,16.0", "225.0,10.0")
    found = read_board(write_small(tmp_path / "a", ("board.toml",), {"notes.csv": notes}))
    assert found.findings == ()
    assert found.board.strings.rows_mm == pytest.approx([16.0, 13.3, 10.0])
    open_end = TEXTS["notes.csv"].replace("225.0,16.0", "225.0,")
    found = read_board(write_small(tmp_path / "b", ("board.toml", "outline.csv"), {"notes.csv": open_end}))
    assert [(each.code, each.place.row) for each in found.findings if each.place.file == "notes.csv"] == [
        ("cell-empty", 4)
    ]


def test_a_blank_word_says_what_the_row_above_says(tmp_path: Path) -> None:
    notes = TEXTS["notes.csv"].replace("49,middle,long", "49,,").replace("60,middle,long", "60,top,")
    line = read_board(write_small(tmp_path / "a", ("board.toml",), {"notes.csv": notes})).board.strings
    assert line.section == ("middle", "middle", "top")
    assert line.bridge == ("long", "long", "long")
