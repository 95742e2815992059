"""Properties of the string line that hold for any string. Kind of every check: invariant."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import bearing, downforce_N, heights_for, pin_forces_N, topped
from bellywork.geometry.thread import net_of_block_deg, threaded

LINES = st.builds(
    lambda speaking, rows, back, front, top, slope, rear: one_string(
        speaking=speaking, rows=rows, back=back, front=front, bridge=(top, top + slope * rows), rear=rear
    ),
    speaking=st.floats(40.0, 2100.0),
    rows=st.floats(6.0, 30.0),
    back=st.floats(20.0, 400.0),
    front=st.floats(-20.0, 20.0),
    top=st.floats(-20.0, 20.0),
    slope=st.floats(-0.2, 0.2),
    rear=st.floats(-20.0, 20.0),
)
NETS = st.floats(-3.0, 8.0).map(lambda net: np.array([net]))
SHARES = st.floats(0.0, 1.0).map(lambda share: np.array([share]))


@given(LINES)
def test_front_and_rear_make_the_net(line):
    turned = bearing(line)
    np.testing.assert_allclose(turned.front_deg + turned.rear_deg, turned.net_deg, atol=1e-12)


@given(LINES, st.floats(-500.0, 500.0))
def test_the_common_level_does_not_matter(line, up):
    moved = one_string(
        speaking=line.speaking_mm[0],
        rows=line.rows_mm[0],
        back=line.back_mm[0],
        front=line.front_height_mm[0] + up,
        bridge=(line.bridge_front_mm[0] + up, line.bridge_rear_mm[0] + up),
        rear=line.rear_height_mm[0] + up,
    )
    np.testing.assert_allclose(bearing(moved).net_deg, bearing(line).net_deg, atol=1e-10)
    np.testing.assert_allclose(bearing(moved).front_deg, bearing(line).front_deg, atol=1e-9)
    np.testing.assert_allclose(bearing(moved).string_deflection_mm, bearing(line).string_deflection_mm, atol=1e-9)


@given(LINES)
def test_seen_from_behind_front_and_rear_change_places(line):
    mirrored = one_string(
        speaking=line.back_mm[0],
        rows=line.rows_mm[0],
        back=line.speaking_mm[0],
        front=line.rear_height_mm[0],
        bridge=(line.bridge_rear_mm[0], line.bridge_front_mm[0]),
        rear=line.front_height_mm[0],
    )
    here, there, pull = bearing(line), bearing(mirrored), np.array([700.0])
    np.testing.assert_allclose(here.front_deg, there.rear_deg, atol=1e-12)
    np.testing.assert_allclose(here.string_deflection_mm, there.string_deflection_mm, atol=1e-10)
    np.testing.assert_allclose(pin_forces_N(line, pull), pin_forces_N(mirrored, pull)[::-1], atol=1e-9)


@given(LINES, st.floats(0.5, 40.0))
def test_a_larger_drawing_has_the_same_angles(line, scale):
    larger = one_string(
        speaking=scale * line.speaking_mm[0],
        rows=scale * line.rows_mm[0],
        back=scale * line.back_mm[0],
        front=scale * line.front_height_mm[0],
        bridge=(scale * line.bridge_front_mm[0], scale * line.bridge_rear_mm[0]),
        rear=scale * line.rear_height_mm[0],
    )
    np.testing.assert_allclose(bearing(larger).net_deg, bearing(line).net_deg, atol=1e-10)


@given(LINES, NETS, SHARES)
def test_heights_for_a_bearing_measure_as_that_bearing(line, net, share):
    turned = bearing(topped(line, *heights_for(line, net, share)))
    np.testing.assert_allclose(turned.net_deg, net, atol=1e-9)
    np.testing.assert_allclose(turned.front_deg, net * share, atol=1e-9)


@given(LINES, NETS, SHARES)
def test_block_and_net_are_two_ways_of_saying_one_thing(line, net, share):
    block = threaded(line, *heights_for(line, net, share)).block_mm
    np.testing.assert_allclose(net_of_block_deg(line, block), net, atol=1e-8)


@given(LINES)
def test_strings_never_pull_the_bridge_up_in_all(line):
    force = downforce_N(line, np.array([700.0]))
    assert force[0] >= 0.0
    assert force[0] == 0.0 or not bearing(line).lifted[0]
