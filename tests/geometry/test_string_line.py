"""The string line. Kind of every expected number: invariant (geometry worked out another way), unless said."""

import numpy as np
import pytest

from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import (
    bearing,
    downforce_N,
    heights_for,
    pin_forces_N,
    plate_moved,
    run_stiffness_N_mm,
    sunk,
    topped,
)

LINE = one_string(speaking=640.0, rows=16.0, back=100.0, front=50.0, bridge=(50.9, 50.8), rear=49.0)


def turn_deg(a, b, c):
    """Angle between the vectors a→b and b→c, from their cross product, down positive."""
    first, second = np.subtract(b, a), np.subtract(c, b)
    cross = first[1] * second[0] - first[0] * second[1]
    return np.degrees(np.arcsin(cross / np.hypot(*first) / np.hypot(*second)))


def test_front_and_rear_are_the_turns_of_the_string():
    F, B1, B2, R = (0.0, 50.0), (640.0, 50.9), (656.0, 50.8), (756.0, 49.0)
    turned = bearing(LINE)
    assert turned.front_deg[0] == pytest.approx(turn_deg(F, B1, B2), abs=1e-9)
    assert turned.rear_deg[0] == pytest.approx(turn_deg(B1, B2, R), abs=1e-9)
    assert turned.net_deg[0] == pytest.approx(turned.front_deg[0] + turned.rear_deg[0], abs=1e-12)


def test_string_deflection_is_the_bridge_above_the_line_from_end_to_end():
    straight = np.interp(648.0, [0.0, 756.0], [50.0, 49.0])
    assert bearing(LINE).string_deflection_mm[0] == pytest.approx(50.85 - straight)


@pytest.mark.parametrize(
    ("speaking", "back", "degrees"),
    [
        (50, 40, 2.6),
        (90, 60, 1.6),
        (176, 75, 1.1),
        (340, 90, 0.81),
        (640, 100, 0.66),
        (1009, 120, 0.53),
        (1830, 200, 0.32),
    ],
)
def test_degrees_lost_per_mm(speaking, back, degrees):
    """Common practice, no source: a table of the trade, printed to two figures."""
    line = one_string(speaking=speaking, back=back)
    assert bearing(line).degrees_per_mm[0] == pytest.approx(degrees, abs=0.06 if degrees > 1 else 0.006)


def test_degrees_lost_per_mm_is_what_sinking_a_little_loses():
    step = np.array([1e-4])
    lost = bearing(LINE).net_deg - bearing(sunk(LINE, step, step)).net_deg
    assert lost[0] / 1e-4 == pytest.approx(bearing(LINE).degrees_per_mm[0], rel=3e-4)


def test_heights_for_a_bearing_give_it():
    for net, share in ((1.0, 0.5), (0.3, 0.0), (2.0, 1.0), (-0.4, 0.5), (15.0, 0.3)):
        turned = bearing(topped(LINE, *heights_for(LINE, np.array([net]), np.array([share]))))
        assert turned.net_deg[0] == pytest.approx(net, abs=1e-10)
        assert turned.front_deg[0] == pytest.approx(share * net, abs=1e-10)


def test_the_pins_together_carry_the_downforce():
    pull = np.array([2000.0])
    front, rear = pin_forces_N(LINE, pull)
    slopes = np.arctan([0.9 / 640.0, -1.8 / 100.0])
    assert front[0] + rear[0] == pytest.approx(2000.0 * (np.sin(slopes[0]) - np.sin(slopes[1])))
    assert downforce_N(LINE, pull)[0] == front[0] + rear[0]


def test_the_share_of_tension_carried_down():
    """Common practice, no source: 0.9 % at 0.5°, 1.75 % at 1°, 2.6 % at 1.5°."""
    for net, percent in ((0.5, 0.9), (1.0, 1.75), (1.5, 2.6)):
        line = topped(LINE, *heights_for(LINE, np.array([net]), np.array([0.5])))
        assert 100.0 * downforce_N(line, np.array([1.0]))[0] == pytest.approx(percent, abs=0.05)


def test_lifted_strings_press_nowhere():
    line = topped(LINE, np.array([49.0]), np.array([48.9]))
    assert bearing(line).lifted[0]
    assert [force[0] for force in pin_forces_N(line, np.array([2000.0]))] == [0.0, 0.0]
    assert not run_stiffness_N_mm(line, np.array([2000.0])).any()


def test_a_tilted_top_is_one_negative_side_with_a_positive_net():
    line = topped(LINE, np.array([50.0]), np.array([51.0]))
    turned = bearing(line)
    assert turned.front_deg[0] < 0.0 < turned.net_deg[0]
    assert turned.tilted[0]
    assert not bearing(LINE).tilted[0]


def test_stiffness_is_how_the_forces_grow():
    pull, rise = np.array([2000.0]), 1e-5
    speaking, over, back = run_stiffness_N_mm(LINE, pull)[:, 0]
    before = np.array(pin_forces_N(LINE, pull))[:, 0]
    at_front = np.array(pin_forces_N(sunk(LINE, np.array([-rise]), np.zeros(1)), pull))[:, 0]
    at_rear = np.array(pin_forces_N(sunk(LINE, np.zeros(1), np.array([-rise])), pull))[:, 0]
    np.testing.assert_allclose((at_front - before) / rise, [speaking + over, -over], rtol=1e-4)
    np.testing.assert_allclose((at_rear - before) / rise, [-over, over + back], rtol=1e-4)


def test_raising_plate_and_bridge_together_changes_nothing():
    up = np.array([3.7])
    moved = sunk(plate_moved(LINE, up, up), -up, -up)
    assert bearing(moved).net_deg[0] == pytest.approx(bearing(LINE).net_deg[0], abs=1e-11)
