"""A symmetric positive definite matrix kept row by row from the first entry that can be there, and its Cholesky factor.

The rows come in blocks; a block is one dense array from the first column that any of its rows reaches to the diagonal.
A board is not as wide everywhere as where it is widest: such blocks hold two thirds of what a band holds, and less than
half of a band's work is to be done. Nothing comes to be outside of them in the factor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri

from bellywork.board.arrays import Floats, Ints
from bellywork.errors import SolveError

BLOCK = 96  # rows: wider ones hold more for nothing, smaller ones are slow products
NEVER_ZERO = 1e-14  # of the diagonal, added to it: cells barely inside the outline leave movements with no stiffness


Rows = Callable[
    [int], Floats
]  # the entries of a block of rows by its number, (rows, columns from its left to the diagonal)
Step = tuple[Floats, Floats]  # a block of rows of the factor, and the inverse of its diagonal block


@dataclass(frozen=True, kw_only=True, eq=False)
class Skyline:
    """Which entries of a symmetric matrix are kept, and where each stands in its block of rows. Made by `skyline`.

    size   rows of the matrix
    left   first column of each block of rows (blocks,)
    """

    size: int
    left: Ints

    @cached_property
    def starts(self) -> Ints:
        """First row of each block, and the size of the matrix behind them, (blocks + 1,)."""
        return np.append(np.arange(0, self.size, BLOCK), self.size)

    def places(self, rows: Ints, columns: Ints) -> tuple[Ints, Ints]:
        """Blocks of entries, from either side of the diagonal, and where each stands in its block.

        Raises ValueError for one that is not kept.
        """
        rows, columns = np.maximum(rows, columns), np.minimum(rows, columns)
        block = rows // BLOCK
        from_left = columns - self.left[block]
        if np.any(from_left < 0):
            raise ValueError("This matrix has no room for an entry so far from its diagonal.")
        width = (self.starts[1:] - self.left)[block]
        return block.astype(np.int16), ((rows - block * BLOCK) * width + from_left).astype(np.int32)

    def shape(self, block: int) -> tuple[int, int]:
        """Rows of a block, and columns from its left to the diagonal."""
        start, stop = self.starts[block : block + 2].tolist()
        return stop - start, stop - int(self.left[block])

    def walk(self, steps: Iterable[Step]) -> Iterator[tuple[Floats, Floats, int, int, int]]:
        """Each step with its block's left, its first row and the row after its last."""
        starts = self.starts.tolist()
        return ((*step, *at) for step, *at in zip(steps, self.left.tolist(), starts[:-1], starts[1:]))


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

    @property
    def steps(self) -> Iterator[Step]:
        """What `eliminated` gave."""
        return zip(self.blocks, self.inverses)

    def half_solved(self, right: Floats) -> Floats:
        """Forward half, X with L X = right, for many right sides (size, m), which are overwritten."""
        return half_solved(self.skyline, self.steps, right)

    def rest_solved(self, half: Floats) -> Floats:
        """Backward half, K⁻¹ right from what `half_solved` gave for `right` (size, m)."""
        x = np.array(half)
        for block, inverse, left, start, stop in reversed(list(self.skyline.walk(self.steps))):
            here = x[start:stop]
            here[:] = inverse.T @ here
            x[left:start] -= block[:, : start - left].T @ here
        return x

    def solved(self, right: Floats) -> Floats:
        """K⁻¹ right for one right side (size,)."""
        return self.rest_solved(self.half_solved(right[:, None].copy()))[:, 0]


def half_solved(sky: Skyline, steps: Iterable[Step], right: Floats) -> Floats:
    """Forward half, X with L X = right, for many right sides (size, m), which are overwritten, by a factor as it comes.

    A column whose first rows are zero is zero there in X too, and joins in at its first non-zero.
    """
    first = np.where(right.any(0), (right != 0.0).argmax(0), sky.size)
    order = np.argsort(first, kind="stable")
    back, first = np.argsort(order), first[order]
    mixed = bool(np.any(np.diff(order) < 0))
    for block, inverse, left, start, stop in sky.walk(steps):
        here, live = right[start:stop], int(np.searchsorted(first, stop))
        if mixed:
            here[:] = here[:, order]
        if live:
            here[:, :live] = inverse @ (here[:, :live] - block[:, : start - left] @ right[left:start, :live])
    if mixed:
        for start, stop in pairwise(sky.starts.tolist()):
            right[start:stop] = right[start:stop, back]
    return right


def factored(sky: Skyline, rows: Rows) -> Factor:
    """Factor a matrix. Raises SolveError as `eliminated` does."""
    blocks, inverses = (list(each) for each in zip(*eliminated(sky, rows)))
    return Factor(skyline=sky, blocks=blocks, inverses=inverses)


def eliminated(sky: Skyline, rows: Rows) -> Iterator[Step]:
    """The Cholesky factor of a matrix, block after block of its rows.

    Column block after column block: what the columns before take off a diagonal block and those below it, the factor of
    the diagonal block, and all below it divided by that at once. Only the blocks that reach the columns at work are
    held here: a tenth of all.

    Raises SolveError where the matrix is not positive definite: something can move freely.
    """
    left, starts = sky.left.tolist(), sky.starts.tolist()
    held: dict[int, Floats] = {}
    last = np.zeros(len(left), dtype=np.int64)  # of the blocks that reach a column block
    for k in range(len(left)):
        last[left[k] // BLOCK : k + 1] = k
    for j, (start, stop) in enumerate(pairwise(starts)):
        held.update((k, _propped(rows(k))) for k in range(int(last[j - 1]) + 1 if j else 0, int(last[j]) + 1))
        pivot, before = held.pop(j), left[j]
        pivot[:, start - before :] -= pivot[:, : start - before] @ pivot[:, : start - before].T
        lower, failed = dpotrf(pivot[:, start - before :], lower=1)
        if failed:
            raise SolveError("The board can move freely: its rim holds too little, or a part of the panel hangs loose.")
        pivot[:, start - before :] = lower
        inverse = np.ascontiguousarray(dtrtri(lower, lower=1)[0])
        below = [k for k in held if left[k] < stop]
        heights = np.cumsum([0, *(len(held[k]) for k in below)]).tolist()
        column = np.zeros((heights[-1], stop - start))
        for k, top, end in zip(below, heights[:-1], heights[1:]):
            # a block may begin within these columns: what stands before it is zero
            here, row = max(left[k], start), held[k]
            part = row[:, here - left[k] : stop - left[k]]
            far = max(left[k], before)
            if far < here:
                part -= row[:, far - left[k] : here - left[k]] @ pivot[here - start :, far - before : here - before].T
            column[top:end, here - start :] = part
        column = column @ inverse.T
        for k, top, end in zip(below, heights[:-1], heights[1:]):
            here = max(left[k], start)
            held[k][:, here - left[k] : stop - left[k]] = column[top:end, here - start :]
        yield pivot, inverse


def _propped(block: Floats) -> Floats:
    """A block of rows (rows, columns to the diagonal), itself, whose diagonal leaves no movement free by rounding."""
    diagonal = np.einsum("ii->i", block[:, -len(block) :])
    # a movement that nothing answers to (a node that only the rim's curve touches, turning on a hinge) stands by itself
    diagonal[:] = np.where(diagonal <= 0.0, 1.0, diagonal) * (1.0 + NEVER_ZERO)
    return block
