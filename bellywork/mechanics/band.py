"""A symmetric positive definite matrix in band storage, and its Cholesky factor by LAPACK."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import as_strided
from scipy.linalg import cholesky_banded
from scipy.linalg.blas import dtbsv, dtrsm

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError

NEVER_ZERO = 1e-14  # added to the scaled diagonal: cells barely inside the outline leave movements with no stiffness


@dataclass(frozen=True, kw_only=True, eq=False)
class BandFactor:
    """Cholesky factor L of the scaled matrix, lower band storage (band + 1, n), with the scaling s: K = L Lᵀ / s sᵀ."""

    lower: Floats
    scale: Floats

    def half_solved(self, right: Floats, block: int = 192) -> Floats:
        """Forward half, X with L X = s · right, for many right sides (n, m) whose first rows may be zero.

        Row block I of L X = R is L_II X_I = R_I − Σ_{J<I} L_IJ X_J. Going down, each solved block J takes its L_IJ X_J
        off all rows below that the band reaches: the full rectangle right below the diagonal block, and the triangle
        that is left of the band beside it. So nearly all the work is products of matrices. A column whose first rows
        are zero is zero there in X too, and joins in at its first non-zero.
        """
        n, band = self.lower.shape[1], self.lower.shape[0] - 1
        block = min(block, band + 1)
        first = np.where(right.any(0), (right != 0.0).argmax(0), n)
        order = np.argsort(first)
        x = np.ascontiguousarray(right[:, order]) * self.scale[:, None]
        first = first[order]
        for start in range(0, n, block):
            stop = min(start + block, n)
            live = int(np.searchsorted(first, stop))
            if not live:
                continue
            diagonal = np.asfortranarray(self._dense(start, start, stop - start, stop - start))
            top = dtrsm(1.0, diagonal, x[start:stop, :live].T, side=1, lower=1, trans_a=1).T
            x[start:stop, :live] = top
            reach = min(start + band + 1, n)
            if reach > stop:
                x[stop:reach, :live] -= self._dense(stop, start, reach - stop, stop - start) @ top
            tail = min(stop + band, n) - reach
            if tail > 0:
                # the last rows of the band: a triangle, its other half belongs to other columns
                corner = np.triu(self._dense(reach, start + 1, tail, stop - start - 1))
                x[reach : reach + tail, :live] -= corner @ top[1:]
        back = np.empty_like(x)
        back[:, order] = x
        return back

    def rest_solved(self, half: Floats, block: int = 192) -> Floats:
        """Backward half, K⁻¹ right from what `half_solved` gave for `right` (n, m), in blocks as there."""
        n, band = self.lower.shape[1], self.lower.shape[0] - 1
        block = min(block, band + 1)
        x = np.array(half, order="C")
        for start in reversed(range(0, n, block)):
            stop = min(start + block, n)
            reach = min(start + band + 1, n)
            if reach > stop:
                x[start:stop] -= self._dense(stop, start, reach - stop, stop - start).T @ x[stop:reach]
            tail = min(stop + band, n) - reach
            if tail > 0:
                corner = np.triu(self._dense(reach, start + 1, tail, stop - start - 1))
                x[start + 1 : stop] -= corner.T @ x[reach : reach + tail]
            diagonal = np.asfortranarray(self._dense(start, start, stop - start, stop - start))
            x[start:stop] = dtrsm(1.0, diagonal, x[start:stop].T, side=1, lower=1).T
        x *= self.scale[:, None]
        return x

    def solved(self, right: Floats) -> Floats:
        """K⁻¹ right for one right side (n,)."""
        band = self.lower.shape[0] - 1
        half = dtbsv(band, self.lower, self.scale * right, lower=1)
        whole: Floats = dtbsv(band, self.lower, half, lower=1, trans=1)
        return self.scale * whole

    def _dense(self, row: int, column: int, rows: int, columns: int) -> Floats:
        """A view of L as a dense block; what lies outside the band's triangle is some other entry."""
        band, item = self.lower.shape[0] - 1, self.lower.itemsize
        flat = self.lower.T.reshape(-1)
        return as_strided(flat[row + column * band :], (rows, columns), (item, band * item), writeable=False)


def factored(lower: Floats) -> BandFactor:
    """Factor a matrix in lower band storage (band + 1, n), Fortran order; the storage is overwritten.

    Raises SolveError where the matrix is not positive definite: something can move freely.
    """
    # a movement that nothing answers to (a node that only the rim's curve touches, turning on a hinge) stands by itself
    lower[0, lower[0] <= 0.0] = 1.0
    diagonal = lower[0].copy()
    scale = 1.0 / np.sqrt(diagonal)
    n = len(diagonal)
    columns = lower.T  # rows of this view are the columns of the matrix, contiguous
    columns *= scale[:, None]
    for start in range(0, n, 512):
        stop = min(start + 512, n)
        reach = np.minimum(np.arange(start, stop)[:, None] + np.arange(lower.shape[0]), n - 1)
        columns[start:stop] *= scale[reach]
    lower[0] += NEVER_ZERO
    try:
        factor = cholesky_banded(lower, lower=True, overwrite_ab=True, check_finite=False)
    except np.linalg.LinAlgError:
        raise SolveError(
            "The board can move freely: its rim holds too little, or a part of the panel hangs loose."
        ) from None
    return BandFactor(lower=factor, scale=scale)
