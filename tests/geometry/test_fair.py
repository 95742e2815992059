"""Fair lines. Kind of every expected number: invariant; the optimum is checked against scipy's own quadratic solver."""

import numpy as np
import pytest
from scipy.optimize import minimize

from bellywork.geometry.fair import KEPT_WAVE_NOTES, faired, second_differences

ALONG = np.arange(40.0)


def test_a_straight_line_stays():
    exact = 3.0 + 0.1 * ALONG
    np.testing.assert_allclose(faired(exact, ALONG, 0.1), exact, atol=1e-12)


def test_it_stays_within_the_tolerance_and_bends_less():
    exact = 5.0 + 0.001 * ALONG**2 + np.random.default_rng(3).normal(0.0, 0.1, 40)
    fair = faired(exact, ALONG, 0.15)
    bend = second_differences(ALONG)
    assert np.max(np.abs(fair - exact)) <= 0.15 + 1e-12
    assert np.sum((bend @ fair) ** 2) < 0.1 * np.sum((bend @ exact) ** 2)


def test_a_long_wave_stays_and_a_short_one_goes():
    for notes, kept in ((KEPT_WAVE_NOTES, 0.5), (160.0, 0.99)):
        along = np.arange(480.0)
        wave = 0.1 * np.sin(2.0 * np.pi * along / notes)
        inner = slice(160, 320)
        assert np.ptp(faired(wave, along, 10.0)[inner]) / 0.2 == pytest.approx(kept, abs=0.02)
    assert np.ptp(faired(0.1 * (-1.0) ** ALONG, ALONG, 10.0)[10:30]) < 0.2 / 50.0


def test_uneven_spacing_bends_by_the_curve_not_by_the_spacing():
    along = np.cumsum(np.random.default_rng(5).uniform(5.0, 20.0, 30))
    exact = 1.0 + 0.02 * along
    np.testing.assert_allclose(faired(exact, along, 0.1), exact, atol=1e-10)
    parabola = second_differences(along) @ (along / np.mean(np.diff(along))) ** 2
    np.testing.assert_allclose(parabola, 2.0, rtol=1e-9)


def test_it_keeps_under_the_wood_where_the_tolerance_allows():
    exact = np.where(ALONG % 2 == 0, 5.0, 5.1)
    ceiling = np.full(40, 5.02)
    fair = faired(exact, ALONG, 0.1, ceiling)
    assert np.all(fair <= ceiling + 1e-9)
    assert np.max(np.abs(fair - exact)) <= 0.1 + 1e-9


def test_where_wood_lacks_by_more_than_the_tolerance_the_wood_is_no_limit():
    ceiling = np.where(ALONG == 20, 4.0, 9.0)
    np.testing.assert_allclose(faired(np.full(40, 5.0), ALONG, 0.1, ceiling), 5.0, atol=1e-9)


def test_it_is_the_optimum():
    random = np.random.default_rng(7)
    along, exact = np.cumsum(random.uniform(0.5, 2.0, 12)), random.normal(0.0, 0.2, 12)
    bend, weight = second_differences(along), (2.0 * np.pi / KEPT_WAVE_NOTES) ** 4

    def cost(y):
        return np.sum((bend @ y) ** 2) + weight * np.sum((y - exact) ** 2)

    other = minimize(
        cost,
        exact,
        bounds=[(e - 0.1, e + 0.1) for e in exact],
        method="L-BFGS-B",
        options={"ftol": 1e-15, "gtol": 1e-10},
    )
    fair = faired(exact, along, 0.1)
    assert cost(fair) <= other.fun * (1.0 + 1e-8)
    np.testing.assert_allclose(fair, other.x, atol=1e-4)


def test_two_notes_are_fair_as_they_are():
    exact = np.array([1.0, 2.0])
    assert faired(exact, np.arange(2.0), 0.1) is exact
