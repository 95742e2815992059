"""A symmetric positive definite matrix kept row by row from the first entry that can be there, and its Cholesky factor.

The rows come in blocks; a block is one dense array from the first column that any of its rows reaches to the diagonal.
A board is not as wide everywhere as where it is widest: such blocks hold two thirds of what a band holds, and less than
half of a band's work is to be done. Nothing comes to be outside of them in the factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri

from bellywork.board.arrays import Floats, Ints
from bellywork.errors import SolveError

BLOCK = 96  # rows: wider ones hold more for nothing, smaller ones are slow products
NEVER_ZERO = 1e-14  # of the diagonal, added to it: cells barely inside the outline leave movements with no stiffness


@dataclass(frozen=True, kw_only=True, eq=False)
class Skyline:
    """Which entries of a symmetric matrix are kept, and where they stand in one flat array. Made by `skyline`.

    size   rows of the matrix
    left   first column of each block of rows (blocks,)
    """

    size: int
    left: Ints

    @cached_property
    def starts(self) -> Ints:
        """First row of each block, and the size of the matrix behind them, (blocks + 1,)."""
        return np.append(np.arange(0, self.size, BLOCK), self.size)

    @cached_property
    def _offsets(self) -> Ints:
        """Where each block begins, and how many entries there are, (blocks + 1,)."""
        rows = np.diff(self.starts) * (self.starts[1:] - self.left)
        return np.append(0, np.cumsum(rows))

    @cached_property
    def _row(self) -> Ints:
        """Where column 0 of each row would stand, (size,)."""
        block = np.arange(self.size) // BLOCK
        width = (self.starts[1:] - self.left)[block]
        return np.asarray(self._offsets[block] + (np.arange(self.size) - self.starts[block]) * width - self.left[block])

    def places(self, rows: Ints, columns: Ints) -> Ints:
        """Where entries stand, from either side of the diagonal. Raises ValueError for one that is not kept."""
        rows, columns = np.maximum(rows, columns), np.minimum(rows, columns)
        if np.any(columns < self.left[rows // BLOCK]):
            raise ValueError("This matrix has no room for an entry so far from its diagonal.")
        return np.asarray(self._row[rows] + columns)

    def empty(self) -> Floats:
        """Room for all entries, all zero."""
        return np.zeros(self._offsets[-1])

    def blocks(self, values: Floats) -> list[Floats]:
        """The entries of each block of rows, (rows, columns from its left to the diagonal)."""
        return [
            values[self._offsets[k] : self._offsets[k + 1]].reshape(self.starts[k + 1] - self.starts[k], -1)
            for k in range(len(self.left))
        ]


def skyline(first: Ints) -> Skyline:
    """The skyline of a matrix of which each row (size,) has its first entry in a column not before `first`."""
    return Skyline(size=len(first), left=np.minimum.reduceat(first, np.arange(0, len(first), BLOCK)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Factor:
    """Cholesky factor L of a matrix K = L Lᵀ, block by block; zero above the diagonal.

    inverses   of the diagonal blocks: products of matrices are several times quicker than solving by triangles
    """

    skyline: Skyline
    blocks: list[Floats]
    inverses: list[Floats]

    def half_solved(self, right: Floats) -> Floats:
        """Forward half, X with L X = right, for many right sides (size, m).

        A column whose first rows are zero is zero there in X too, and joins in at its first non-zero.
        """
        n = self.skyline.size
        first = np.where(right.any(0), (right != 0.0).argmax(0), n)
        order = np.argsort(first)
        x, first = np.ascontiguousarray(right[:, order]), first[order]
        for block, inverse, left, start, stop in self._walk():
            live = int(np.searchsorted(first, stop))
            if live:
                here = x[start:stop, :live]
                here[:] = inverse @ (here - block[:, : start - left] @ x[left:start, :live])
        back = np.empty_like(x)
        back[:, order] = x
        return back

    def rest_solved(self, half: Floats) -> Floats:
        """Backward half, K⁻¹ right from what `half_solved` gave for `right` (size, m)."""
        x = np.array(half, order="C")
        for block, inverse, left, start, stop in reversed(self._walk()):
            here = x[start:stop]
            here[:] = inverse.T @ here
            x[left:start] -= block[:, : start - left].T @ here
        return x

    def solved(self, right: Floats) -> Floats:
        """K⁻¹ right for one right side (size,)."""
        return self.rest_solved(self.half_solved(right[:, None]))[:, 0]

    def _walk(self) -> list[tuple[Floats, Floats, int, int, int]]:
        """Each block with the inverse on its diagonal, its left, its first row and the row after its last."""
        starts = self.skyline.starts.tolist()
        return list(zip(self.blocks, self.inverses, self.skyline.left.tolist(), starts[:-1], starts[1:]))


def factored(sky: Skyline, values: Floats) -> Factor:
    """Factor a matrix whose entries stand where its skyline says; they are overwritten.

    Column block after column block: what the columns before take off a diagonal block and those below it, the factor of
    the diagonal block, and all below it divided by that at once.

    Raises SolveError where the matrix is not positive definite: something can move freely.
    """
    diagonal = sky.places(rows := np.arange(sky.size), rows)
    # a movement that nothing answers to (a node that only the rim's curve touches, turning on a hinge) stands by itself
    stiff = values[diagonal]
    values[diagonal] = np.where(stiff <= 0.0, 1.0, stiff) * (1.0 + NEVER_ZERO)
    blocks, left, starts = sky.blocks(values), sky.left.tolist(), sky.starts.tolist()
    inverses: list[Floats] = []
    last = np.zeros(len(left), dtype=np.int64)  # of the blocks that reach a column block
    for k in range(len(left)):
        last[left[k] // BLOCK : k + 1] = k
    for j, (start, stop) in enumerate(pairwise(starts)):
        pivot, before = blocks[j], left[j]
        pivot[:, start - before :] -= pivot[:, : start - before] @ pivot[:, : start - before].T
        lower, failed = dpotrf(pivot[:, start - before :], lower=1)
        if failed:
            raise SolveError("The board can move freely: its rim holds too little, or a part of the panel hangs loose.")
        pivot[:, start - before :] = lower
        inverses.append(np.ascontiguousarray(dtrtri(lower, lower=1)[0]))
        below = [k for k in range(j + 1, int(last[j]) + 1) if left[k] < stop]
        heights = np.cumsum([0, *(len(blocks[k]) for k in below)]).tolist()
        column = np.zeros((heights[-1], stop - start))
        for k, top, end in zip(below, heights[:-1], heights[1:]):
            # a block may begin within these columns: what stands before it is zero
            here, row = max(left[k], start), blocks[k]
            part = row[:, here - left[k] : stop - left[k]]
            far = max(left[k], before)
            if far < here:
                part -= row[:, far - left[k] : here - left[k]] @ pivot[here - start :, far - before : here - before].T
            column[top:end, here - start :] = part
        column = column @ inverses[j].T
        for k, top, end in zip(below, heights[:-1], heights[1:]):
            here = max(left[k], start)
            blocks[k][:, here - left[k] : stop - left[k]] = column[top:end, here - start :]
    return Factor(skyline=sky, blocks=blocks, inverses=inverses)
