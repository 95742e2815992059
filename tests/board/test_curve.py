"""The smooth curve of a bridge. Kind of expected numbers: reference library (scipy's natural cubic spline)."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from bellywork.board.curve import NaturalCurve


@pytest.mark.parametrize("count", [2, 3, 4, 9])
def test_it_is_the_natural_cubic_spline(count: int) -> None:
    """Knots unevenly far from each other; inside, at the knots, and beyond both ends."""
    random = np.random.default_rng(count)
    knots, points = np.cumsum(random.uniform(20.0, 300.0, count)), random.normal(0.0, 200.0, (count, 2))
    ours, theirs = NaturalCurve(knots_mm=knots, points_mm=points), CubicSpline(knots, points, bc_type="natural")
    along = np.concatenate([knots, random.uniform(knots[0] - 20.0, knots[-1] + 20.0, 40)])
    assert ours(along) == pytest.approx(theirs(along), rel=1e-9, abs=1e-7)
    assert ours(along, 1) == pytest.approx(theirs(along, 1), rel=1e-9, abs=1e-9)
    assert ours(knots[0]).shape == (2,)
    assert ours(along[:6].reshape(2, 3), 1).shape == (2, 3, 2)
