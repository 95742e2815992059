"""The years of a strung board, told: every number is the outlook's, at its time, note and rib."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "cli"))
from schemas import valid

from bellywork.answers.years_answer import years_answer
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, units_named
from bellywork.seasons import outlook as outlooks
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import Outlook, outlook

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
DAYS = (0.0, 1.0, 30.4375)
ENVELOPE = {"schema": "bellywork-years/2", "bellywork": "1", "board": "x", "fingerprint": "0" * 64}


@pytest.fixture(scope="module")
def ready() -> Instrument:
    return prepared(read_board(SAMPLES / "lopsided_board").board)


@pytest.fixture(scope="module")
def seen(ready: Instrument) -> Outlook:
    life = life_of(ready.board, "30:70")
    usual, *varied = outlooks.cases(life)
    few = [usual, next(case for case in varied if case.growth_share == 1.2)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlooks, "cases", lambda _: few)
        told = outlook(ready, life=life, days=DAYS)
    for part in (told.middle, told.low, told.high):  # in so mild a month nothing is crushed: let something be
        part["set_strain"] = part["set_strain"] + 2e-4
    return told


def test_json_holds_every_number_at_its_place(seen: Outlook) -> None:
    parts = years_answer("x", seen, units=METRIC).as_parts()
    valid({**ENVELOPE, **parts})
    notes, ribs = len(seen.note), len(seen.rib)
    assert (len(parts["times"]), len(parts["notes"]), len(parts["ribs"])) == (3, 3 * notes, 3 * ribs)
    for k, time in enumerate(parts["times"]):
        assert (time["day"], time["time"]) == (DAYS[k], ("just strung", "1 day", "1 month")[k])
        for key, name, scale in (
            ("downforce_N", "downforce_N", 1.0),
            ("across_MPa", "across_MPa", 1.0),
            ("set_permille", "set_strain", 1000.0),
        ):
            assert time[key] == pytest.approx(scale * seen.middle[name][k])
            assert time[f"{key}_low"] == pytest.approx(scale * seen.low[name][k])
            assert time[f"{key}_high"] == pytest.approx(scale * seen.high[name][k])
        stop = seen.service.at(seen.life.before_days + DAYS[k])
        assert time["moisture_percent"] == pytest.approx(seen.service.moisture_percent[stop])
    for k, entry in enumerate(parts["notes"]):
        time, place = divmod(k, notes)
        assert (entry["day"], entry["note"]) == (DAYS[time], seen.note[place])
        for key, name in (("net_deg", "net_deg"), ("height_mm", "height_mm")):
            assert entry[key] == pytest.approx(seen.middle[name][time, place])
            assert entry[f"{key}_high"] == pytest.approx(seen.high[name][time, place])
    for k, entry in enumerate(parts["ribs"]):
        time, place = divmod(k, ribs)
        assert (entry["day"], entry["rib"]) == (DAYS[time], seen.rib[place])
        assert entry["span_mm"] == pytest.approx(seen.span_mm[place])
        assert entry["rise_mm"] == pytest.approx(seen.middle["rib_rise_mm"][time, place])
        assert entry["rise_mm_low"] == pytest.approx(seen.low["rib_rise_mm"][time, place])


def test_the_last_year_is_looked_through_at_every_stop_under_the_strings(seen: Outlook) -> None:
    """Invariant: no time told lies outside it, and it is reached at a stop that no time names."""
    parts = years_answer("x", seen, units=METRIC).as_parts()
    on = [k for k, day in enumerate(seen.service.day) if seen.service.strung[k] and day <= seen.life.before_days + 30.5]
    net = seen.service.net_deg[on]
    assert [each["net_least_deg"] for each in parts["last_year"]] == pytest.approx(net.min(axis=0))
    assert [each["net_most_deg"] for each in parts["last_year"]] == pytest.approx(net.max(axis=0))
    assert np.all(net.max(axis=0) >= seen.middle["net_deg"].max(axis=0) - 1e-12)


def test_ribs_are_named_with_their_own_spans(ready: Instrument, seen: Outlook) -> None:
    """Lopsided: four ribs of four lengths, so that a swap shows."""
    lengths = {rib.name: rib.length_mm for rib in ready.board.needed_body("a test").ribs}
    assert list(seen.rib) == list(lengths)
    for name, span in zip(seen.rib, seen.span_mm):
        assert 0.5 * lengths[name] < span <= lengths[name] + 1e-6
    assert len({round(span) for span in seen.span_mm}) == len(lengths)


def test_the_headline_says_who_loses_most_and_what_is_left(seen: Outlook) -> None:
    net = seen.middle["net_deg"]
    most = int(np.argmax(net[0] - net[-1]))
    answer = years_answer("x", seen, units=METRIC)
    first = answer.headline[0]
    assert f"from {net[0, most]:.2f}° just strung to {net[-1, most]:.2f}°" in first
    assert f"({seen.low['net_deg'][-1, most]:.2f}° to {seen.high['net_deg'][-1, most]:.2f}°) after 1 month." in first
    force = seen.middle["downforce_N"]
    assert f"from {force[0]:.1f} N to {force[-1]:.1f} N" in answer.headline[1]
    inches = years_answer("x", seen, units=units_named("in"))
    assert f"from {force[0] / 4.4482216:.2f} lb" in inches.headline[1]
    assert not answer.act


def test_a_bearing_that_is_lost_is_something_to_act_on(seen: Outlook) -> None:
    from dataclasses import replace

    lost = replace(seen, service=replace(seen.service, net_deg=seen.service.net_deg - 5.0))
    answer = years_answer("x", lost, units=METRIC)
    assert answer.act
    assert "its bearing is lost for part of the year" in " ".join(answer.headline)


def test_a_panel_pressed_beyond_its_limit_is_said_loudly(seen: Outlook) -> None:
    from dataclasses import replace

    assert not years_answer("x", seen, units=METRIC).to_look_at
    on = np.flatnonzero(seen.service.strung)
    limit = seen.limit_MPa[on[3]]
    assert 1.0 < limit < 6.0  # the handbook's proportional limit across the grain, at this moisture
    for times, words in ((1.5, "1.5 times the limit"), (2.5, "do not build on these numbers")):
        pressed = seen.service.across_MPa.copy()
        pressed[on[3]] = -times * limit
        answer = years_answer("x", replace(seen, service=replace(seen.service, across_MPa=pressed)), units=METRIC)
        assert answer.act
        assert words in answer.to_look_at[0]
        assert f"by {times * limit:.2f} MPa" in answer.to_look_at[0]
        assert answer.below == "1 to look at, under the tables."


def test_another_board_stands_beside_it_with_its_own_numbers(seen: Outlook) -> None:
    """Another path: the two outlooks themselves. The other board knows one note less, has half the bearing, and keeps a
    tenth of its downforce more."""
    middle, low, high = (
        {
            **{name: value[:, 1:] if name in ("net_deg", "height_mm") else value for name, value in part.items()},
            "net_deg": 0.5 * part["net_deg"][:, 1:],
            "downforce_N": part["downforce_N"] + np.array([0.0, 0.0, 0.1]) * part["downforce_N"][0],
        }
        for part in (seen.middle, seen.low, seen.high)
    )
    other = replace(seen, note=seen.note[1:], reference=seen.reference[1:], middle=middle, low=low, high=high)
    answer = years_answer("x", seen, units=METRIC, against=("y", other))
    parts = answer.as_parts()
    valid({**ENVELOPE, **parts})
    assert years_answer("x", seen, units=METRIC).as_parts()["against"] is None
    assert parts["against"]["against"] == "y"
    entry = parts["against"]["notes"][len(other.note) + 2]  # the second time
    assert (entry["day"], entry["note"]) == (1.0, other.note[2])
    assert entry["net_deg"] == pytest.approx(0.5 * seen.middle["net_deg"][1, 3])
    assert parts["against"]["times"][2]["downforce_N"] == pytest.approx(middle["downforce_N"][2])
    most = 1 + int(np.argmax(seen.middle["net_deg"][2, 1:]))
    net, half = (f"{part['net_deg'][2, k]:.2f}°" for part, k in ((seen.middle, most), (middle, most - 1)))
    told = " ".join(answer.headline)
    assert f"After 1 month the two differ most at note {seen.note[most]} " in told
    assert told.index(f"{net} (") < told.index(f"{half} (")
    kept = 100.0 * seen.middle["downforce_N"][2] / seen.middle["downforce_N"][0]
    assert f"x keeps {kept:.0f} % and y {kept + 10.0:.0f} %: " in told
    assert any("Net bearing of y" in view.title for view in answer.body)
