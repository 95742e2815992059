"""The most likely values of unknowns under readings, and how sure they are: robust Gauss–Newton about a prior.

With unknowns θ, a prior N(0, P), readings y of which the model predicts u(θ) and which scatter by s, the estimate makes

    ½ θᵀ P⁻¹ θ + Σ ρ((y − u(θ)) / s)

least. ρ is that of Student's t, so that a misreading pulls little: each reading has the weight (ν + 1) / (ν + r²),
bounded by 1, r its misfit over s (Lange, Little and Taylor 1989, J. Am. Stat. Assoc. 84, 881; from memory). The
covariance is (Jᵀ W J + P⁻¹)⁻¹, J the slopes of u at the estimate and W the weights over s².
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats

SIGMAS = 1.959963984540054  # a 95 % half width over a standard deviation
FREEDOM = 4.0  # ν of Student's t: of its readings about one in fifty lies beyond four s
ROUNDS = 4
WEIGHINGS = 30
MOSTLY = 0.75
MISREAD = 3.5  # times its scatter that a reading may be off before it is named
SETTLED = 3e-3  # of a prior standard deviation: each round leaves a tenth or less of what the one before did


@dataclass(frozen=True, kw_only=True, eq=False)
class Posterior:
    """What readings leave of the doubt.

    value           most likely value of each unknown
    covariance      of the unknowns
    misfit          of each reading over its scatter; a misreading stands out
    weight          of each reading, 1: in full
    """

    value: Floats
    covariance: Floats
    misfit: Floats
    weight: Floats


def weights(misfit: Floats) -> Floats:
    """Weight of readings so many times their scatter off.

    >>> weights(np.array([0.0, 1.0, 6.0])).round(3).tolist()
    [1.0, 1.0, 0.125]
    """
    return np.minimum((FREEDOM + 1.0) / (FREEDOM + misfit**2), 1.0)


def beyond_chance(misfit: Floats) -> float:
    """How much wider than told the readings of one gauge scatter (Birge's ratio); 1 while it may be chance, 95 %.

    A misreading stands apart; where more than a quarter would be misread, the gauge is not what it was told to be.

    >>> beyond_chance(np.array([1.0, -1.5, 0.5, 1.2])), round(beyond_chance(np.array([3.0, -2.5, 2.0, 3.0])), 2)
    (1.0, 3.07)
    >>> round(beyond_chance(np.array([12.0, -9.0, 15.0])), 1)
    15.0
    """
    from scipy.special import chdtri

    kept = misfit[np.abs(misfit) <= MISREAD]
    if len(kept) < MOSTLY * len(misfit):
        kept = misfit
    squares, spare = float(np.sum(kept**2)), len(kept) - 1
    return float(np.sqrt(squares / spare)) if spare > 0 and squares > chdtri(spare, 0.05) else 1.0


def inferred(
    *,
    read: Floats,
    scatter: Floats,
    prior: Floats,
    predicted: Callable[[Floats], Floats],
    slopes: Callable[[Floats], Floats],
) -> Posterior:
    """The estimate from readings (readings,) with their scatter (readings,) and a prior covariance.

    predicted   what the readings would be at given values of the unknowns
    slopes      (readings, unknowns) there

    >>> found = inferred(read=np.array([1.0]), scatter=np.array([1.0]), prior=np.eye(1),
    ...                  predicted=lambda x: x, slopes=lambda x: np.eye(1))
    >>> round(float(found.value[0]), 6), round(float(found.covariance[0, 0]), 6)
    (0.5, 0.5)
    """
    held: Floats = np.asarray(np.linalg.inv(prior), dtype=np.float64)
    value = np.zeros(len(prior))
    for _ in range(ROUNDS):
        before = value
        value = _linear(read, scatter, held, predicted(value), slopes(value), value)
        if np.max(np.abs(value - before) / np.sqrt(np.diag(prior))) <= SETTLED:
            break
    misfit = (read - predicted(value)) / scatter
    weight, J = weights(misfit), slopes(value)
    return Posterior(
        value=value,
        covariance=covariance(J, weight / scatter**2, held),
        misfit=misfit,
        weight=weight,
    )


def covariance(slopes: Floats, sure: Floats, held: Floats) -> Floats:
    """Covariance of unknowns from slopes (readings, unknowns), weights over variances and the inverse prior."""
    return np.asarray(np.linalg.inv(slopes.T @ (sure[:, None] * slopes) + held), dtype=np.float64)


def _linear(read: Floats, scatter: Floats, held: Floats, predicted: Floats, J: Floats, about: Floats) -> Floats:
    """The estimate of the model made linear about some values, weighed until the weights stay."""
    value = about
    for _ in range(WEIGHINGS):
        misfit = (read - predicted - J @ (value - about)) / scatter
        W = weights(misfit) / scatter**2
        left = J.T @ (W[:, None] * J) + held
        new: Floats = np.asarray(np.linalg.solve(left, J.T @ (W * (read - predicted + J @ about))), dtype=np.float64)
        if np.max(np.abs(new - value)) <= 1e-9:
            return np.asarray(new)
        value = new
    return value
