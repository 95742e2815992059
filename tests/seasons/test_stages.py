"""Readings at the stages of the work: each beside the prediction for its own state, humidity and day."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "cli"))
from schemas import valid

from bellywork.answers.history_answer import history_answer
from bellywork.balance.bearing_table import bearing
from bellywork.board import State
from bellywork.board.state import Climate, Reading
from bellywork.errors import MissingLayer
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, units_named
from bellywork.seasons.at_climate import bearing_at
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import outlook
from bellywork.seasons.stages import StageReading, stages

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
READ = (  # kind, note, value, state, date, RH: lopsided on purpose
    ("bridge_height", 46, 42.61, State.BARE, "2026-05-04", 42.0),
    ("bridge_height", 46, 42.30, State.STRUNG, "2026-05-04", 42.0),
    ("bridge_height", 70, 46.00, State.STRUNG, "2026-05-04", 55.0),
    ("front_deg", 58, 0.9, State.STRUNG, "2026-05-04", 42.0),
    ("rear_deg", 58, -0.2, State.STRUNG, "2026-05-04", 42.0),
    ("front_deg", 64, 0.9, State.STRUNG, "2026-05-04", 42.0),  # its rear was not read: no net
    ("bridge_height", 52, 43.90, State.STRUNG, "2026-06-03", 50.0),
    ("bridge_height", 3, 43.90, State.STRUNG, "2026-06-03", 50.0),  # no such note on this board
)


@pytest.fixture(scope="module")
def ready() -> Instrument:
    board = read_board(SAMPLES / "lopsided_board").board
    readings = tuple(
        Reading(kind=kind, note=note, value=value, state=state, climate=Climate(date=date, rh_percent=rh))
        for kind, note, value, state, date, rh in READ
    )
    return prepared(replace(board, readings=readings))


@pytest.fixture(scope="module")
def told(ready: Instrument) -> tuple[StageReading, ...]:
    return stages(ready)


def test_each_reading_stands_beside_its_own_state_humidity_and_day(
    ready: Instrument, told: tuple[StageReading, ...]
) -> None:
    found = {(each.note, each.state, each.by_gauge): each for each in told}
    assert len(told) == len(found) == 5
    place = {note: k for k, note in enumerate(bearing(ready).note.tolist())}
    strung = bearing(ready, state=State.STRUNG)
    bare = found[46, State.BARE, False]
    assert (bare.read, bare.predicted) == (42.61, pytest.approx(bearing(ready).line.top_mm[place[46]]))
    assert found[46, State.STRUNG, False].predicted == pytest.approx(strung.line.top_mm[place[46]], abs=1e-9)
    damp = bearing_at(ready, rh_percent=55.0, state=State.STRUNG).line.top_mm[place[70]]
    assert found[70, State.STRUNG, False].predicted == pytest.approx(damp, abs=1e-6)
    assert abs(damp - strung.line.top_mm[place[70]]) > 0.05
    gauge = found[58, State.STRUNG, True]
    assert (gauge.read, gauge.predicted) == (pytest.approx(0.7), pytest.approx(strung.net_deg[place[58]]))
    later = found[52, State.STRUNG, False]
    assert later.days == 30.0
    seen = outlook(ready, life=life_of(ready.board), days=(30.0,), banded=False)
    then = seen.service.line[-1].top_mm[place[52]]
    assert later.predicted == pytest.approx(then, abs=1e-6)
    assert later.off == pytest.approx(43.90 - then)


def test_the_answer_holds_them_all_and_says_each_stage_once(told: tuple[StageReading, ...]) -> None:
    answer = history_answer("x", told, assumptions=("a",), units=METRIC)
    parts = answer.as_parts()
    valid({"schema": "bellywork-history/2", "bellywork": "1", "board": "x", "fingerprint": "0" * 64, **parts})
    assert (len(parts["heights"]), len(parts["angles"])) == (4, 1)
    for row in parts["heights"]:
        assert row["off_mm"] == pytest.approx(row["read_mm"] - row["predicted_mm"])
    assert parts["angles"][0]["off_deg"] == pytest.approx(0.7 - parts["angles"][0]["predicted_deg"])
    assert len(answer.headline) == 4
    strung = next(line for line in answer.headline if line.startswith("2026-05-04, strung: bridge"))
    offs = {
        each.note: each.off
        for each in told
        if (each.date, each.state.value) == ("2026-05-04", "strung") and not each.by_gauge
    }
    assert f"on average {np.mean(list(offs.values())):+.2f} mm" in strung
    assert any("2026-06-03, strung, 30 days after the stringing: bridge" in line for line in answer.headline)
    inches = history_answer("x", told, assumptions=(), units=units_named("in"))
    assert " in against the prediction" in inches.headline[0]


def test_without_such_readings_it_says_what_to_read(ready: Instrument) -> None:
    with pytest.raises(MissingLayer, match=r"^A history needs what was read on the way: rows with the kind bridge_"):
        stages(replace(ready, board=replace(ready.board, readings=()), _kept={}))
