"""Strings that nobody tunes, on a board through time: they pull as they are stretched, and are in balance with it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board.wires import steel_E_MPa
from bellywork.errors import BoardError
from bellywork.files.read import read_board
from bellywork.geometry.scale import tension_N
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument, prepared
from bellywork.seasons import outlook as outlooks
from bellywork.seasons.along import top_along
from bellywork.seasons.bearing_after import bearing_after
from bellywork.seasons.history import still_air
from bellywork.seasons.known import Known, cases, lived
from bellywork.seasons.life import UNTUNED, Life, life_of
from bellywork.seasons.outlook import Outlook, fitting, outlook
from bellywork.seasons.pitch import held_along_mm
from bellywork.seasons.service import Service, in_time, served
from bellywork.seasons.year import Year

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
DAYS = (0.0, 60.0)
DAMP = Life(air=still_air(60.0), start_day=0.0, shop_rh_percent=42.0, before_days=10.0, temperature_C=20.0)


@pytest.fixture(scope="module")
def ready() -> Instrument:
    return prepared(read_board(LOPSIDED).board)


@pytest.fixture(scope="module")
def seen(ready: Instrument) -> dict[str, Outlook]:
    return {
        untuned: outlook(ready, life=life_of(ready.board, untuned=untuned), days=DAYS, banded=False)
        for untuned in ("", *UNTUNED)
    }


def runs(service: Service, stop: int) -> np.ndarray:
    """Lengths of the three runs by Pythagoras, (3, notes), mm."""
    line = service.line[stop]
    heights = [line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm]
    plan = [line.speaking_mm, line.rows_mm, line.back_mm]
    return np.array([np.sqrt(plan[k] ** 2 + (heights[k + 1] - heights[k]) ** 2) for k in range(3)])


def stops(told: Outlook) -> list[int]:
    return [told.service.at(told.life.before_days + day) for day in DAYS]


def test_strings_that_slip_pull_as_their_whole_length_stretched(ready: Instrument, seen: dict[str, Outlook]) -> None:
    """Closed form, from the heights told: T = T₀ + E A (L − L₀)/L₀, L from end to end, at every note; and the downforce
    is what that presses. Just strung they are at pitch.
    """
    told, scale = seen["slipping"], ready.board.needed_scale("test")
    first, last = stops(told)
    wire = scale.unisons * steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2
    length = [runs(told.service, stop).sum(axis=0) for stop in (first, last)]
    pull = ready.pull_N + wire * (length[1] - length[0]) / length[0]
    assert told.service.pull_N[first] == pytest.approx(np.tile(ready.pull_N, (3, 1)))
    assert told.service.pull_N[last] == pytest.approx(np.tile(pull, (3, 1)))
    assert np.abs(pull / ready.pull_N - 1.0).max() > 0.002
    line = told.service.line[last]
    turned = np.sin(np.arctan((line.bridge_front_mm - line.front_height_mm) / line.speaking_mm)) - np.sin(
        np.arctan((line.rear_height_mm - line.bridge_rear_mm) / line.back_mm)
    )
    assert told.middle["downforce_N"][1] == pytest.approx(float(np.sum(pull * turned)))


def test_strings_that_hold_pull_by_one_way_of_the_bridge_along_them(
    ready: Instrument, seen: dict[str, Outlook]
) -> None:
    """Closed form, from the heights told: what the speaking length has beside its stretch by the rise is the bridge's
    way along it, and the back length has as much less.
    """
    told, scale = seen["holding"], ready.board.needed_scale("test")
    first, last = stops(told)
    wire = scale.unisons * steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2
    before, after = runs(told.service, first), runs(told.service, last)
    longer = (told.service.pull_N[last] - ready.pull_N) * before / wire
    way = longer[0] - (after - before)[0]
    assert (after - before)[2] - longer[2] == pytest.approx(way, abs=1e-9)
    assert longer[1] == pytest.approx(0.0, abs=1e-12)
    assert np.abs(way).max() > 0.005


def test_the_tuner_matters_little_and_both_ways_of_the_pins_are_told(seen: dict[str, Outlook]) -> None:
    """Own earlier output of the sample grand: strings left alone change net bearing by less than 0.1°; those that hold
    at their pins hold the bridge too, which is more than what they lose of their pull.
    """
    off = {word: np.abs(seen[word].middle["net_deg"] - seen[""].middle["net_deg"])[1].max() for word in UNTUNED}
    assert 0.0005 < off["slipping"] < off["holding"] < 0.1
    assert seen["holding"].middle["net_deg"][0] == pytest.approx(seen[""].middle["net_deg"][0], abs=0.01)


def elastic(ready: Instrument) -> Known:
    """Wood without creep and set, that follows the air at once on one curve: its state is that of its last day."""
    usual = cases(DAMP)[0]
    laws = usual.laws.varied(creep=0.0, swing_across=0.0, swing_along=0.0)
    return replace(usual, laws=laws, single=1.0, lag_days=0.01)


def led(ready: Instrument, untuned: str, pull_N: np.ndarray | None = None) -> Service:
    """The board without creep, from the air of its measurement into a damper one; `pull_N`: another pull at pitch."""
    life, known = replace(DAMP, untuned=untuned), elastic(ready)
    along = top_along(ready) if untuned == "holding" else None
    board = in_time(ready.belly, ready.board.needed_plan("test").pins_mm, known.laws, along=along)
    strings = fitting(ready, life, 30.0)
    return served(
        board,
        lived(ready.belly, life, known, np.array([0.0, 30.0])),
        strings if pull_N is None else replace(strings, pull_N=pull_N),
    )


def test_slipping_strings_are_in_balance_as_strings_at_pitch_that_pull_as_much(ready: Instrument) -> None:
    """Invariant: an elastic board does not know how its strings came to pull as they do."""
    left = led(ready, "slipping")
    assert np.abs(left.pull_N[-1, 0] / ready.pull_N - 1.0).max() > 0.003
    same = led(ready, "", pull_N=left.pull_N[-1, 0])
    kept = led(ready, "")
    assert left.line[-1].top_mm == pytest.approx(same.line[-1].top_mm, abs=2e-4)
    assert np.abs(same.line[-1].top_mm - kept.line[-1].top_mm).max() > 2e-3


def test_strings_that_hold_let_the_bridge_go_as_a_season_says(ready: Instrument) -> None:
    """Another path of this project: the way along the strings that `season` finds from the free way and the bridge's
    compliance about the measurement in one step, strings pressing at pitch; a tenth of the free way lies between.
    """
    left = led(ready, "holding")
    year, scale = Year.of(ready, DAMP.temperature_C), ready.board.needed_scale("test")
    rows = [year.strung(shift) for shift in (year.measured(), year.strung_shift(60.0, year.measured()))]
    free = year._along_mm(rows[1], year.moisture(60.0)) - year._along_mm(rows[0], ready.moisture_percent)
    told = held_along_mm(free, year.given_mm_N(), scale, before=rows[0].line, after=rows[1].line)
    first = int(np.flatnonzero(left.strung)[0])
    wire = scale.unisons * steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2
    before, after = runs(left, first), runs(left, -1)
    way = (left.pull_N[-1] - ready.pull_N)[0] * before[0] / wire - (after - before)[0]
    assert way == pytest.approx(told, abs=0.1 * free.max())
    assert np.abs(told - free).max() > 0.6 * free.max()


def test_a_later_bearing_tells_the_tension_that_is_left(ready: Instrument, seen: dict[str, Outlook]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlooks, "cases", lambda life: cases(life)[:1])
        told = bearing_after(ready, life=life_of(ready.board, untuned="holding"), day=DAYS[1])
    scale, service = ready.board.needed_scale("test"), seen["holding"].service
    last = stops(seen["holding"])[1]
    assert told.then.tension_N == pytest.approx(service.pull_N[last, 0] / scale.unisons, rel=1e-9)
    assert told.now.tension_N == pytest.approx(tension_N(scale, service.line[0]))
    line, pull = service.line[last], service.pull_N[last]
    turned = bearing(line)
    pressed = pull[0] * np.sin(turned.speaking_rad) - pull[2] * np.sin(turned.back_rad)
    assert told.then.downforce_N == pytest.approx(pressed, rel=1e-9)
    assert "never again" in " ".join(told.then.assumptions)
    assert "Tension is that of every speaking length as it is then" in told.then.assumptions[-1]


def test_strings_left_alone_are_not_told_from_heights_of_the_strung_board(ready: Instrument) -> None:
    from bellywork.board import State

    strung = prepared(replace(ready.board, measured_in=State.STRUNG))
    with pytest.raises(BoardError, match=r"left alone is told from heights of the bare board\.$"):
        outlook(strung, life=life_of(ready.board, untuned="slipping"), days=(10.0,), banded=False)
