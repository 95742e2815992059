"""Each way of reading led to the string line. Kind of every expected number: hand calculation, and invariants (a line
is read in each way, by plane geometry written here, and comes back).
"""

from pathlib import Path

import numpy as np
import pytest

from bellywork.geometry.one_string import one_string
from bellywork.geometry.reading_forms import STEPS, net_step_deg, tops_of_angles, tops_of_block, tops_of_dial
from bellywork.geometry.string_line import bearing

RUNS = [(1290.0, 19.5, 86.0), (257.0, 13.7, 83.6), (51.5, 9.5, 58.0)]


def turned(tops, runs):
    return bearing(one_string(speaking=runs[0], rows=runs[1], back=runs[2], front=0.0, bridge=tops, rear=0.0))


@pytest.mark.parametrize("runs", RUNS)
@pytest.mark.parametrize(("front", "rear"), [(0.4, 0.7), (-0.2, 0.2), (1.5, -0.4), (0.0, 0.0)])
def test_an_angle_gauge_comes_back_as_its_angles(runs, front, rear):
    back = turned(tops_of_angles(front, rear, runs), runs)
    assert back.front_deg[0] == pytest.approx(front, abs=1e-9)
    assert back.rear_deg[0] == pytest.approx(rear, abs=1e-9)


@pytest.mark.parametrize("runs", RUNS)
def test_a_block_by_the_rule_of_the_trade(runs):
    """By hand: the thread rises from F to R + block; flush with it the bridge turns the string by the slope of the
    thread on one side and, behind, by what the thread rises over R: net = atan(b/run) + atan((b − b·back/run)/back),
    which is atan(block/back) within 1 %.
    """
    block, run = 1.5, sum(runs)
    slope = block / run
    by_hand = np.degrees(np.arctan(slope) + np.arctan((block - slope * runs[2]) / runs[2]))
    net = turned(tops_of_block(block, runs), runs).net_deg[0]
    assert net == pytest.approx(by_hand, rel=1e-6)
    assert net == pytest.approx(np.degrees(np.arctan(block / runs[2])), rel=0.01)


@pytest.mark.parametrize("runs", RUNS)
def test_a_dial_reads_what_its_feet_drop(runs):
    """A bridge turned by 0.9° net, half on each side: feet 30 mm off the middle stand on the string, which falls by the
    half angle from each pin; the plunger stands above their chord by the mean of the two drops.
    """
    span, half = 60.0, np.radians(0.45)
    drop = (span / 2.0 - runs[1] / 2.0) * np.sin(half)
    assert turned(tops_of_dial(drop, span, runs), runs).net_deg[0] == pytest.approx(0.9, abs=1e-9)


def test_a_dial_by_the_rule_of_the_trade():
    """angle = 2·asin(d/(1 − b/2)) for feet 1 in either side, b in inches; rows of 15 mm: 1° reads about 0.006 in.

    Common practice, no source; worked: 0.00615 / (1 − 0.2953) = 0.008727 = sin 0.5°.
    """
    runs = (640.0, 15.0, 100.0)
    assert turned(tops_of_dial(0.00615 * 25.4, 50.8, runs), runs).net_deg[0] == pytest.approx(1.0, abs=0.001)


@pytest.mark.parametrize("runs", RUNS)
def test_a_step_of_each_reading_is_worth_what_a_changed_reading_says(runs):
    """Against differences: the reading changed by its step, one cell at a time, squares added."""
    block = turned(tops_of_block(2.25, runs), runs).net_deg - turned(tops_of_block(2.0, runs), runs).net_deg
    assert net_step_deg("block", runs) == pytest.approx(block[0], rel=0.02)
    dial = turned(tops_of_dial(0.21, 50.0, runs), runs).net_deg - turned(tops_of_dial(0.2, 50.0, runs), runs).net_deg
    assert net_step_deg("dial", runs, 50.0) == pytest.approx(dial[0], rel=1e-3)
    base = turned((1.0, 1.0), runs).net_deg[0]
    gaps = turned((1.1, 1.0), runs).net_deg[0] - base, turned((1.0, 1.1), runs).net_deg[0] - base
    assert net_step_deg("gap", runs) == pytest.approx(np.hypot(*gaps), rel=0.01)
    assert net_step_deg("level", runs) == pytest.approx(np.sqrt(2.0) * np.hypot(*gaps), rel=0.01)


def test_the_page_tells_what_a_step_is_worth():
    page = (Path(__file__).resolve().parents[2] / "docs" / "start.md").read_text(encoding="utf-8")
    for form, unit in (("level", " mm"), ("gap", " mm"), ("block", " mm"), ("gauge", "°"), ("dial", " mm")):
        worth = net_step_deg(form, (640.0, 16.0, 100.0), 50.8)
        assert f"| {STEPS[form]:g}{unit}: {worth:.2f}° |" in page
