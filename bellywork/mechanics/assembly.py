"""From cells to the matrix."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import FIELDS
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.points import PAIRS, Entries, Found, Points, by_blocks, cell_stiffness
from bellywork.mechanics.skyline import Factor, Skyline, Step, eliminated, factored, skyline
from bellywork.mechanics.space import Space
from bellywork.mechanics.splines import DEGREE, LOCAL
from bellywork.mechanics.whole_cells import WholeCells

if TYPE_CHECKING:
    from scipy.sparse import csr_array

REACH = 2 * DEGREE + 1


@dataclass(frozen=True, kw_only=True, eq=False)
class Numbering:
    """Which freedom is which: number (5, nodes), −1 where a node has none, of `size` freedoms."""

    number: Ints
    size: int

    def vector(self, fields: Floats) -> Floats:
        """A movement or nodal forces (5, nodes) as a vector (freedoms,)."""
        out = np.zeros(self.size)
        out[self.number[self.number >= 0]] = fields[self.number >= 0]
        return out

    def by_freedoms(self, matrix: csr_array) -> csr_array:
        """A matrix over all coefficients (rows, 5 · nodes) as one over the freedoms."""
        from scipy.sparse import csr_array

        entries = matrix.tocoo()
        columns = self.number.ravel()[entries.col]
        return csr_array((entries.data, (entries.row, columns)), shape=(matrix.shape[0], self.size))

    def fields(self, vector: Floats) -> Floats:
        """A vector (…, freedoms) as coefficients (…, 5, nodes), zero where there is no freedom."""
        return np.where(self.number >= 0, vector[..., self.number], 0.0)


def numbering(space: Space, cells: Ints) -> Numbering:
    """Freedoms node by node, the grid's nodes along its shorter side first, every other node after its host.

    A grid's node that no cell uses has none.
    """
    nx, ny = space.grid.shape
    used = np.zeros(nx * ny, dtype=bool)
    used[space.grid.nodes(cells)] = True
    order = np.arange(nx * ny).reshape(nx, ny)
    rank = np.empty(nx * ny, dtype=np.int64)
    rank[(order if ny <= nx else order.T).ravel()] = np.arange(nx * ny)
    sequence = np.argsort(rank[space.host], kind="stable")
    count = np.where(used[space.host] | (space.freedoms < FIELDS), space.freedoms, 0)
    first = np.empty(space.nodes, dtype=np.int64)
    first[sequence] = np.cumsum(count[sequence]) - count[sequence]
    field = np.arange(FIELDS)[:, None]
    return Numbering(number=np.where(field < count, first + field, -1), size=int(count.sum()))


@dataclass(frozen=True, kw_only=True, eq=False)
class Matrix:
    """The stiffness of a board: its entries, part by part, which stand as the skyline tells."""

    numbering: Numbering
    skyline: Skyline
    grid: Grid
    parts: tuple[Entries, ...]

    def plus(self, blocks: tuple[WholeCells, ...], sets: tuple[Points, ...]) -> Matrix:
        """With the stiffness of more whole cells and points, for which its skyline has room."""
        found = self._found(blocks, sets)
        return replace(self, parts=(*self.parts, *by_blocks(found, len(self.skyline.left))))

    def _found(self, blocks: tuple[WholeCells, ...], sets: tuple[Points, ...]) -> Iterator[Found]:
        """The entries of whole cells and points: beside the grid's own nodes, then between these, pair by pair."""
        numbers, dense, beside = cell_stiffness(sets, self.numbering.number, self.skyline.places)
        while beside:
            yield beside.pop()
        meetings = _meetings(self.grid, self.numbering)
        for pair in PAIRS:
            if pair in dense or any(pair in each.pairs for each in blocks):
                stencil = _stencil(self.grid, pair, blocks, numbers, dense.get(pair))
                yield from _between(self.skyline, stencil, pair, meetings)

    def rows(self, block: int) -> Floats:
        """The entries of a block of rows, (rows, columns from its left to the diagonal)."""
        shape = self.skyline.shape(block)
        total = np.zeros(shape[0] * shape[1])
        for part in self.parts:
            here = slice(*part.bounds[block : block + 2])
            np.add.at(total, part.places[here], part.values[here])
        return total.reshape(shape)

    def factored(self) -> Factor:
        """Its Cholesky factor. Raises SolveError where the board can move freely."""
        return factored(self.skyline, self.rows)

    def eliminated(self) -> Iterator[Step]:
        """Its Cholesky factor, block after block as it comes. Raises SolveError where the board can move freely."""
        return eliminated(self.skyline, self.rows)


def stiffness_matrix(
    space: Space, blocks: tuple[WholeCells, ...], sets: tuple[Points, ...], loose: tuple[Points, ...] = ()
) -> Matrix:
    """The stiffness of whole cells and points.

    loose   points that have room in it, for `plus`, but are left out
    """
    known = (*sets, *loose)
    cells = [np.concatenate([each.at.cells for each in known]), *(block.cells for block in blocks)]
    numbered = numbering(space, np.unique(np.concatenate(cells)))
    sky = skyline(_first(space.grid, numbered, blocks, known))
    empty = Matrix(numbering=numbered, skyline=sky, grid=space.grid, parts=())
    return empty.plus(blocks, sets)


def _first(grid: Grid, numbered: Numbering, blocks: tuple[WholeCells, ...], sets: tuple[Points, ...]) -> Ints:
    """The first freedom that works with each freedom (freedoms,): on its cells and at its points."""
    start = numbered.number[0]
    first = start.copy()
    at_points = [each.at.nodes if each.own is None else np.hstack([each.at.nodes, each.own.nodes]) for each in sets]
    for nodes in (*(grid.nodes(block.cells) for block in blocks), *at_points):
        np.minimum.at(first, nodes, start[nodes].min(axis=1, keepdims=True))
    out = np.empty(numbered.size, dtype=np.int64)
    for number in numbered.number:
        out[number[number >= 0]] = first[number >= 0]
    return out


def _stencil(
    grid: Grid, pair: tuple[int, int], blocks: tuple[WholeCells, ...], numbers: Ints, dense: Floats | None
) -> Floats:
    """The stiffness between the grid's own nodes for a pair of fields, that of points (cells, 16 · 16) on the cells
    `numbers` in it.

    Every cell is scattered into a stencil (offset of node to node, node): there, for each pair of a cell's functions,
    the places of all cells are one plain slice.
    """
    stencil = np.zeros((REACH, REACH, *grid.shape))
    values = np.zeros((NODES**2, grid.x.cells * grid.y.cells))
    for block in blocks:
        if (stiffness := block.stiffness(*pair)) is not None:
            values[:, block.cells] = stiffness
    if dense is not None:
        values[:, numbers] += dense.T
    _scatter(stencil, values.reshape(LOCAL, LOCAL, LOCAL, LOCAL, grid.x.cells, grid.y.cells))
    return stencil


def _scatter(stencil: Floats, cells: Floats) -> None:
    ncx, ncy = cells.shape[4:]
    for ax in range(LOCAL):
        for ay in range(LOCAL):
            for bx in range(LOCAL):
                for by in range(LOCAL):
                    place = stencil[bx - ax + DEGREE, by - ay + DEGREE]
                    place[ax : ax + ncx, ay : ay + ncy] += cells[ax, ay, bx, by]


@dataclass(frozen=True, kw_only=True, eq=False)
class Meetings:
    """Where two of the grid's nodes meet in the stencil, once each, and their first freedoms.

    here, there   first freedoms of the two
    at            where in the stencil the one stands with the other; back: the other with the one, −1 with itself
    """

    here: Ints
    there: Ints
    at: Ints
    back: Ints


def _meetings(grid: Grid, numbered: Numbering) -> Meetings:
    nx, ny = grid.shape
    first = numbered.number[0, : nx * ny].reshape(nx, ny)
    where = np.arange(REACH**2 * nx * ny).reshape(REACH, REACH, nx, ny)
    out = []
    for dx in range(-DEGREE, DEGREE + 1):
        for dy in range(-DEGREE, DEGREE + 1):
            if (dx, dy) < (0, 0) if ny <= nx else (dy, dx) < (0, 0):
                continue  # met from the other node of the pair
            here = first[max(0, -dx) : nx - max(0, dx), max(0, -dy) : ny - max(0, dy)]
            there = first[max(0, dx) : nx - max(0, -dx), max(0, dy) : ny - max(0, -dy)]
            x, y = np.nonzero((here >= 0) & (there >= 0))
            i, j = x + max(0, -dx), y + max(0, -dy)
            back = where[DEGREE - dx, DEGREE - dy, i + dx, j + dy] if (dx, dy) != (0, 0) else np.full(len(i), -1)
            out.append((here[x, y], there[x, y], where[dx + DEGREE, dy + DEGREE, i, j], back))
    here, there, at, back = (np.concatenate(part) for part in zip(*out))
    return Meetings(here=here, there=there, at=at, back=back)


def _between(sky: Skyline, stencil: Floats, pair: tuple[int, int], meetings: Meetings) -> Iterator[Found]:
    """The entries of a pair of fields in its stencil, each place once.

    Two nodes meet in the stencil twice, once from each, with one field at the one and the other at the other. Nodes may
    meet on a cell that holds no panel: there they have no stiffness, and no place.
    """
    f, g = pair
    flat, here, there = stencil.ravel(), meetings.here, meetings.there
    some = np.flatnonzero(flat[meetings.at])
    yield *sky.places(there[some] + g, here[some] + f), flat[meetings.at[some]]
    if f != g:
        some = np.flatnonzero((meetings.back >= 0) & (flat[meetings.back] != 0.0))
        yield *sky.places(there[some] + f, here[some] + g), flat[meetings.back[some]]
