"""The thin-plate spline against scipy's, and what must hold of any."""

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from bellywork.errors import BoardError
from bellywork.geometry.crown_surface import smooth_field

RANDOM = np.random.default_rng(11)
POINTS = RANDOM.uniform([-200.0, 900.0], [1300.0, 2400.0], (60, 2))
VALUES = RANDOM.normal(0.0, 5.0, 60)
AT = RANDOM.uniform([-300.0, 800.0], [1400.0, 2500.0], (400, 2))


def test_it_is_the_general_library_s_spline() -> None:
    """Independent: scipy.interpolate.RBFInterpolator, kernel thin_plate_spline."""
    theirs = RBFInterpolator(POINTS, VALUES, kernel="thin_plate_spline")(AT)
    np.testing.assert_allclose(smooth_field(POINTS, VALUES)(AT), theirs, atol=1e-8)


def test_a_plane_stays_a_plane_and_points_are_met() -> None:
    plane = 3.0 + POINTS @ [0.01, -0.02]
    np.testing.assert_allclose(smooth_field(POINTS, plane)(AT), 3.0 + AT @ [0.01, -0.02], atol=1e-9)
    np.testing.assert_allclose(smooth_field(POINTS, VALUES)(POINTS), VALUES, atol=1e-8)


def test_points_nearer_than_a_millimetre_count_once() -> None:
    twice = np.vstack([POINTS, POINTS[:5] + 0.01])
    assert np.isfinite(smooth_field(twice, np.append(VALUES, VALUES[:5]))(AT)).all()


def test_points_on_one_line_are_refused() -> None:
    line = np.linspace(0.0, 1.0, 9)[:, None] * [300.0, 100.0]
    with pytest.raises(BoardError, match=r"^A smooth surface needs points that do not all lie on one line\.$"):
        smooth_field(line, np.zeros(9))
