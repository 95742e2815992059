"""The estimate of unknowns, apart from any board."""

import numpy as np
import pytest

from bellywork.estimate.inference import inferred, weights


def linear(J: np.ndarray, read: np.ndarray, scatter: np.ndarray, prior: np.ndarray):
    return inferred(read=read, scatter=scatter, prior=prior, predicted=lambda x: J @ x, slopes=lambda x: J)


def test_linear_and_gaussian_it_is_the_closed_form() -> None:
    """One reading after the other by the conditional Gaussian, as in any textbook: another road to the same numbers."""
    random = np.random.default_rng(1)
    J, prior = random.normal(size=(6, 4)), np.diag([0.2, 0.4, 1.0, 0.1]) ** 2
    scatter = np.full(6, 0.5)
    read = J @ (0.3 * np.sqrt(np.diag(prior))) + 0.1 * random.normal(size=6)  # within a scatter: weights stay 1
    mean, sigma = np.zeros(4), prior
    for row, value, s in zip(J, read, scatter):
        gain = sigma @ row / (s**2 + row @ sigma @ row)
        mean, sigma = mean + gain * (value - row @ mean), sigma - np.outer(gain, row @ sigma)
    found = linear(J, read, scatter, prior)
    assert found.weight == pytest.approx(np.ones(6))
    assert found.value == pytest.approx(mean, abs=1e-9)
    assert found.covariance == pytest.approx(sigma, abs=1e-12)


def test_a_model_that_bends_is_followed_to_its_own_minimum() -> None:
    """The minimum of the sum itself, found by a general minimiser that knows no slopes."""
    from scipy.optimize import minimize

    read, scatter, prior = np.array([1.9, 0.6]), np.array([0.1, 0.05]), np.diag([1.0, 0.3])

    def predicted(x: np.ndarray) -> np.ndarray:
        return np.array([np.exp(-x[0]) + 0.2 * x[1], 1.0 / (1.0 + np.exp(x[1]))])

    def slopes(x: np.ndarray) -> np.ndarray:
        sigmoid = 1.0 / (1.0 + np.exp(x[1]))
        return np.array([[-np.exp(-x[0]), 0.2], [0.0, -sigmoid * (1.0 - sigmoid)]])

    def misfit(x: np.ndarray) -> float:
        return 0.5 * np.sum(((read - predicted(x)) / scatter) ** 2) + 0.5 * x @ np.linalg.solve(prior, x)

    best = minimize(misfit, np.zeros(2), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}).x
    found = inferred(read=read, scatter=scatter, prior=prior, predicted=predicted, slopes=slopes)
    assert np.max(np.abs(found.misfit)) < 1.0  # the robust weights are all 1, so both sums are the same
    assert found.value == pytest.approx(best, abs=1e-4)


def test_a_misreading_pulls_little_and_stands_out() -> None:
    J, prior, scatter = np.ones((6, 1)), np.eye(1) * 100.0, np.full(6, 0.1)
    read = np.array([1.0, 1.05, 0.95, 1.02, 0.98, 3.0])
    found = linear(J, read, scatter, prior)
    plain = read.mean()
    assert abs(found.value[0] - 1.0) < 0.1 * abs(plain - 1.0)
    assert np.abs(found.misfit).argmax() == 5
    assert found.weight[5] < 0.05
    # and it leaves the others' doubt nearly as it would be without it
    alone = linear(J[:5], read[:5], scatter[:5], prior)
    assert found.covariance[0, 0] == pytest.approx(alone.covariance[0, 0], rel=0.05)


def test_weights_are_those_of_student_bounded_by_one() -> None:
    misfit = np.array([-8.0, 0.0, 0.5, 3.0])
    assert weights(misfit) == pytest.approx([5.0 / 68.0, 1.0, 1.0, 5.0 / 13.0])
