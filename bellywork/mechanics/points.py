"""Parts of the board as sets of points that carry strain energy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import FIELDS, Q
from bellywork.mechanics.grid import NODES, Grid

LOCAL_FREEDOMS = FIELDS * NODES
PAIRS = tuple((f, g) for f in range(FIELDS) for g in range(f, FIELDS))  # the matrix is symmetric: f ≤ g is enough


@dataclass(frozen=True, kw_only=True, eq=False)
class PointSet:
    """Points that hold energy ½ (G q)ᵀ C (G q), weights within C.

    part       name of the part that they belong to
    points     (points, 2) in the grid's frame
    strains    G, (points, strains, 15)
    stiffness  C, (points, strains, strains)
    """

    part: str
    points: Floats
    strains: Floats
    stiffness: Floats


def cell_stiffness(grid: Grid, sets: tuple[PointSet, ...]) -> tuple[Ints, Floats]:
    """Stiffness of every cell that holds points: cell numbers, and (pairs, cells, 16 · 16) for the pairs of fields."""
    found = [grid.evaluated(each.points) for each in sets]
    numbers = np.unique(np.concatenate([number for number, _ in found]))
    total = np.zeros((len(PAIRS), len(numbers), NODES**2))
    first, second = np.array(PAIRS).T
    for each, (number, functions) in zip(sets, found):
        order = np.argsort(number, kind="stable")
        for chunk in _cell_chunks(number[order], 2000):
            rows = order[chunk]
            r = each.strains.shape[1]
            B = np.matmul(each.strains[rows].reshape(-1, r * FIELDS, 3), functions[rows])
            B = B.reshape(-1, r, LOCAL_FREEDOMS)
            CB = np.matmul(each.stiffness[rows], B)
            starts = np.flatnonzero(np.diff(number[rows], prepend=-1))
            places = np.searchsorted(numbers, number[rows[starts]])
            for place, start, stop in zip(places, starts, np.append(starts[1:], len(rows))):
                left, right = (part[start:stop].reshape(-1, LOCAL_FREEDOMS) for part in (B, CB))
                cell = (left.T @ right).reshape(FIELDS, NODES, FIELDS, NODES)
                total[:, place] += cell[first, :, second, :].reshape(len(PAIRS), -1)
    return numbers, total


def _cell_chunks(numbers: Ints, size: int) -> list[slice]:
    """Slices of sorted cell numbers of about `size` points that break only between cells."""
    breaks: Ints = np.append(np.flatnonzero(np.diff(numbers)) + 1, len(numbers))
    chunks, start = [], 0
    while start < len(numbers):
        stop = int(breaks[min(int(np.searchsorted(breaks, start + size)), len(breaks) - 1)])
        chunks.append(slice(start, stop))
        start = stop
    return chunks


def values_at(grid: Grid, points: Floats, fields: Floats) -> Floats:
    """The fifteen values of the fields at points: (points, 15), or (points, cases, 15) of fields (cases, 5, nodes)."""
    cells, functions = grid.evaluated(points)
    local = fields[..., grid.nodes(cells)]  # (…, 5, points, 16)
    values = np.einsum("...fpn,pdn->p...fd", local, functions, optimize=True)
    flat: Floats = values.reshape(*values.shape[:-2], Q)
    return flat


def answered(grid: Grid, each: PointSet, fields: Floats) -> tuple[Floats, float]:
    """Nodal forces (5, nodes) with which a set of points answers a movement (5, nodes), and the energy it holds."""
    cells, functions = grid.evaluated(each.points)
    nodes = grid.nodes(cells)
    strains = np.matmul(each.strains, values_at(grid, each.points, fields)[:, :, None])
    forces = np.matmul(each.stiffness, strains)
    back = np.matmul(each.strains.transpose(0, 2, 1), forces).reshape(len(cells), FIELDS, 3)
    nodal = np.einsum("pfd,pdn->fpn", back, functions, optimize=True)
    out = np.zeros_like(fields)
    for f in range(FIELDS):
        out[f] = np.bincount(nodes.ravel(), nodal[f].ravel(), minlength=fields.shape[1])
    return out, 0.5 * float(np.sum(forces * strains))
