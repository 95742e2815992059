"""From cells to the band matrix."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import FIELDS
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.points import PAIRS, Entries, PointSet, cell_stiffness
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
        """A vector (freedoms,) as coefficients (5, nodes), zero where there is no freedom."""
        return np.where(self.number >= 0, vector[self.number], 0.0)


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


def band_matrix(space: Space, blocks: tuple[WholeCells, ...], sets: tuple[PointSet, ...]) -> tuple[Floats, Numbering]:
    """Lower band storage of the stiffness of whole cells and points, and the numbering of its freedoms."""
    cells = np.unique(np.concatenate([*(each.at.cells for each in sets), *(block.cells for block in blocks)]))
    numbered = numbering(space, cells)
    stencil, beside = _stencil(space, blocks, sets, numbered)
    pairs = _pairs(space.grid, numbered)
    band = max(int((there - here).max(initial=0)) for *_, here, there in pairs) + FIELDS - 1
    band = max(band, int(np.abs(beside.rows - beside.columns).max(initial=0)))
    lower = np.zeros((band + 1, numbered.size), order="F")
    _add(lower, stencil, pairs, beside)
    return lower, numbered


def add_to_band(lower: Floats, numbered: Numbering, space: Space, sets: tuple[PointSet, ...]) -> None:
    """Add the stiffness of more points on the cells of a board to its band matrix."""
    stencil, beside = _stencil(space, (), sets, numbered)
    if len(beside.rows) and np.abs(beside.rows - beside.columns).max() >= len(lower):
        raise ValueError("These points bind freedoms that the band does not reach.")
    _add(lower, stencil, _pairs(space.grid, numbered), beside)


def _stencil(
    space: Space, blocks: tuple[WholeCells, ...], sets: tuple[PointSet, ...], numbered: Numbering
) -> tuple[Floats, Entries]:
    """The stiffness between the grid's own nodes, and the entries of all others.

    On the way every cell is scattered into a stencil (field pair, offset of node to node, node): there, for each pair
    of a cell's functions, the places of all cells are one plain slice.
    """
    grid = space.grid
    nx, ny = grid.shape
    numbers, dense, beside = cell_stiffness(sets, numbered.number)
    stencil = np.zeros((FIELDS, FIELDS, REACH, REACH, nx, ny))
    for (f, g), at_points in zip(PAIRS, dense):
        values = np.zeros((NODES**2, grid.x.cells * grid.y.cells))
        for block in blocks:
            if (stiffness := block.stiffness(f, g)) is not None:
                values[:, block.cells] = stiffness
        values[:, numbers] += at_points.T
        _scatter(stencil[f, g], values.reshape(LOCAL, LOCAL, LOCAL, LOCAL, grid.x.cells, grid.y.cells))
    return stencil, beside


def _scatter(stencil: Floats, cells: Floats) -> None:
    ncx, ncy = cells.shape[4:]
    for ax in range(LOCAL):
        for ay in range(LOCAL):
            for bx in range(LOCAL):
                for by in range(LOCAL):
                    place = stencil[bx - ax + DEGREE, by - ay + DEGREE]
                    place[ax : ax + ncx, ay : ay + ncy] += cells[ax, ay, bx, by]


def _pairs(grid: Grid, numbered: Numbering) -> list[tuple[int, int, Ints, Ints, Ints, Ints]]:
    """Nodes that meet in the stencil, once each: steps dx and dy, places i and j of the one, first freedoms of both."""
    nx, ny = grid.shape
    first = numbered.number[0, : nx * ny].reshape(nx, ny)
    out = []
    for dx in range(-DEGREE, DEGREE + 1):
        for dy in range(-DEGREE, DEGREE + 1):
            if (dx, dy) < (0, 0) if ny <= nx else (dy, dx) < (0, 0):
                continue  # met from the other node of the pair
            here = first[max(0, -dx) : nx - max(0, dx), max(0, -dy) : ny - max(0, dy)]
            there = first[max(0, dx) : nx - max(0, -dx), max(0, dy) : ny - max(0, -dy)]
            i, j = np.nonzero((here >= 0) & (there >= 0))
            out.append((dx, dy, i, j, here[i, j], there[i, j]))
    return out


def _add(lower: Floats, stencil: Floats, pairs: list[tuple[int, int, Ints, Ints, Ints, Ints]], beside: Entries) -> None:
    """Add the stencil and the entries beside it to LAPACK's lower band storage.

    Entry (i, j), i ≥ j, of the matrix stands in row i − j and column j of an array (band + 1, n) in Fortran order, that
    is at j (band + 1) + i − j of its memory. Two nodes meet in the stencil twice, once from each; as it holds only the
    field pairs f ≤ g, the other half of their 5 × 5 block is the transpose of what the other one has.
    """
    flat, size = lower.T.reshape(-1), len(lower)
    for dx, dy, i, j, here, there in pairs:
        block = stencil[:, :, dx + DEGREE, dy + DEGREE, i + max(0, -dx), j + max(0, -dy)]
        mirror = stencil[:, :, DEGREE - dx, DEGREE - dy, i + max(0, dx), j + max(0, dy)]
        for f in range(FIELDS):
            block[f, :f] = mirror[:f, f]
        for f in range(FIELDS):
            g = np.arange(f if (dx, dy) == (0, 0) else 0, FIELDS)
            place = (here + f) * size + (there - here) - f
            flat[place[:, None] + g] += block[f, g].T
    rows, columns = np.maximum(beside.rows, beside.columns), np.minimum(beside.rows, beside.columns)
    np.add.at(flat, columns * size + rows - columns, beside.values)
