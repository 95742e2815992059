"""What a season reports, on the lopsided sample. Kinds of expected numbers: worked out by hand; closed forms;
invariants.

At every reference note the string comes down from a level bridge top to its front termination by 0.0125 of the speaking
length and to its rear rest by 0.0100 of the back length: atan 0.0125 + atan 0.0100 = 1.2891° bare.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.board import Board
from bellywork.board.state import State
from bellywork.board.woods import wood
from bellywork.files.read import read_board
from bellywork.geometry.completed import completed
from bellywork.geometry.scale import pull_N
from bellywork.instrument import prepared
from bellywork.seasons.year import Season, Year, season

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
NOTES = {40: (640.0, 80.0), 52: (335.0, 74.0), 64: (172.0, 64.0), 73: (110.0, 56.0)}  # speaking and back lengths, mm


def board() -> Board:
    return read_board(LOPSIDED).board


@cache
def year() -> Season:
    return season(board(), rh_percent=(60.0, 42.0, 30.0))


def test_bare_bearing_at_each_humidity_follows_from_the_height_that_is_told() -> None:
    """Closed form: net = atan(0.0125 + h/L) + atan(0.0100 + h/l) for a top that rises by h and stays level."""
    for k in range(3):
        for note, (speaking, back) in NOTES.items():
            at = year().note.index(note)
            h = year().height_change_mm[k, at]
            net = np.degrees(np.arctan(0.0125 + h / speaking) + np.arctan(0.0100 + h / back))
            assert year().net_bare_deg[k, at] == pytest.approx(net, abs=0.06)
    at = [year().note.index(note) for note in NOTES]
    np.testing.assert_allclose(year().net_bare_deg[1, at], 1.2891, atol=2e-3)
    assert year().rh_percent.tolist() == [30.0, 42.0, 60.0]
    assert np.all(year().height_change_mm[0] < 0.0)
    assert np.all(year().height_change_mm[2] > 0.0)


def test_strung_bearing_and_downforce_at_the_measurement_are_the_bearing_tables() -> None:
    """Another path; the season's grid of 44 mm against the table's of 20, and large deflection against small."""
    table = bearing(board(), state=State.STRUNG)
    np.testing.assert_allclose(year().net_deg[1], table.net_deg, atol=0.03)
    assert year().downforce_N[1] == pytest.approx(table.total_downforce_N, rel=0.03)


def test_downforce_is_pull_times_net_angle_summed_over_the_notes() -> None:
    """Statics for small angles."""
    whole = completed(board()).board
    pull = pull_N(whole.needed_scale("test"), whole.needed_strings("test"))
    for k in range(3):
        expected = float(np.sum(pull * np.radians(np.maximum(year().net_deg[k], 0.0))))
        assert year().downforce_N[k] == pytest.approx(expected, rel=2e-3)


def test_crown_is_the_rise_of_the_middle_over_the_line_between_both_ends(tmp_path, monkeypatch) -> None:
    """Of the board's movements themselves, on one that is tipped so that each rib's ends stand at unequal heights."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    here = Year.of(prepared(board()))
    belly = here.ready.belly
    plain = type(belly).rise_mm

    def tipped(self, state, points) -> np.ndarray:
        return plain(self, state, points) + points @ np.array([0.02, -0.01])

    monkeypatch.setattr(type(belly), "rise_mm", tipped)
    _, ribs = here.bare(np.array([here.moisture(rh) for rh in (42.0, 60.0)]))
    for rib, stations in zip(ribs, belly.board.discrete.stations):
        assert stations.name == f"rib {rib.rib}"
        points = stations.points_mm[[0, len(stations.points_mm) // 2, -1]]
        for k, rh in enumerate((42.0, 60.0)):
            start, middle, end = plain(belly, here.ready.bare_state(here.moisture(rh)), points)
            s = np.hypot(*(points[1] - points[0])) / np.hypot(*(points[2] - points[0]))
            # a tip takes nothing where the middle lies half-way, and little where it does not
            tip = (points @ np.array([0.02, -0.01]))[2] - (points @ np.array([0.02, -0.01]))[0]
            assert rib.rise_mm[k] == pytest.approx(middle - (start + end) / 2.0 + (s - 0.5) * tip, abs=1e-9)


def test_crown_is_told_over_each_ribs_own_span_and_grows_in_the_damp() -> None:
    """Spans √(300² + 400²) = 500, 760 and 325 mm, less up to 5 mm at either end where the first station stands."""
    ribs = {rib.rib: rib for rib in year().ribs}
    for name, span in (("a", 500.0), ("b", 760.0), ("d", 325.0)):
        assert span - 10.0 <= ribs[name].span_mm <= span
        assert np.all(np.diff(ribs[name].rise_mm) > 0.0)


def test_the_limit_is_the_panels_at_each_moisture() -> None:
    """Wood Handbook Eq. 5-3: 4.0 N/mm² at 12 % for Sitka spruce across the grain, more in the dry, less in the damp."""
    assert np.all(np.diff(year().limit_MPa) < 0.0)
    assert year().limit_MPa[1] > 4.0
    assert np.all(np.diff(year().across_grain_MPa) < 0.0)  # ever more pressed


def test_the_cap_swells_by_its_own_thickness_and_wood() -> None:
    """Closed form, Eq. 4-9: a cap of 12 mm of beech (11.9 % from green to dry along T) against one that does not swell
    at all lifts the string by 12 mm · [(100 − 11.9 (1 − m₂/30))/(100 − 11.9 (1 − m₁/30)) − 1]."""
    beech = wood("american_beech")
    changes = []
    for cap in (beech, replace(beech, shrinkage_T_percent=1e-9)):
        whole = board()
        body = whole.needed_body("test")
        bridge = replace(body.bridges[0], cap_wood=cap, cap_mm=np.full(3, 12.0))
        found = season(replace(whole, body=replace(body, bridges=(bridge,))), rh_percent=(60.0,))
        changes.append(found.height_change_mm[0])
    m1, m2 = year().moisture_percent[1:]
    size = [100.0 - 11.9 * (1.0 - m / 30.0) for m in (m1, m2)]
    np.testing.assert_allclose(changes[0] - changes[1], 12.0 * (size[1] / size[0] - 1.0), atol=5e-3)
    assert size[1] / size[0] - 1.0 == pytest.approx(0.0129, abs=5e-4)


def test_the_note_that_loses_its_bearing_first_is_the_one_with_least() -> None:
    """The plate stands 0.45 mm higher: bearing goes in the dry, at the note with the least net angle."""
    whole = board()
    line = whole.needed_strings("test")
    low = replace(line, bridge_front_mm=line.bridge_front_mm - 0.45, bridge_rear_mm=line.bridge_rear_mm - 0.45)
    found = season(replace(whole, strings=low), rh_percent=(30.0, 36.0, 42.0))
    assert found.lost is not None
    note, rh = found.lost
    k = found.rh_percent.tolist().index(rh)
    assert np.all(found.net_deg[k + 1 :] > 0.0)  # at no humidity nearer to the measurement
    net = found.net_deg[k]
    assert note == found.note[int(np.argmin(net))]
    assert net.min() <= 0.0 < net.max()


def test_freezing_air_is_taken_as_it_is_and_unnoted_air_as_20_degrees() -> None:
    """0 °C is a temperature: the wood's moisture follows the handbook's equation there."""
    for given, taken in ((0.0, 0.0), (None, 20.0)):
        whole = board()
        cold = Year.of(replace(whole, climate=replace(whole.climate, temperature_C=given)), None)
        assert cold.temperature_C == taken
