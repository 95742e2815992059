"""From cells to the band matrix."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.mechanics.energy import FIELDS
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.points import PAIRS, PointSet, cell_stiffness
from bellywork.mechanics.splines import DEGREE, LOCAL
from bellywork.mechanics.whole import WholeCells

REACH = 2 * DEGREE + 1


def band_matrix(grid: Grid, blocks: tuple[WholeCells, ...], sets: tuple[PointSet, ...]) -> tuple[Floats, Ints]:
    """Lower band storage of the stiffness of whole cells and points, and each node's first freedom (−1: it has none).

    Freedoms are numbered node by node, five to each, nodes along the grid's shorter side first; nodes that no cell
    uses have none. On the way every cell is scattered into a stencil (field pair, offset of node to node, node):
    there, for each pair of a cell's functions, the places of all cells are one plain slice.
    """
    nx, ny = grid.shape
    numbers, dense = cell_stiffness(grid, sets)
    used = np.zeros(nx * ny, dtype=bool)
    for cells in (numbers, *(block.cells for block in blocks)):
        used[grid.nodes(cells)] = True
    stencil = np.zeros((FIELDS, FIELDS, REACH, REACH, nx, ny))
    for (f, g), at_points in zip(PAIRS, dense):
        values = np.zeros((NODES**2, grid.x.cells * grid.y.cells))
        for block in blocks:
            stiffness = block.stiffness(f, g)
            if stiffness is not None:
                values[:, block.cells] = stiffness
        values[:, numbers] += at_points.T
        _scatter(stencil[f, g], values.reshape(LOCAL, LOCAL, LOCAL, LOCAL, grid.x.cells, grid.y.cells))
    del dense, at_points, values, stiffness  # done with before the band asks for memory
    return _band(grid, stencil, used)


def _scatter(stencil: Floats, cells: Floats) -> None:
    ncx, ncy = cells.shape[4:]
    for ax in range(LOCAL):
        for ay in range(LOCAL):
            for bx in range(LOCAL):
                for by in range(LOCAL):
                    place = stencil[bx - ax + DEGREE, by - ay + DEGREE]
                    place[ax : ax + ncx, ay : ay + ncy] += cells[ax, ay, bx, by]


def _band(grid: Grid, stencil: Floats, used: Bools) -> tuple[Floats, Ints]:
    nx, ny = grid.shape
    order = np.arange(nx * ny).reshape(nx, ny)
    order = order if ny <= nx else order.T
    sequence = order.ravel()[used[order.ravel()]]
    node = np.full(nx * ny, -1, dtype=np.int64)
    node[sequence] = np.arange(len(sequence))
    number = node.reshape(nx, ny)
    blocks = []
    for dx in range(-DEGREE, DEGREE + 1):
        for dy in range(-DEGREE, DEGREE + 1):
            if (dx, dy) < (0, 0) if ny <= nx else (dy, dx) < (0, 0):
                continue  # met from the other node of the pair
            here = number[max(0, -dx) : nx - max(0, dx), max(0, -dy) : ny - max(0, dy)]
            there = number[max(0, dx) : nx - max(0, -dx), max(0, dy) : ny - max(0, -dy)]
            i, j = np.nonzero((here >= 0) & (there >= 0))
            block = stencil[:, :, dx + DEGREE, dy + DEGREE, i + max(0, -dx), j + max(0, -dy)]
            mirror = stencil[:, :, DEGREE - dx, DEGREE - dy, i + max(0, dx), j + max(0, dy)]
            for f in range(FIELDS):
                block[f, :f] = mirror[:f, f]
            blocks.append((here[i, j], there[i, j], block))
    band = FIELDS * max(int((there - here).max(initial=0)) for here, there, _ in blocks) + FIELDS - 1
    lower = np.zeros((band + 1, FIELDS * len(sequence)), order="F")
    flat = lower.T.reshape(-1)
    for here, there, block in blocks:
        same = bool(np.all(here == there))
        for f in range(FIELDS):
            g = np.arange(f if same else 0, FIELDS)
            place = (FIELDS * here + f) * (band + 1) + FIELDS * (there - here) - f
            flat[place[:, None] + g] = block[f, g].T
    return lower, np.where(node >= 0, FIELDS * node, -1)


def freedoms(first: Ints, nodes: Ints) -> Ints:
    """Numbers of the freedoms (…, 5) of nodes."""
    return first[nodes][..., None] + np.arange(FIELDS)
