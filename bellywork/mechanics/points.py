"""Parts of the board as sets of points that carry strain energy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import FIELDS, OWN_FIELDS, Q
from bellywork.mechanics.grid import NODES
from bellywork.mechanics.space import Functions, Space

LOCAL_FREEDOMS = FIELDS * NODES
EACH_OWN = tuple(slice(Q + 2 * f, Q + 2 * f + 2) for f in range(OWN_FIELDS))  # value and slope of each own field
PAIRS = tuple((f, g) for f in range(FIELDS) for g in range(f, FIELDS))  # the matrix is symmetric: f ≤ g is enough


@dataclass(frozen=True, kw_only=True, eq=False)
class OwnFunctions:
    """A stiffener's own functions at points: nodes (points, 4), and value and slope there (points, 2, 4)."""

    nodes: Ints
    functions: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class PointSet:
    """Points that hold energy ½ (G q)ᵀ C (G q), weights within C.

    part       name of the part that they belong to
    points     (points, 2) in the grid's frame
    at         the functions there
    strains    G, (points, strains, 15), or 23 for a stiffener: its own fields come last
    stiffness  C, (points, strains, strains)
    """

    part: str
    points: Floats
    at: Functions
    strains: Floats
    stiffness: Floats
    own: OwnFunctions | None = None

    def values(self, fields: Floats) -> Floats:
        """Q (points, 15 or 23) of a movement (5, nodes)."""
        values = self.at.interpolated(fields)
        if self.own is None:
            return values
        own = (np.einsum("pn,pdn->pd", fields[f][self.own.nodes], self.own.functions) for f in range(OWN_FIELDS))
        return np.concatenate([values, *own], axis=1)

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15 or 23) on q."""
        out = self.at.gathered(forces[:, :Q], nodes)
        if self.own is not None:
            for f, at in enumerate(EACH_OWN):
                nodal = np.einsum("pd,pdn->pn", forces[:, at], self.own.functions)
                out[f] += np.bincount(self.own.nodes.ravel(), nodal.ravel(), minlength=nodes)
        return out

    def internal_forces(self, fields: Floats) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) that hold against a movement (5, nodes), and the energy stored: ∫ Gᵀ C G q."""
        strains = np.einsum("prq,pq->pr", self.strains, self.values(fields))
        stresses = np.einsum("prs,ps->pr", self.stiffness, strains)
        forces = np.einsum("prq,pr->pq", self.strains, stresses)
        return self.gathered(forces, fields.shape[1]), 0.5 * float(np.sum(stresses * strains))


def point_sets(
    space: Space, part: str, points: Floats, strains: Floats, stiffness: Floats, own: OwnFunctions | None = None
) -> tuple[PointSet, ...]:
    """A part as one set of points, or two: those where functions of free ends live have many more of them."""
    kinked = space.kinked[space.grid.evaluated(points)[0]]
    sets = []
    for rows in (np.flatnonzero(~kinked), np.flatnonzero(kinked)):
        if len(rows):
            of_rows = None if own is None else OwnFunctions(nodes=own.nodes[rows], functions=own.functions[rows])
            sets.append(
                PointSet(
                    part=part,
                    points=points[rows],
                    at=space.evaluated(points[rows]),
                    strains=strains[rows],
                    stiffness=stiffness[rows],
                    own=of_rows,
                )
            )
    return tuple(sets)


@dataclass(frozen=True, kw_only=True, eq=False)
class Entries:
    """Entries of the matrix beside the grid's own: freedoms (entries,) in row and column, and their values."""

    rows: Ints
    columns: Ints
    values: Floats


def cell_stiffness(sets: tuple[PointSet, ...], number: Ints) -> tuple[Ints, Floats, Entries]:
    """Stiffness of every cell that holds points, ∫ Bᵀ C B with B from the freedoms of the cell to the strains.

    Gives the cell numbers, and (pairs, cells, 16 · 16) for the pairs of fields on the grid's own nodes; and the entries
    of all other nodes, by their `number` (5, nodes), once for each pair of freedoms.
    """
    numbers = np.unique(np.concatenate([each.at.cells for each in sets]))
    total = np.zeros((len(PAIRS), len(numbers), NODES**2))
    first, second = np.array(PAIRS).T
    beside: list[tuple[Ints, Ints, Floats]] = []
    for each in sets:
        cells = each.at.cells
        order = np.argsort(cells, kind="stable")
        for chunk in _cell_chunks(cells[order], 2000):
            rows = order[chunk]
            B = _strains_of_freedoms(each, rows)
            CB = np.matmul(each.stiffness[rows], B)
            starts = np.flatnonzero(np.diff(cells[rows], prepend=-1))
            places = np.searchsorted(numbers, cells[rows[starts]])
            for place, start, stop in zip(places, starts, np.append(starts[1:], len(rows))):
                left, right = (part[start:stop].reshape(-1, part.shape[2]) for part in (B, CB))
                if each.own is None:
                    freedoms = _freedoms_of_cell(each, rows[start], number)
                else:
                    left, right, own = _with_own(each, rows[start:stop], left, right)
                    freedoms = np.append(_freedoms_of_cell(each, rows[start], number), number[:OWN_FIELDS, own])
                matrix = left.T @ right
                cell = matrix[:LOCAL_FREEDOMS, :LOCAL_FREEDOMS].reshape(FIELDS, NODES, FIELDS, NODES)
                total[:, place] += cell[first, :, second, :].reshape(len(PAIRS), -1)
                if len(freedoms) > LOCAL_FREEDOMS:
                    beside.append(_entries(matrix, freedoms))
    if not beside:
        none = np.empty(0, dtype=np.int64)
        return numbers, total, Entries(rows=none, columns=none, values=np.empty(0))
    rows, columns, values = (np.concatenate(part) for part in zip(*beside))
    return numbers, total, Entries(rows=rows, columns=columns, values=values)


def _strains_of_freedoms(each: PointSet, rows: Ints) -> Floats:
    """B (points, strains, freedoms) of the grid's nodes, field by field, then of the other nodes in the same way."""
    G, at = each.strains[rows][:, :, :Q], each.at[rows]
    r = G.shape[1]
    split = G.reshape(len(rows), r, FIELDS, 3)
    grid = np.matmul(split.reshape(len(rows), -1, 3), at.values[:, :, :NODES]).reshape(len(rows), r, -1)
    if at.nodes.shape[1] == NODES:
        return np.asarray(grid)
    more = np.matmul(split.reshape(len(rows), -1, 3), at.values[:, :, NODES:]).reshape(len(rows), r, FIELDS, -1)
    out: Floats = np.concatenate([grid, more.reshape(len(rows), r, -1)], axis=2)
    return out


def _with_own(each: PointSet, rows: Ints, left: Floats, right: Floats) -> tuple[Floats, Floats, Ints]:
    """B and C B of one cell's points with the columns of the stiffener's own fields, and their nodes."""
    assert each.own is not None
    nodes = each.own.nodes[rows]
    own = np.arange(nodes.min(), nodes.max() + 1)
    each_own = np.zeros((len(rows), 2, len(own)))
    for k in range(nodes.shape[1]):
        each_own[np.arange(len(rows)), :, nodes[:, k] - own[0]] = each.own.functions[rows, :, k]
    G = each.strains[rows]
    columns = np.concatenate([np.matmul(G[:, :, at], each_own) for at in EACH_OWN], axis=2)
    stressed = np.matmul(each.stiffness[rows], columns)
    n = OWN_FIELDS * len(own)
    return np.hstack([left, columns.reshape(-1, n)]), np.hstack([right, stressed.reshape(-1, n)]), own


def _freedoms_of_cell(each: PointSet, point: int, number: Ints) -> Ints:
    """Numbers of the freedoms in the columns of B: all points of a cell have the same nodes."""
    nodes = each.at.nodes[point]
    out: Ints = np.append(number[:, nodes[:NODES]].ravel(), number[:, nodes[NODES:]].ravel())
    return out


def _entries(matrix: Floats, freedoms: Ints) -> tuple[Ints, Ints, Floats]:
    """The rows of a cell's matrix beyond the grid's own, every pair once."""
    more = freedoms[LOCAL_FREEDOMS:]
    rows, columns = np.broadcast_arrays(more[:, None], freedoms)
    once = np.ones(rows.shape, dtype=bool)
    once[:, LOCAL_FREEDOMS:] = rows[:, LOCAL_FREEDOMS:] >= columns[:, LOCAL_FREEDOMS:]
    values = matrix[LOCAL_FREEDOMS:]
    once &= values != 0.0
    return rows[once], columns[once], values[once]


def _cell_chunks(numbers: Ints, size: int) -> list[slice]:
    """Slices of sorted cell numbers of about `size` points that break only between cells."""
    breaks: Ints = np.append(np.flatnonzero(np.diff(numbers)) + 1, len(numbers))
    chunks, start = [], 0
    while start < len(numbers):
        stop = int(breaks[min(int(np.searchsorted(breaks, start + size)), len(breaks) - 1)])
        chunks.append(slice(start, stop))
        start = stop
    return chunks
