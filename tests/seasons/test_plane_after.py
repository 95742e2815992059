"""Planing for a later day: followed through time, the planed board meets its targets on that day."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.planing import plane
from bellywork.balance.wanted import wanted
from bellywork.files.read import read_board
from bellywork.geometry.string_line import bearing, sunk
from bellywork.instrument import Instrument, prepared
from bellywork.seasons.history import sine_air
from bellywork.seasons.life import Life
from bellywork.seasons.plane_after import PlanedAfter, plane_after

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
LIFE = Life(air=sine_air(low_percent=35.0, high_percent=60.0), start_day=121.0, before_days=10.0)


@pytest.fixture(scope="module")
def grand() -> Instrument:
    """The sample before its bridge was planed: 6 mm of wood more, so that no depth is short."""
    board = read_board(SAMPLES / "lopsided_board").board
    return prepared(replace(board, strings=sunk(board.needed_strings("a test"), np.full(7, -6.0), np.full(7, -6.0))))


@pytest.fixture(scope="module")
def after(grand: Instrument) -> PlanedAfter:
    return plane_after(grand, life=LIFE, day=365.25)


def test_the_schedule_tells_what_the_followed_board_has_on_that_day(grand: Instrument, after: PlanedAfter) -> None:
    """Invariant: the planed board, followed through its year, has then what the schedule says at every note; 0.03° is
    the half hundredth of a mm to which the depths settle, at the shortest back lengths.
    """
    line = after.service.line[after.service.at(LIFE.before_days + 365.25)]
    assert bearing(line).net_deg == pytest.approx(after.table.planed.net_deg, abs=0.03)
    want = wanted(line, grand.board.targets, grand.pull_N)
    assert bearing(line).net_deg == pytest.approx(want.net_deg, abs=0.05)


def test_more_wood_is_left_for_later(grand: Instrument, after: PlanedAfter) -> None:
    """Common practice, no source: a board that settles is planed less today, and has more than its target on the day of
    stringing. Less by more than the bridge will come down: what stands higher is pressed down more.
    """
    today = plane(grand)
    less = today.plane_front_mm - after.table.plane_front_mm
    begun = after.service.line[after.service.at(LIFE.before_days)]
    then = after.service.line[after.service.at(LIFE.before_days + 365.25)]
    assert np.all(less > begun.bridge_front_mm - then.bridge_front_mm)
    assert np.median(bearing(begun).net_deg - bearing(then).net_deg) > 0.1
