"""The rise of one rib's middle from readings along it: an arc and its skew, by least squares; what was misread."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats, Ints
from bellywork.errors import BoardError
from bellywork.estimate.inference import SIGMAS

USUAL_UNCERTAINTY_MM = 0.25  # a thread read by blocks or feelers; common practice, no source
END_SHARE = 0.06  # a reading this near to an end of the span is one of the end


@dataclass(frozen=True, kw_only=True, eq=False)
class RibFit:
    """An arc and its skew through readings of one rib; mm over the straight line between the ends of the span.

    rise_mm, rise_uncertainty_mm   rise of the middle, up positive, and its 95 % half width
    skew_mm                        what is added a quarter from the start and taken away a quarter from the end, times
                                   8/3: the odd part of the shape; 0 where the readings do not show one
    outliers                       places in the readings of those that were left out, the worst first
    loose                          True where the readings scatter more than their uncertainty allows
    gain                           change of the rise for 1 mm more of each reading, 0 where left out
    """

    rise_mm: float
    rise_uncertainty_mm: float
    skew_mm: float
    outliers: Ints
    loose: bool
    gain: Floats


def rib_fit(
    position_mm: ArrayLike,
    reading_mm: ArrayLike,
    *,
    span_mm: float,
    uncertainty_mm: ArrayLike = USUAL_UNCERTAINTY_MM,
) -> RibFit:
    """Fit a rib's shape to gaps at positions along a span, by least squares.

    position_mm      (readings,), from the start of the span
    reading_mm       gap between thread and panel, the thread stretched below it from end to end: wider in the middle
                     is crowned. Depths from a straightedge above go in with their sign turned
    uncertainty_mm   95 % half width, of all or of each

    The shape is (1 − ξ²)(rise + skew ξ) over the span, ξ from −1 to 1, on a straight line whose ends are free where
    both were read, so that tilting or lifting the thread changes nothing. Where they were not, thread and panel are
    taken to touch there, within the reading's uncertainty. The odd part is kept where it is significant at 95 %. A
    reading that no other supports (Bonferroni, 99 %, against its own uncertainty) is left out and named, one at a time,
    while two more remain than are needed. Scatter beyond chance (χ², 95 %) widens the uncertainty by Birge's ratio.

    Raises BoardError without a reading, a span, or with a position outside it.

    >>> fit = rib_fit([0, 250, 500], [0.0, 1.7, 0.0], span_mm=500)  # half a metre of 60 ft
    >>> round(fit.rise_mm, 2)
    1.7
    """
    x, y, sigma = _checked(position_mm, reading_mm, span_mm, uncertainty_mm)
    ends_read = bool(np.any(x <= -1.0 + 2.0 * END_SHARE) and np.any(x >= 1.0 - 2.0 * END_SHARE))
    kept = np.ones(len(x), bool)
    outliers: list[int] = []
    while True:
        fit = _fitted(x, y, sigma, kept, ends_read)
        worst = _misread(fit, x, y, sigma, kept, ends_read)
        if worst is None:
            break
        kept[worst] = False
        outliers.append(worst)
    terms, covariance, chance = fit
    gain = np.where(kept, covariance[2] @ (_columns(x, len(terms)) / sigma[:, None] ** 2).T, 0.0)
    loose = chance > 1.0
    wide = SIGMAS * float(np.sqrt(covariance[2, 2])) * (chance if loose else 1.0)
    return RibFit(
        rise_mm=float(terms[2]),
        rise_uncertainty_mm=wide,
        skew_mm=float(terms[3]) if len(terms) > 3 else 0.0,
        outliers=np.array(outliers, dtype=np.int64),
        loose=loose,
        gain=gain,
    )


def _checked(
    position_mm: ArrayLike, reading_mm: ArrayLike, span_mm: float, uncertainty_mm: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    position, reading = (np.atleast_1d(np.asarray(each, dtype=float)) for each in (position_mm, reading_mm))
    if not span_mm > 0.0:
        raise BoardError("A thread or straightedge needs its span, above 0 mm: a rise says nothing without it.")
    if len(position) != len(reading) or not len(position):
        raise BoardError("A rib's shape needs a reading at one position or more along its span.")
    outside = (position < 0.0) | (position > span_mm) | ~np.isfinite(position)
    if np.any(outside):
        raise BoardError(f"A reading at {position[outside][0]:g} mm lies outside its span of {span_mm:g} mm.")
    sigma = np.broadcast_to(np.asarray(uncertainty_mm, dtype=float), position.shape) / SIGMAS
    if not (np.all(sigma > 0.0) and np.all(np.isfinite(reading))):
        raise BoardError("Readings are numbers, each with an uncertainty above 0 mm.")
    return 2.0 * position / span_mm - 1.0, reading, sigma


def _columns(x: Floats, terms: int) -> Floats:
    bow = 1.0 - x * x
    return np.stack([np.ones_like(x), x, bow, bow * x], axis=1)[:, :terms]


Fitted = tuple[Floats, Floats, float]


def _fitted(x: Floats, y: Floats, sigma: Floats, kept: np.ndarray, ends_read: bool) -> Fitted:
    """Terms, their covariance, and the ratio by which the readings scatter beyond chance (1: they do not)."""
    plain = _solved(x, y, sigma, kept, ends_read, 3)
    if kept.sum() + 2 * (not ends_read) < 5:
        return plain
    odd = _solved(x, y, sigma, kept, ends_read, 4)
    terms, covariance, _ = odd
    return odd if abs(terms[3]) > SIGMAS * np.sqrt(covariance[3, 3]) else plain


def _solved(x: Floats, y: Floats, sigma: Floats, kept: np.ndarray, ends_read: bool, terms: int) -> Fitted:
    from scipy.special import chdtri

    at, value, width = x[kept], y[kept], sigma[kept]
    if not ends_read:
        # thread and panel touch at the ends, as nearly as a reading tells
        at, value = np.concatenate([at, [-1.0, 1.0]]), np.concatenate([value, [0.0, 0.0]])
        width = np.concatenate([width, np.full(2, float(np.mean(sigma)))])
    A = _columns(at, terms) / width[:, None]
    covariance = np.linalg.pinv(A.T @ A)
    found = covariance @ A.T @ (value / width)
    spare = len(at) - terms
    misfit = float(np.sum((value / width - A @ found) ** 2))
    beyond = spare > 0 and misfit > chdtri(spare, 0.05)
    return found, covariance, float(np.sqrt(misfit / spare)) if beyond else 1.0


def _misread(fit: Fitted, x: Floats, y: Floats, sigma: Floats, kept: np.ndarray, ends_read: bool) -> int | None:
    """The reading that the others contradict most, where they do and can."""
    from scipy.special import ndtri

    needed = 4 + (1 if ends_read else -1)
    if kept.sum() <= needed:
        return None
    limit = float(ndtri(1.0 - 0.005 / kept.sum()))
    size = np.zeros(len(x))
    for k in np.flatnonzero(kept):
        without = kept.copy()
        without[k] = False
        terms, covariance, _ = _fitted(x, y, sigma, without, ends_read)
        row = _columns(x[k : k + 1], len(terms))[0]
        size[k] = abs(y[k] - row @ terms) / np.sqrt(sigma[k] ** 2 + row @ covariance @ row)
    worst = int(np.argmax(size))
    return worst if size[worst] > limit else None
