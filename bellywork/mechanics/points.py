"""Parts of the board as sets of points that carry strain energy."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.mechanics.energy import FIELDS, LIFT, OWN, OWN_FIELDS, ROLL, Q, W
from bellywork.mechanics.grid import NODES
from bellywork.mechanics.space import Functions, Space

FieldPairs = tuple[tuple[int, int], ...]

EACH_OWN = tuple(slice(Q + 2 * f, Q + 2 * f + 2) for f in range(OWN_FIELDS))  # value and slope of each own field
PAIRS = tuple((f, g) for f in range(FIELDS) for g in range(f, FIELDS))  # the matrix is symmetric: f ≤ g is enough
MIXED_PAIRS = tuple((f, g) for f in range(OWN_FIELDS) for g in range(FIELDS))
OWN_PAIRS = tuple((f, g) for f in range(OWN_FIELDS) for g in range(f, OWN_FIELDS))

ENTRIES = 300_000  # of the matrix: so many at least are put in order at a time
LARGE_BLOCK = 40_000  # points times functions: what is worked on at a time stays near the processor


@dataclass(frozen=True, kw_only=True)
class Pairs:
    """Pairs of fields between which there is stiffness: of the panel's five, of own fields with them, of own fields."""

    panel: FieldPairs = PAIRS
    mixed: FieldPairs = MIXED_PAIRS
    own: FieldPairs = OWN_PAIRS

    def without(self, other: Pairs) -> Pairs:
        """Those of them that are not among others."""
        return Pairs(
            panel=tuple(pair for pair in self.panel if pair not in other.panel),
            mixed=tuple(pair for pair in self.mixed if pair not in other.mixed),
            own=tuple(pair for pair in self.own if pair not in other.own),
        )


ALL_PAIRS = Pairs()
# a stiffener's own lift and roll stand between its stretch and the panel's sink
STIFFENER_PAIRS = Pairs(
    panel=tuple((f, g) for f, g in PAIRS if f == g or W not in (f, g)),
    mixed=tuple((own, f) for own, f in MIXED_PAIRS if f != W or own in (LIFT, ROLL)),
)


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
    pairs      pairs of fields whose stiffness counts
    """

    part: str
    points: Floats
    at: Functions
    strains: Floats
    stiffness: Floats
    own: OwnFunctions | None = None
    pairs: Pairs = ALL_PAIRS

    def values(self, fields: Floats) -> Floats:
        """Q (points, 15 or 23) of a movement (5, nodes)."""
        return np.hstack([self.at.interpolated(fields), self.own_values(fields)])

    def own_values(self, fields: Floats) -> Floats:
        """Those of them that are a stiffener's own, (points, 8); (points, 0) where there is none."""
        if self.own is None:
            return np.empty((len(self.points), 0))
        own = fields[:OWN_FIELDS, self.own.nodes]
        return np.asarray(np.matmul(self.own.functions, own.transpose(1, 2, 0)).transpose(0, 2, 1).reshape(-1, OWN))

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15 or 23) on q."""
        out = self.at.gathered(forces[:, :Q], nodes)
        if self.own is not None:
            for f, at in enumerate(EACH_OWN):
                nodal = np.einsum("pd,pdn->pn", forces[:, at], self.own.functions)
                out[f] += np.bincount(self.own.nodes.ravel(), nodal.ravel(), minlength=nodes)
        return out

    def strains_at(self, rows: slice | Ints) -> Floats:
        """G at some points, (…, strains, 15 or 23)."""
        return self.strains[rows]

    def on_values(self, rows: Ints) -> Floats:
        """Gᵀ C G at points (cells, most), on the values of the fields: (cells, most, 15, 15), or 23."""
        G = self.strains[rows]
        return np.asarray(np.matmul(np.swapaxes(G, -1, -2), np.matmul(self.stiffness[rows], G)))

    def internal_forces(self, fields: Floats, free: Floats | None = None) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) that hold against a movement (5, nodes), and the energy stored: ∫ Gᵀ C (G q − E₀).

        free   strains E₀ at which nothing is held, (strains,) or (points, strains); None: none
        """
        strains = np.einsum("prq,pq->pr", self.strains, self.values(fields))
        strains = strains if free is None else strains - free
        stresses = np.einsum("prs,ps->pr", self.stiffness, strains)
        forces = np.einsum("prq,pr->pq", self.strains, stresses)
        return self.gathered(forces, fields.shape[1]), 0.5 * float(np.sum(stresses * strains))


def point_sets(
    space: Space, part: str, points: Floats, strains: Floats, stiffness: Floats, own: OwnFunctions
) -> tuple[PointSet, ...]:
    """A stiffener as one set of points, or several: each free end whose functions live there brings sixteen more."""
    return tuple(
        PointSet(
            part=part,
            points=points[rows],
            at=space.evaluated(points[rows]),
            strains=strains[rows],
            stiffness=stiffness[rows],
            own=OwnFunctions(nodes=own.nodes[rows], functions=own.functions[rows]),
            pairs=STIFFENER_PAIRS,
        )
        for rows in space.alike(points)
    )


class Points(Protocol):
    """Points that hold energy, whatever they are made of: a `PointSet`, or the panel's."""

    @property
    def at(self) -> Functions:
        """The functions there."""

    @property
    def own(self) -> OwnFunctions | None:
        """A stiffener's own."""

    @property
    def pairs(self) -> Pairs:
        """Pairs of fields whose stiffness counts."""

    def on_values(self, rows: Ints) -> Floats:
        """What they hold, on the values of the fields, at points (cells, most): (cells, most, 15, 15), or 23."""


Found = tuple[Ints, Ints, Floats]  # entries of the matrix: blocks of rows, places in these, values


@dataclass(frozen=True, kw_only=True, eq=False)
class Entries:
    """Entries of the matrix, block after block of its rows; a place may come again. Made by `by_blocks`.

    bounds           where the entries of each block begin, and how many there are
    places, values   where in its block each stands, and what it is
    """

    bounds: list[int]
    places: Ints
    values: Floats


def by_blocks(found: Iterable[Found], blocks: int) -> Iterator[Entries]:
    """Entries as they are found, so many at a time put in the order of their blocks."""
    some: list[Found] = []
    count = 0
    for each in found:
        some.append(each)
        count += len(each[2])
        if count > ENTRIES:
            yield _by_blocks(some, blocks)
            some, count = [], 0
    if some:
        yield _by_blocks(some, blocks)


def _by_blocks(found: list[Found], blocks: int) -> Entries:
    block, places, values = (np.concatenate(part) for part in zip(*found))
    order = np.argsort(block, kind="stable")
    bounds = np.append(0, np.cumsum(np.bincount(block, minlength=blocks)))
    return Entries(bounds=bounds.tolist(), places=places[order], values=values[order])


def cell_stiffness(
    sets: Sequence[Points], number: Ints, places: Callable[[Ints, Ints], tuple[Ints, Ints]]
) -> tuple[Ints, dict[tuple[int, int], Floats], list[Found]]:
    """Stiffness of every cell that holds points, Σ Nᵀ (Gᵀ C G) N with N from the functions of the cell to values.

    Gives the cell numbers, and (cells, 16 · 16) for each pair of fields on the grid's own nodes; and the entries of all
    other nodes, by their `number` (5, nodes), once for each pair of freedoms; `places` tells where two freedoms'
    entry stands.
    """
    numbers = np.unique(np.concatenate([each.at.cells for each in sets]))
    total = {
        pair: np.zeros((len(numbers), NODES**2)) for pair in PAIRS if any(pair in each.pairs.panel for each in sets)
    }
    beside: list[Found] = []

    def add(found: tuple[Ints, Ints, Floats]) -> None:
        beside.append((*places(*found[:2]), found[2]))

    for each in sets:
        for rows, held in _cells_of_points(each.at.cells, LARGE_BLOCK // each.at.nodes.shape[1]):
            D = np.where(held[..., None, None], each.on_values(rows), 0.0)
            N, nodes = each.at.values[rows], each.at.nodes[rows[:, 0]]
            place = np.searchsorted(numbers, each.at.cells[rows[:, 0]])
            if pairs := each.pairs.panel:
                matrix = _paired(N, N, _panel_pairs(D, pairs))
                for k, pair in enumerate(pairs):
                    total[pair][place] += matrix[:, :NODES, k, :NODES].reshape(len(rows), NODES**2)
                if nodes.shape[1] > NODES:
                    add(_entries(matrix, pairs, number, nodes, nodes, once=True, beyond=NODES))
            if each.own is not None:
                M, own = _own_functions(each.own, rows, held)
                if pairs := each.pairs.mixed:
                    add(_entries(_paired(M, N, _mixed_pairs(D, pairs)), pairs, number, own, nodes))
                if pairs := each.pairs.own:
                    add(_entries(_paired(M, M, _own_pairs(D, pairs)), pairs, number, own, own, once=True))
    return numbers, total, beside


def _panel_pairs(D: Floats, pairs: FieldPairs) -> Floats:
    """D between the five fields: (cells, most, 3, pairs, 3)."""
    split = D[..., :Q, :Q].reshape(*D.shape[:2], FIELDS, 3, FIELDS, 3)
    first, second = np.array(pairs).T
    return split.transpose(0, 1, 3, 2, 4, 5)[:, :, :, first, second]


def _mixed_pairs(D: Floats, pairs: FieldPairs) -> Floats:
    """D between the own fields and the five: (cells, most, 2, pairs, 3)."""
    split = D[..., Q:, :Q].reshape(*D.shape[:2], OWN_FIELDS, 2, FIELDS, 3)
    first, second = np.array(pairs).T
    return split.transpose(0, 1, 3, 2, 4, 5)[:, :, :, first, second]


def _own_pairs(D: Floats, pairs: FieldPairs) -> Floats:
    """D between the own fields: (cells, most, 2, pairs, 2)."""
    split = D[..., Q:, Q:].reshape(*D.shape[:2], OWN_FIELDS, 2, OWN_FIELDS, 2)
    first, second = np.array(pairs).T
    return split.transpose(0, 1, 3, 2, 4, 5)[:, :, :, first, second]


def _paired(left: Floats, right: Floats, D: Floats) -> Floats:
    """Σ over points of leftᵀ D right: (cells, functions, pairs, functions), for functions (cells, most, values, …)."""
    cells, most, values, pairs, _ = D.shape
    R = np.matmul(D.reshape(cells, most, values * pairs, -1), right)
    product = np.matmul(np.swapaxes(left.reshape(cells, most * values, -1), 1, 2), R.reshape(cells, most * values, -1))
    return np.asarray(product.reshape(cells, left.shape[-1], pairs, right.shape[-1]))


def _own_functions(own: OwnFunctions, rows: Ints, held: Bools) -> tuple[Floats, Ints]:
    """A stiffener's own functions on cells, (cells, most, 2, m) for all that live on the cell, and their nodes."""
    nodes = own.nodes[rows]
    first = np.where(held[..., None], nodes, nodes.max(initial=0)).min(axis=(1, 2))
    place = np.where(held[..., None], nodes - first[:, None, None], 0)
    out = np.zeros((*rows.shape, 2, int(place.max(initial=0)) + 1))
    cell, point = np.ogrid[: rows.shape[0], : rows.shape[1]]
    functions = own.functions[rows]
    for k in range(nodes.shape[2]):
        out[cell, point, :, place[..., k]] = functions[..., k]
    return np.where(held[..., None, None], out, 0.0), first[:, None] + np.arange(out.shape[3])


def _entries(
    matrix: Floats,
    pairs: FieldPairs,
    number: Ints,
    left: Ints,
    right: Ints,
    *,
    once: bool = False,
    beyond: int = 0,
) -> tuple[Ints, Ints, Floats]:
    """Rows, columns and values of cells' matrices (cells, n, pairs, m) between `left` (cells, n) and `right` nodes.

    once     of a field with itself only half, as the matrix is symmetric
    beyond   only where one of the two functions is not among the first so many, the grid's own
    """
    first, second = np.array(pairs).T
    i, j = np.arange(matrix.shape[1])[:, None, None], np.arange(matrix.shape[3])[None, None, :]
    wanted = (i >= beyond) | (j >= beyond)
    if once:
        wanted = wanted & ((first != second)[None, :, None] | (i >= j))
    at = np.nonzero(np.broadcast_to(wanted, matrix.shape[1:]))
    values = matrix[:, at[0], at[1], at[2]]
    cell, k = np.nonzero(values)
    i, pair, j = (each[k] for each in at)
    return number[first[pair], left[cell, i]], number[second[pair], right[cell, j]], values[cell, k]


def _cells_of_points(numbers: Ints, size: int) -> Iterator[tuple[Ints, Bools]]:
    """Points by cells, in blocks of about `size` points: their places (cells, most), and which of them are held.

    Cells of about as many points come together; where a cell has fewer its first point fills the row.
    """
    order = np.argsort(numbers, kind="stable")
    starts = np.flatnonzero(np.diff(numbers[order], prepend=-1))
    counts = np.diff(np.append(starts, len(order)))
    by_count = np.argsort(counts, kind="stable")[::-1]
    at = 0
    while at < len(by_count):
        most = int(counts[by_count[at]])
        block = by_count[at : at + max(size // most, 1)]
        held = np.arange(most) < counts[block][:, None]
        yield order[starts[block][:, None] + np.where(held, np.arange(most), 0)], held
        at += len(block)
