"""A fair line: the smoothest curve within a tolerance of the exact one."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats

KEPT_WAVE_NOTES = 24.0  # a waviness this long is halved, a shorter one goes, a longer one stays


def faired(exact_mm: Floats, along: Floats, tolerance_mm: ArrayLike, ceiling_mm: ArrayLike = np.inf) -> Floats:
    """A smooth line near an exact one: heights y in mm that bend least and stay within the tolerance.

    exact_mm       heights to be followed, in mm
    along          ascending place of each along the bridge, in any unit
    tolerance_mm   how far the line may leave each of them, above 0 mm
    ceiling_mm     heights not to be passed where the tolerance allows: the wood there is

    Least Σ (y″)² + ε Σ (y − exact)² subject to |y − exact| ≤ tolerance, y″ by divided differences in steps of a mean
    spacing; ε is the fourth power of the angular frequency whose wave is halved. A bounded linear least-squares
    problem (`scipy.optimize.lsq_linear`, BVLS).

    A straight line stays; a bump of 0.05 mm within a tolerance of 0.1 mm goes:

    >>> import numpy as np
    >>> bumped = np.array([1.0, 1.0, 1.0, 1.05, 1.0, 1.0, 1.0])
    >>> print(round(float(np.ptp(faired(bumped, np.arange(7.0), 0.1))), 3))
    0.001
    """
    n = len(exact_mm)
    if n < 3:
        return exact_mm
    from scipy.optimize import lsq_linear

    tolerance = np.broadcast_to(np.asarray(tolerance_mm, dtype=float), (n,))
    room = np.asarray(ceiling_mm) - exact_mm
    highest = np.where(room > -tolerance, np.clip(room, -tolerance * (1.0 - 1e-6), tolerance), tolerance)
    weight = (2.0 * np.pi / KEPT_WAVE_NOTES) ** 2
    bend = second_differences(along)
    matrix = np.vstack([bend, weight * np.eye(n)])
    solved = lsq_linear(
        matrix, np.concatenate([-bend @ exact_mm, np.zeros(n)]), bounds=(-tolerance, highest), method="bvls"
    )
    return np.asarray(exact_mm + solved.x)


def second_differences(along: Floats) -> Floats:
    """Matrix that takes heights to their second derivatives at the inner points, in units of the mean spacing."""
    step = np.diff(along) / np.mean(np.diff(along))
    inner = np.arange(len(along) - 2)
    before, after = step[:-1], step[1:]
    matrix = np.zeros((len(inner), len(along)))
    matrix[inner, inner] = 2.0 / (before * (before + after))
    matrix[inner, inner + 1] = -2.0 / (before * after)
    matrix[inner, inner + 2] = 2.0 / (after * (before + after))
    return matrix
