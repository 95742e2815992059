"""The small model. Kind of every expected number: invariant; one note is solved by scipy's own root finder as well."""

from dataclasses import replace

import invented
import numpy as np
import pytest
from scipy.optimize import root

from bellywork.balance.small_model import SmallModel
from bellywork.errors import BoardError, SolveError
from bellywork.geometry.one_string import one_string
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, pin_forces_N, sunk, topped
from bellywork.mechanics.response import Response

LINE = invented.line()
PULL = pull_N(invented.scale(), LINE)
MODEL = SmallModel(bare=LINE, pull_N=PULL, response=invented.response())


def test_each_sink_is_compliance_times_the_forces_at_the_sunk_heights():
    settled = MODEL.settled()
    line = sunk(LINE, settled.sink_front_mm, settled.sink_rear_mm)
    force = np.concatenate(pin_forces_N(line, PULL))
    sink = np.concatenate([settled.sink_front_mm, settled.sink_rear_mm])
    np.testing.assert_allclose(MODEL.response.small_mm_N @ force, sink, atol=1e-8)
    np.testing.assert_allclose(np.concatenate([settled.force_front_N, settled.force_rear_N]), force, rtol=1e-12)
    assert settled.residual_mm < 1e-8


def test_strings_settle_a_board_less_than_their_first_forces_would():
    """As the board sinks the angle and so the force falls."""
    settled = MODEL.settled()
    first = MODEL.response.small_mm_N @ np.concatenate(pin_forces_N(LINE, PULL))
    assert np.all(settled.sink_front_mm < first[:88])
    assert np.all(settled.sink_front_mm > 0.0)


def test_scipys_root_finder_agrees():
    n = 6
    few = slice(70, 70 + n)
    line = type(LINE)(
        **{field: (value[few] if hasattr(value, "__getitem__") else value) for field, value in vars(LINE).items()}
    )
    at = np.r_[70:76, 158:164]
    C = 20.0 * MODEL.response.small_mm_N[np.ix_(at, at)]
    settled = SmallModel(bare=line, pull_N=PULL[few], response=Response(small_mm_N=C)).settled()

    def missed(sink):
        return C @ np.concatenate(pin_forces_N(sunk(line, sink[:n], sink[n:]), PULL[few])) - sink

    other = root(missed, np.zeros(2 * n), tol=1e-13)
    np.testing.assert_allclose(other.x[:n], settled.sink_front_mm, atol=1e-8)
    np.testing.assert_allclose(other.x[n:], settled.sink_rear_mm, atol=1e-8)


def test_a_rigid_board_does_not_sink():
    settled = replace(MODEL, response=Response(small_mm_N=np.zeros((176, 176)))).settled()
    np.testing.assert_array_equal(settled.sink_front_mm, 0.0)


@pytest.mark.parametrize("factor", [1e-3, 1.0, 30.0, 1000.0])
def test_it_settles_from_stone_to_paper(factor):
    settled = replace(MODEL, response=Response(small_mm_N=factor * MODEL.response.small_mm_N)).settled()
    assert settled.rounds <= 20
    assert np.all(bearing(settled.line).net_deg[~settled.lifted] > 0.0)


def test_strings_that_lift_off_press_nothing_and_are_named():
    low = LINE.bridge_front_mm - np.where(np.arange(88) // 6 == 8, 3.0, 0.0)
    rear = LINE.bridge_rear_mm - np.where(np.arange(88) // 6 == 8, 3.0, 0.0)
    settled = replace(MODEL, bare=topped(LINE, low, rear)).settled()
    assert LINE.note[settled.lifted].tolist() == list(range(49, 55))
    np.testing.assert_array_equal(settled.force_front_N[settled.lifted], 0.0)
    assert np.all(settled.force_front_N[~settled.lifted] > 0.0)


def test_a_board_pressed_down_by_its_neighbours_lifts_a_string_that_pressed_when_bare():
    net = bearing(LINE).net_deg
    low = LINE.bridge_front_mm.copy()
    rear = LINE.bridge_rear_mm.copy()
    drop = 0.97 * net[60] / bearing(LINE).degrees_per_mm[60]
    low[60], rear[60] = low[60] - drop, rear[60] - drop
    line = topped(LINE, low, rear)
    assert bearing(line).net_deg[60] > 0.0
    settled = replace(MODEL, bare=line).settled()
    assert LINE.note[settled.lifted].tolist() == [61]


@pytest.mark.parametrize("seed", range(20))
def test_rough_bridges_settle(seed):
    random = np.random.default_rng(seed)
    line = topped(
        LINE, LINE.bridge_front_mm + random.normal(-1.0, 1.0, 88), LINE.bridge_rear_mm + random.normal(-1.0, 1.0, 88)
    )
    settled = replace(MODEL, bare=line, response=Response(small_mm_N=5.0 * MODEL.response.small_mm_N)).settled()
    assert settled.residual_mm < 1e-8
    on = ~settled.lifted
    assert np.all(bearing(settled.line).net_deg[on] > 0.0)
    assert np.all(bearing(settled.line).net_deg[settled.lifted] <= 0.05)


def test_one_note_alone():
    line = one_string()
    settled = SmallModel(
        bare=line, pull_N=np.array([2100.0]), response=Response(small_mm_N=np.full((2, 2), 1e-3))
    ).settled()
    sink, force = settled.sink_front_mm[0], settled.force_front_N[0] + settled.force_rear_N[0]
    assert sink == pytest.approx(1e-3 * force, abs=1e-9)
    assert sink == pytest.approx(settled.sink_rear_mm[0], abs=1e-12)


@pytest.mark.parametrize(
    ("compliance", "message"),
    [
        (-np.eye(2), r"^No balance was found for note 49 \(A4\): on or off the bridge\.$"),
        (np.full((2, 2), np.nan), r"^The balance of strings and board did not settle in 40 rounds\.$"),
    ],
    ids=["rising under load", "not a number"],
)
def test_an_impossible_compliance_is_refused_not_answered(compliance, message):
    with pytest.raises(SolveError, match=message):
        SmallModel(bare=one_string(), pull_N=np.array([2100.0]), response=Response(small_mm_N=compliance)).settled()


def test_a_note_needs_its_tension():
    with pytest.raises(BoardError, match=r"^Every note needs the tension of its strings, 0 N or more\.$"):
        SmallModel(bare=one_string(), pull_N=np.array([np.nan]), response=Response(small_mm_N=np.zeros((2, 2))))
