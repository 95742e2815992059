"""The range over the rim: as boards made on each rim have it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.balance.pressing import press
from bellywork.balance.rim_range import rim_range
from bellywork.board import State
from bellywork.errors import BoardError
from bellywork.files.read import read_board
from bellywork.instrument import RIM_RANGE, prepared

OLD = Path(__file__).resolve().parents[2] / "sample_boards" / "old_small_grand"
GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"
LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"


def test_the_range_is_that_of_boards_on_each_rim_to_a_hundredth_of_a_degree() -> None:
    """Independent path: the same bare heights strung on a board made on each rim, large deflection there, all notes."""
    board = read_board(LOPSIDED).board
    ready = prepared(board)
    table = bearing(ready, state=State.STRUNG)
    spread = rim_range(ready, table)
    for rim in RIM_RANGE:
        fine = bearing(prepared(board, rim=rim), state=State.STRUNG).net_deg
        assert spread.net_deg[rim] == pytest.approx(fine, abs=0.01)
        # and the range itself is far wider than that where it matters
    assert np.abs(spread.net_deg["clamped"] - spread.net_deg["hinged"]).max() > 0.2
    assert np.all(spread.net_deg["clamped"] > spread.net_deg["hinged"])


def test_the_range_is_told_of_the_strung_state_only() -> None:
    board = read_board(GRAND).board
    with pytest.raises(BoardError, match=r"^The range over the rim is that of the strung state\.$"):
        rim_range(prepared(board), bearing(board))


def test_the_range_of_a_push_is_that_of_fine_grids() -> None:
    board = replace(read_board(OLD).board, strings=None, scale=None, plan=None)
    spots = {"places_mm": [[700.0, 500.0]], "forces_N": [100.0], "read_mm": [[650.0, 600.0], [300.0, 700.0]]}
    answer = press(board, **spots)
    for rim in RIM_RANGE:
        there = prepared(board, rim=rim).pushed_mm(*(np.array(each) for each in spots.values()))
        assert answer.sink_range_mm[rim] == pytest.approx(there, rel=0.02)
