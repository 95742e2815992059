"""Parts of a board in service, each by itself: strings on a bridge that rises and thickens, what a share exceeds."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board.woods import wood
from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import bearing, pin_forces_N
from bellywork.mechanics.moisture import at_moisture
from bellywork.seasons.part_in_time import modulus_share
from bellywork.seasons.service import Fitting, Strings, _exceeded

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
