"""Parts of a board in service, each by itself: strings on a bridge that rises and thickens, what a share exceeds."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board.woods import wood
from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import bearing, pin_forces_N
from bellywork.mechanics.moisture import at_moisture
from bellywork.seasons.part_in_time import modulus_share
from bellywork.seasons.service import _exceeded
from bellywork.seasons.strings import Fitting, LeftAlone, Strings

LINE = one_string(speaking=640.0, rows=16.0, back=100.0, front=50.0, bridge=(51.0, 51.2), rear=49.0)
PULL = np.array([2100.0])


def strings(**words: object) -> Strings:
    given = {"line": LINE, "pull_N": PULL, "rest_mm": np.array([0.3, 0.4]), "grown_mm": np.zeros(1)}
    return Strings(**{**given, **words})


def test_a_bridge_that_rises_or_thickens_lifts_the_strings() -> None:
    """Invariant: where it rests the line is the one measured; a rise and a growth of the wood over it both add."""
    assert strings().at(np.array([0.3, 0.4])).bridge_front_mm == pytest.approx(LINE.bridge_front_mm)
    risen = strings(grown_mm=np.array([0.05])).at(np.array([0.8, 0.4]))
    assert risen.bridge_front_mm == pytest.approx(LINE.bridge_front_mm + 0.55)
    assert risen.bridge_rear_mm == pytest.approx(LINE.bridge_rear_mm + 0.05)
    assert risen.front_height_mm == LINE.front_height_mm


def test_growth_of_force_is_its_slope() -> None:
    """Invariant: the stiffness of the strings is the difference of their forces."""
    at, step = np.array([0.5, 0.1]), 1e-5
    forces, growth = strings().pressed(at)
    for k in range(2):
        further = at + step * np.eye(2)[k]
        assert (strings().pressed(further)[0] - forces) / step == pytest.approx(growth[:, k], rel=1e-3)
    assert np.allclose(growth, growth.T)


def test_steady_strings_press_as_measured_wherever_the_bridge_is() -> None:
    forces, growth = strings(steady=True).pressed(np.array([5.0, -5.0]))
    assert forces == pytest.approx(np.concatenate(pin_forces_N(LINE, PULL)))
    assert not growth.any()


def test_fitting_before_and_after_its_measurement() -> None:
    """Until it is measured where the bridge rests, strings press as on the line measured; then they follow."""
    fitting = Fitting(line=LINE, pull_N=PULL, measured_day=3.0, strung_day=1.0, grown_per_percent_mm=np.array([0.02]))
    assert fitting.strings(None, 0.0).steady
    known = fitting.strings(np.array([0.3, 0.4]), 2.0)
    assert not known.steady
    assert known.grown_mm == pytest.approx(0.04)


def test_stress_that_a_share_of_the_panel_exceeds() -> None:
    """Invariant: by area, not by number of points; a single point means nothing."""
    values = np.array([-9.0, -3.0, -1.0, 0.0])
    assert _exceeded(values, np.array([0.001, 0.5, 0.3, 0.2])) == -3.0
    assert _exceeded(values, np.array([0.5, 0.3, 0.1, 0.1])) == -9.0


def test_moduli_follow_the_moisture_by_the_direction_of_their_law() -> None:
    """Another path of this project: the handbook's trends of `at_moisture`; damp wood is softer, most so across."""

    class Points:
        wood = replace(at_moisture(wood("sitka_spruce"), 8.0))

    damp = at_moisture(Points.wood, 12.0)
    shares = {law: modulus_share(Points, law, 12.0) for law in ("along", "across", "shear", "rolling")}
    assert shares["along"] == pytest.approx(damp.E_L / Points.wood.E_L)
    assert shares["across"] == pytest.approx(damp.E_R / Points.wood.E_R)
    assert shares["across"] < shares["along"] < 1.0
    assert modulus_share(Points, "across", 8.0) == pytest.approx(1.0)


def test_strings_come_off_their_pins_without_a_jump() -> None:
    """Invariant: a balance may lie just where a string comes off, turned one way in front and the other behind; from a
    tenth of what is told apart on they press as everywhere else.
    """
    line = one_string(speaking=640.0, rows=16.0, back=100.0, front=50.0, bridge=(51.4, 51.2), rear=51.6)
    from_there = strings(line=line, rest_mm=np.zeros(2))
    rises = np.linspace(-0.4, 0.4, 4001)
    pressed = np.array([from_there.pressed(np.full(2, rise))[0] for rise in rises])
    net = np.array([bearing(from_there.at(np.full(2, rise))).net_deg[0] for rise in rises])
    leaving = int(np.argmax(net > 0.0))
    assert 0 < leaving < len(net)
    assert np.all(pressed[:leaving] == 0.0)
    assert np.abs(pressed[net > 0.03]).min() > 5.0  # both pins are turned over, in front and behind
    assert np.abs(np.diff(pressed, axis=0)).max() < 0.6  # N, for each 0.0002 mm
    far = int(np.argmax(net > 0.021))
    exact = np.concatenate(pin_forces_N(from_there.at(np.full(2, rises[far])), PULL))
    assert pressed[far] == pytest.approx(exact)


WIRE = np.array([450e3])  # E A of three strings of 1 mm, N, about


def left(*, holding: bool) -> LeftAlone:
    return LeftAlone(line=LINE, along_mm=np.array([0.02]) if holding else None, wire_N=WIRE)


def test_strings_left_alone_that_slip_pull_by_their_whole_length() -> None:
    """Worked out by hand: 640, 16 and 100 mm with the bridge top 1 and 1.2 mm over the front and 2 and 2.2 over the
    rear end, that sinks by 0.5 mm at both pins: the whole string is shorter by
    (1² − 0.5²)/(2 · 640) + (2.2² − 1.7²)/(2 · 100) mm, the run over the bridge as long as it was.
    """
    shorter = (1.0**2 - 0.5**2) / 1280.0 + (2.2**2 - 1.7**2) / 200.0
    slack = strings(left=left(holding=False), rest_mm=np.zeros(2)).pulls_N(np.full(2, -0.5))
    assert slack - PULL == pytest.approx(np.full((3, 1), -450e3 * shorter / 756.0), rel=1e-3)
    assert float(slack[0, 0] - PULL[0]) == pytest.approx(-6.15, abs=0.02)


def test_strings_left_alone_that_hold_pull_by_each_of_their_lengths() -> None:
    """Worked out by hand, as above: in front (1² − 0.5²)/(2 · 640) mm shorter and the bridge 0.03 mm farther to the
    rear than it was, behind (2.2² − 1.7²)/(2 · 100) mm and 0.03 mm shorter; over the bridge nothing stretches.
    """
    there = strings(left=left(holding=True), rest_mm=np.zeros(2))
    pull = there.pulls_N(np.array([-0.5, -0.5, 0.05]))
    front, rear = -(1.0**2 - 0.5**2) / 1280.0 + 0.03, -(2.2**2 - 1.7**2) / 200.0 - 0.03
    assert pull[:, 0] - PULL == pytest.approx([450e3 * front / 640.0, 0.0, 450e3 * rear / 100.0], rel=1e-3, abs=1e-9)
    forces, _ = there.pressed(np.array([-0.5, -0.5, 0.05]))
    slopes = [np.arctan(0.5 / 640.0), np.arctan(0.2 / 16.0), np.arctan(-1.7 / 100.0)]
    expected = [
        pull[0, 0] * np.sin(slopes[0]) - 2100.0 * np.sin(slopes[1]),
        2100.0 * np.sin(slopes[1]) - pull[2, 0] * np.sin(slopes[2]),
        pull[0, 0] - pull[2, 0],
    ]
    assert forces == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("holding", [False, True])
def test_growth_of_force_of_strings_left_alone_is_its_slope(holding: bool) -> None:
    """Invariant: as above; a string that stretches is the same spring seen from every move."""
    at, step = np.array([0.5, 0.1, 0.06]), 1e-6
    there = strings(left=left(holding=holding))
    forces, growth = there.pressed(at)
    for k in range(3):
        further = at + step * np.eye(3)[k]
        assert (there.pressed(further)[0] - forces) / step == pytest.approx(growth[:, k], rel=1e-3, abs=0.02)
    assert np.allclose(growth, growth.T)


def test_where_they_were_brought_to_pitch_strings_left_alone_pull_as_there() -> None:
    for holding in (False, True):
        there = strings(left=left(holding=holding)).pulls_N(np.array([0.3, 0.4, 0.02]))
        assert there == pytest.approx(np.tile(PULL, (3, 1)))
