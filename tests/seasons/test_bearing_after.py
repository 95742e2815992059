"""The bearing on a later day: told from the followed board, with the signs and bands that it had there."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.board import State
from bellywork.files.read import read_board
from bellywork.geometry.string_line import bearing as turned
from bellywork.instrument import Instrument, prepared
from bellywork.seasons import outlook as outlooks
from bellywork.seasons.bearing_after import BearingAfter, bearing_after
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import Outlook, outlook

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
DAY = 40.0


@pytest.fixture(scope="module")
def ready() -> Instrument:
    return prepared(read_board(SAMPLES / "lopsided_board").board)


@pytest.fixture(scope="module", autouse=True)
def one_thing_not_known() -> object:
    """The middle, and wood that swells more, so that the band is lopsided and quick to find."""
    usual, *varied = outlooks.cases(life_of(read_board(SAMPLES / "lopsided_board").board))
    few = [usual, next(case for case in varied if case.growth_share == 1.2)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlooks, "cases", lambda _: few)
        yield


@pytest.fixture(scope="module")
def seen(ready: Instrument) -> Outlook:
    return outlook(ready, life=life_of(ready.board), days=(0.0, DAY))


@pytest.fixture(scope="module")
def told(ready: Instrument) -> BearingAfter:
    return bearing_after(ready, life=life_of(ready.board), day=DAY)


def test_both_tables_are_the_followed_board(ready: Instrument, told: BearingAfter, seen: Outlook) -> None:
    """Invariant: every column is that of the board's own line on that day."""
    bare = ready.board.needed_strings("a test")
    for table, day in ((told.now, 0.0), (told.then, DAY)):
        line = seen.service.line[seen.service.at(seen.life.before_days + day)]
        assert table.state is State.STRUNG
        assert table.net_deg == pytest.approx(turned(line).net_deg, abs=1e-9)
        assert table.sink_mm == pytest.approx(bare.top_mm - line.top_mm, abs=1e-9)
        assert table.height_strung_mm == pytest.approx(line.top_mm, abs=1e-9)
        assert table.height_bare_mm == pytest.approx(bare.top_mm, abs=1e-9)
        assert table.total_downforce_N == pytest.approx(seen.middle["downforce_N"][seen.place(day)], rel=1e-9)
        assert table.deviation_deg == pytest.approx(table.net_deg - table.target_net_deg)
    assert np.abs(told.then.net_deg - told.now.net_deg).max() > 0.05


def test_bands_stand_about_their_values_the_right_way_round(told: BearingAfter, seen: Outlook) -> None:
    for name, value in (("net_deg", told.then.net_deg), ("sink_mm", told.then.sink_mm)):
        low, high = told.bands[name]
        assert np.all((low <= value + 1e-9) & (value <= high + 1e-9))
        assert (high - low).max() > 0.01
    assert told.bands["net_deg"] == (pytest.approx(seen.low["net_deg"][1]), pytest.approx(seen.high["net_deg"][1]))
    assert told.bands["sink_mm"][1] == pytest.approx(-seen.low["height_mm"][1])
    assert told.total_N[0] - 1e-9 <= told.then.total_downforce_N <= told.total_N[1] + 1e-9
    assert told.total_N == pytest.approx((seen.low["downforce_N"][1], seen.high["downforce_N"][1]))


def test_just_strung_it_has_what_bearing_says_but_for_its_weeks_in_the_shop(
    ready: Instrument, told: BearingAfter
) -> None:
    """One question, one answer: what is left between the two is said, in degrees."""
    off = np.abs(told.now.net_deg - bearing(ready, state=State.STRUNG).net_deg)
    assert off.max() < 0.04
    assert f"by up to {off.max():.2f}°, at {told.now.name[int(np.argmax(off))]}." in told.then.assumptions[-2]


def test_elastic_wood_just_strung_has_what_bearing_says(ready: Instrument, monkeypatch: pytest.MonkeyPatch) -> None:
    """Invariant: without creep, at the moisture of the measurement, the two roads lead to one board: 0.01° and 0.01 mm
    is what the basis of the one and the anchor of the other leave.
    """
    life = life_of(ready.board)
    usual = outlooks.cases(life)[0]
    still = usual.laws.varied(creep=1e-9, swing_across=1e-9, swing_along=1e-9)
    elastic = replace(usual, laws=still, single=1.0, lag_days=0.01)
    monkeypatch.setattr(outlooks, "cases", lambda _: [elastic])
    line = outlook(ready, life=life, days=(0.0,)).service.line[-1]
    now = bearing(ready, state=State.STRUNG)
    assert turned(line).net_deg == pytest.approx(now.net_deg, abs=0.01)
    assert line.top_mm == pytest.approx(now.line.top_mm, abs=0.01)


def test_heights_read_on_the_strung_board_lead_to_the_same_year(ready: Instrument, told: BearingAfter) -> None:
    """Invariant: the same instrument, read bare or read strung on the day of stringing."""
    strung = bearing(ready, state=State.STRUNG)
    read = prepared(replace(ready.board, strings=strung.line, measured_in=State.STRUNG))
    other = bearing_after(read, life=life_of(read.board), day=DAY)
    assert other.then.net_deg == pytest.approx(told.then.net_deg, abs=0.01)
