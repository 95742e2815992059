"""Thread and block. Kind of every expected number: invariant, unless said."""

import numpy as np
import pytest

from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import bearing, heights_for, topped
from bellywork.geometry.thread import net_of_block_deg, threaded

# block in mm by back length: 0.25°, 0.5°, 0.75°, 1°, 1.25°, 1.5°, 2°
TRADE = {
    40: (0.17, 0.35, 0.52, 0.70, 0.87, 1.05, 1.40),
    60: (0.26, 0.52, 0.79, 1.05, 1.31, 1.57, 2.10),
    80: (0.35, 0.70, 1.05, 1.40, 1.75, 2.09, 2.79),
    100: (0.44, 0.87, 1.31, 1.75, 2.18, 2.62, 3.49),
    127: (0.55, 1.11, 1.66, 2.22, 2.77, 3.33, 4.43),
    150: (0.65, 1.31, 1.96, 2.62, 3.27, 3.93, 5.24),
    200: (0.87, 1.75, 2.62, 3.49, 4.36, 5.24, 6.98),
}
ANGLES = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0)
TOP = one_string(speaking=52.0, rows=11.0, back=45.0, front=55.0, bridge=(57.0, 57.2), rear=54.0)
TENOR = one_string(speaking=900.0, rows=18.0, back=110.0, front=62.0, bridge=(65.0, 65.0), rear=60.0)


@pytest.mark.parametrize("back", TRADE)
def test_block_is_back_length_times_tangent_of_the_angle(back):
    """Common practice, no source: the trade's table of blocks, printed to 0.01 mm; ours must round to it."""
    for angle, block in zip(ANGLES, TRADE[back]):
        line = one_string(speaking=900.0, rows=16.0, back=back, front=100.0, rear=100.0)
        found = threaded(line, *heights_for(line, np.array([angle]), np.array([0.5]))).block_mm[0]
        assert found == pytest.approx(block, abs=0.0051)


@pytest.mark.parametrize("line", [TOP, TENOR], ids=["top", "tenor"])
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_planing_flush_with_the_thread_gives_the_wanted_net(line, share):
    goal = heights_for(line, np.array([1.2]), np.array([share]))
    block = threaded(line, *goal).block_mm
    assert net_of_block_deg(line, block)[0] == pytest.approx(1.2, abs=1e-9)


@pytest.mark.parametrize("line", [TOP, TENOR], ids=["top", "tenor"])
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_planing_to_the_floor_of_the_kerf_gives_the_wanted_height(line, share):
    front, rear = heights_for(line, np.array([1.2]), np.array([share]))
    thread = threaded(line, front, rear)
    at = thread.kerf_at[0]
    assert 0.0 <= at <= 1.0
    present = (1.0 - at) * line.bridge_front_mm[0] + at * line.bridge_rear_mm[0]
    wanted = (1.0 - at) * front[0] + at * rear[0]
    assert present - thread.kerf_mm[0] == pytest.approx(wanted, abs=1e-9)


def test_the_floor_of_the_kerf_lies_on_the_thread():
    front, rear = heights_for(TENOR, np.array([1.0]), np.array([0.5]))
    thread = threaded(TENOR, front, rear)
    at, block = thread.kerf_at[0], thread.block_mm[0]
    on_thread = np.interp(900.0 + 18.0 * at, [0.0, 1028.0], [62.0, 60.0 + block])
    present = (1.0 - at) * 65.0 + at * 65.0
    assert present - thread.kerf_mm[0] == pytest.approx(on_thread, abs=1e-9)


def test_turning_the_top_about_the_crossing_keeps_the_net():
    """To first order the crossing is L_f/(L_f + L_r) of the way from front to rear pins."""
    for share in (0.0, 0.5, 1.0):
        thread = threaded(TENOR, *heights_for(TENOR, np.array([1.0]), np.array([share])))
        assert thread.kerf_at[0] == pytest.approx(900.0 / 1010.0, abs=0.01)


def test_a_bridge_too_low_has_a_negative_kerf():
    low = topped(TENOR, np.array([61.0]), np.array([61.0]))
    assert bearing(low).net_deg[0] < 1.0
    assert threaded(low, *heights_for(low, np.array([1.0]), np.array([0.5]))).kerf_mm[0] < 0.0
