"""The rise of a rib's middle from readings along it. Kinds of expected numbers: a general-purpose library (scipy.odr)
on the same points; Monte Carlo, drawn from the family that is fitted; invariants."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellywork.errors import BoardError
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.rib_fit import rib_fit

PLACES = np.array([0.0, 0.14, 0.3, 0.45, 0.58, 0.72, 0.86, 1.0])


def arc(x: np.ndarray, span: float, radius: float) -> np.ndarray:
    return np.sqrt(radius**2 - (x - span / 2.0) ** 2) - np.sqrt(radius**2 - span**2 / 4.0)


def test_a_circle_by_orthogonal_distances_has_the_same_radius():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        from scipy import odr

    span, random = 900.0, np.random.default_rng(4)
    x = PLACES * span
    y = arc(x, span, 15000.0) + random.normal(0.0, 0.1, len(x))
    circle = odr.Model(lambda p, at: np.hypot(at[0] - p[0], at[1] - p[1]) - p[2], implicit=True)
    found = odr.ODR(odr.Data(np.vstack([x, y]), y=1), circle, beta0=[span / 2.0, -15000.0, 15000.0], maxit=500).run()
    fit = rib_fit(x, y, span_mm=span)
    assert fit.skew_mm == 0.0
    rise = found.beta[2] - np.sqrt(found.beta[2] ** 2 - span**2 / 4.0)
    assert fit.rise_mm == pytest.approx(rise, abs=0.02)


def test_the_uncertainty_is_that_of_monte_carlo():
    random, x = np.random.default_rng(7), PLACES * 600.0
    clean = arc(x, 600.0, 18000.0)
    rises = [rib_fit(x, clean + random.normal(0.0, 0.25 / SIGMAS, 8), span_mm=600.0) for _ in range(800)]
    plain = [fit.rise_mm for fit in rises if not len(fit.outliers) and fit.skew_mm == 0.0 and not fit.loose]
    wide = next(fit.rise_uncertainty_mm for fit in rises if not fit.loose and not len(fit.outliers))
    assert SIGMAS * np.std(plain) == pytest.approx(wide, rel=0.06)


def test_the_band_holds_the_truth_in_95_of_100():
    random, x, held = np.random.default_rng(11), PLACES * 600.0, 0
    for _ in range(1000):
        rise = random.uniform(-2.0, 4.0)
        y = (1.0 - (2.0 * PLACES - 1.0) ** 2) * rise + random.normal() + random.normal() * PLACES
        fit = rib_fit(x, y + random.normal(0.0, 0.25 / SIGMAS, 8), span_mm=600.0)
        held += abs(fit.rise_mm - rise) <= fit.rise_uncertainty_mm
    assert 0.93 <= held / 1000 <= 0.97


@given(st.floats(-5.0, 5.0), st.floats(-5.0, 5.0), st.floats(-3.0, 6.0), st.permutations(range(8)))
@settings(max_examples=50)
def test_tilting_or_lifting_the_thread_or_reading_in_another_order_changes_nothing(lift, tilt, rise, order):
    x = PLACES * 800.0
    y = (1.0 - (2.0 * PLACES - 1.0) ** 2) * rise
    first = rib_fit(x, y, span_mm=800.0)
    other = rib_fit(x[list(order)], (y + lift + tilt * PLACES)[list(order)], span_mm=800.0)
    assert other.rise_mm == pytest.approx(first.rise_mm, abs=1e-9)
    assert other.rise_uncertainty_mm == pytest.approx(first.rise_uncertainty_mm)


def test_a_rib_in_an_s_has_its_skew_and_no_misreading():
    x, bow = PLACES * 600.0, 1.0 - (2.0 * PLACES - 1.0) ** 2
    fit = rib_fit(x, 0.8 * bow + 3.0 * bow * (2.0 * PLACES - 1.0), span_mm=600.0)
    assert (fit.rise_mm, fit.skew_mm) == (pytest.approx(0.8), pytest.approx(3.0))
    assert not len(fit.outliers)
    assert not fit.loose


def test_the_gain_is_the_change_of_the_rise_for_each_reading():
    """Differences; a reading that is left out has none."""
    x, y = PLACES * 600.0, 2.0 * (1.0 - (2.0 * PLACES - 1.0) ** 2)
    y[3] += 1.5
    fit = rib_fit(x, y, span_mm=600.0)
    for k in range(8):
        step = np.where(np.arange(8) == k, 0.01, 0.0)
        assert (rib_fit(x, y + step, span_mm=600.0).rise_mm - fit.rise_mm) / 0.01 == pytest.approx(
            fit.gain[k], abs=1e-9
        )
    assert fit.gain[3] == 0.0


def test_a_misread_gauge_is_named_and_left_out():
    x, y = PLACES * 600.0, 2.0 * (1.0 - (2.0 * PLACES - 1.0) ** 2)
    y[3] += 1.5
    fit = rib_fit(x, y, span_mm=600.0)
    assert fit.outliers.tolist() == [3]
    assert fit.rise_mm == pytest.approx(2.0, abs=1e-9)


def test_one_reading_in_the_middle_leans_on_touching_ends():
    fit = rib_fit([250.0], [1.7], span_mm=500.0)
    assert fit.rise_mm == pytest.approx(1.7)
    assert fit.rise_uncertainty_mm > 0.2


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (([1.0], [1.0], {"span_mm": 0.0}), r"^A thread or straightedge needs its span"),
        (([], [], {"span_mm": 500.0}), r"^A rib's shape needs a reading"),
        (([600.0], [1.0], {"span_mm": 500.0}), r"^A reading at 600 mm lies outside its span of 500 mm\.$"),
        (([1.0], [1.0], {"span_mm": 500.0, "uncertainty_mm": 0.0}), r"uncertainty above 0 mm\.$"),
    ],
)
def test_what_cannot_be_fitted_is_said(how, said):
    with pytest.raises(BoardError, match=said):
        rib_fit(*how[:2], **how[2])
