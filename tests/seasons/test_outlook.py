"""What a board will show, with its band."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import State
from bellywork.errors import BoardError, MissingLayer
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared
from bellywork.seasons import outlook as outlooks
from bellywork.seasons.history import sine_air
from bellywork.seasons.known import SIGMAS
from bellywork.seasons.life import Life
from bellywork.seasons.outlook import Outlook, days_in, outlook

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
LIFE = Life(air=sine_air(low_percent=30.0, high_percent=65.0), start_day=121.0, before_days=10.0)


@pytest.fixture(scope="module")
def board() -> Instrument:
    return prepared(read_board(SAMPLES / "lopsided_board").board)


def asked(board: Instrument, **words: object) -> Outlook:
    return outlook(board, **{"life": LIFE, "days": (7.0, 60.0), **words})


@pytest.fixture(scope="module")
def told(board: Instrument) -> Outlook:
    return asked(board)


def test_band_holds_its_middle_and_grows_with_time(told: Outlook) -> None:
    """Invariant, and what a prior of years means: what is told for a week is surer than what is told for a season."""
    for name in outlooks.TOLD:
        assert np.all(told.low[name] <= told.middle[name])
        assert np.all(told.middle[name] <= told.high[name])
    width = told.high["net_deg"] - told.low["net_deg"]
    assert np.all(width[1] > width[0])
    assert 0.02 < width[1].max() < 1.2


def test_band_ends_where_the_one_thing_not_known_ends(board: Instrument, monkeypatch: pytest.MonkeyPatch) -> None:
    """Invariant: with one thing not known the band reaches SIGMAS times as far from the middle as the answer for its
    other end, as far as the basis of each run holds (0.005 mm, which is up to 0.01° and 1 N of 300, twice in 95 %).
    """
    usual, *varied = outlooks.cases(LIFE)
    other = next(case for case in varied if case.growth_share == 1.2)
    told = {}
    for name, cases in (("both", [usual, other]), ("usual", [usual]), ("other", [other])):
        monkeypatch.setattr(outlooks, "cases", lambda _, cases=cases: cases)
        told[name] = asked(board)
    for name, near in (("net_deg", 0.02), ("downforce_N", 2.0)):
        ends = [told[each].middle[name] for each in ("usual", "other")]
        off = SIGMAS * (ends[1] - ends[0])
        assert told["both"].low[name] == pytest.approx(ends[0] + np.minimum(off, 0.0), abs=near)
        assert told["both"].high[name] == pytest.approx(ends[0] + np.maximum(off, 0.0), abs=near)
    assert np.abs(ends[1] - ends[0]).max() > 4.0


def test_longer_steps_hardly_change_the_band(board: Instrument, monkeypatch: pytest.MonkeyPatch) -> None:
    """Convergence: the band's runs in the middle's own steps, told against the middle in them; 5 % of it."""
    usual, *varied = outlooks.cases(LIFE)
    monkeypatch.setattr(outlooks, "cases", lambda _: [usual, varied[1]])
    told = {}
    for longer in (1.0, outlooks.LONGER):
        monkeypatch.setattr(outlooks, "LONGER", longer)
        told[longer] = asked(board, days=(400.0, 600.0))
    own, longer = told.values()
    for name, noise in (("net_deg", 0.004), ("downforce_N", 1.0)):
        width = own.high[name] - own.low[name]
        assert longer.low[name] == pytest.approx(own.low[name], abs=0.05 * width.max() + noise)
        assert longer.high[name] == pytest.approx(own.high[name], abs=0.05 * width.max() + noise)
        assert width.max() > 10.0 * noise
        assert longer.middle[name] == pytest.approx(own.middle[name], abs=1e-9)


def test_everything_not_known_is_varied_both_ways() -> None:
    usual, *varied = outlooks.cases(LIFE)
    assert len(varied) == 12
    assert sorted({case.lag_days for case in varied}) == [4.0, 10.0, 20.0]
    assert sorted({case.growth_share for case in varied}) == [0.8, 1.0, 1.2]
    shares = {float(case.laws.across.swing.share[0] / usual.laws.across.swing.share[0]) for case in varied}
    assert sorted(shares) == pytest.approx([0.5, 1.0, 3.0])
    # creep and swelling are known by their scatter, the others by the least and the most that is held possible
    assert [case.reach for case in varied] == [SIGMAS, SIGMAS, *[1.0] * 8, SIGMAS, SIGMAS]


def test_strung_as_measured_keeps_the_heights_measured(board: Instrument, monkeypatch: pytest.MonkeyPatch) -> None:
    """Invariant: on the day of the measurement the strung heights are those measured; to the ten nanometres that the
    rounds by which the finer grid is added leave.
    """
    usual = outlooks.cases(LIFE)[:1]
    monkeypatch.setattr(outlooks, "cases", lambda _: usual)
    line = board.board.needed_strings("test")
    told = asked(prepared(replace(board.board, measured_in=State.STRUNG)), days=(20.0,))
    assert told.middle["height_mm"][0] == pytest.approx(0.0, abs=1e-5)
    assert told.service.line[-1].bridge_front_mm == pytest.approx(line.bridge_front_mm, abs=1e-5)


def test_times_in_words() -> None:
    assert [days_in(text) for text in ("3d", "1w", "1y", "50y")] == pytest.approx([3.0, 7.0, 365.25, 18262.5])
    for text in ("", "1", "w", "-1w", "0y", "1 year"):
        with pytest.raises(BoardError, match=r"expected a number and d, w, m or y, as 1w, 6m or 10y\.$"):
            days_in(text)
    with pytest.raises(BoardError, match=r"^Found '1000y' as a time; expected 100 years at most\.$"):
        days_in("1000y")


def test_no_time_no_outlook(board: Instrument) -> None:
    for days in ((), (-0.5, 3.0)):
        with pytest.raises(BoardError, match=r"^An outlook needs times after the stringing, 0 or more\.$"):
            asked(board, days=days)


def test_heights_of_a_preloaded_board_are_no_beginning(board: Instrument) -> None:
    preloaded = replace(board.board, measured_in=State.PRELOADED)
    with pytest.raises(MissingLayer, match=r"^An outlook needs heights of the bare or the strung board; "):
        asked(prepared(preloaded))
