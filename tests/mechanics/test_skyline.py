"""The factor of a matrix kept by its skyline. Kind: independent path (the same matrix whole, by numpy)."""

import numpy as np
import pytest

from bellywork.errors import SolveError
from bellywork.mechanics.skyline import BLOCK, Factor, Rows, Skyline, eliminated, factored, half_solved, skyline

SIZE = 3 * BLOCK + 41  # the last block is short
RANDOM = np.random.default_rng(5)


def jagged() -> tuple[np.ndarray, Skyline]:
    """A stiff matrix whose rows begin anywhere, some within the block before, some far back, and its skyline."""
    rows = np.arange(SIZE)
    first = np.maximum(rows - RANDOM.integers(0, 130, SIZE), 0)
    first[2 * BLOCK + 7] = 3
    lower = np.where(rows >= first[:, None], np.tril(RANDOM.normal(size=(SIZE, SIZE))), 0.0)
    whole = np.tril(lower, -1)
    whole = whole + whole.T
    return whole + np.diag(np.abs(whole).sum(1) + RANDOM.uniform(0.1, 1e4, SIZE)), skyline(first)


def kept(whole: np.ndarray, sky: Skyline) -> Rows:
    """The entries block by block, each in the place that the skyline tells."""
    rows, columns = np.nonzero(np.tril(whole))
    block, place = sky.places(rows, columns)

    def of_block(k: int) -> np.ndarray:
        here = block == k
        entries = np.zeros(sky.shape(k))
        entries.flat[place[here]] = whole[rows[here], columns[here]]
        return entries

    return of_block


@pytest.fixture(scope="module")
def case() -> tuple[np.ndarray, Factor]:
    whole, sky = jagged()
    return whole, factored(sky, kept(whole, sky))


def test_solutions_are_those_of_the_whole_matrix(case):
    whole, factor = case
    right = RANDOM.normal(size=(SIZE, 5))
    right[: BLOCK + 9, 2], right[:, 3] = 0.0, 0.0  # joins in late; never
    expected = np.linalg.solve(whole, right)
    half = factor.half_solved(right.copy())
    np.testing.assert_allclose(factor.rest_solved(half), expected, rtol=1e-10, atol=1e-13)
    np.testing.assert_allclose(half.T @ half, right.T @ expected, rtol=1e-10, atol=1e-12)
    np.testing.assert_allclose(factor.solved(right[:, 0]), expected[:, 0], rtol=1e-10, atol=1e-13)


def test_blocks_hold_the_factor_and_nothing_else(case):
    whole, factor = case
    lower = np.linalg.cholesky(whole)
    for block, left, start in zip(factor.blocks, factor.skyline.left, factor.skyline.starts):
        rows = slice(start, start + len(block))
        np.testing.assert_allclose(block, lower[rows, left : left + block.shape[1]], rtol=1e-10, atol=1e-12)
        assert not lower[rows, :left].any()


def test_used_as_it_comes_it_answers_alike(case):
    whole, factor = case
    right = RANDOM.normal(size=(SIZE, 3))
    steps = eliminated(factor.skyline, kept(whole, factor.skyline))
    np.testing.assert_array_equal(half_solved(factor.skyline, steps, right.copy()), factor.half_solved(right.copy()))


def test_an_entry_outside_is_refused_not_put_elsewhere():
    sky = skyline(np.maximum(np.arange(SIZE) - 10, 0))
    assert sky.left.tolist() == [0, BLOCK - 10, 2 * BLOCK - 10, 3 * BLOCK - 10]
    at = sky.places(np.array([BLOCK, BLOCK + 1]), np.array([BLOCK - 10, BLOCK - 10]))
    assert [each.tolist() for each in at] == [[1, 1], [0, BLOCK + 10]]
    assert at[1][0] == sky.places(np.array([BLOCK - 10]), np.array([BLOCK]))[1]  # the same entry
    with pytest.raises(ValueError, match="no room"):
        sky.places(np.array([BLOCK]), np.array([BLOCK - 11]))


def test_what_can_move_freely_is_refused():
    whole, sky = jagged()
    whole[200, 200] = 1e-3  # far less than its row takes: not definite
    with pytest.raises(SolveError, match="can move freely"):
        factored(sky, kept(whole, sky))
