"""The functions that movements are made of: splines on the grid, kinked ones at free ends, one spline per stiffener.

Every function is a *node* with room for five freedoms. The grid's nodes come first. Then those of the free ends: where
a stiffener ends inside the panel the panel's strains jump along a line, which a spline that is smooth twice over cannot
follow; it would stiffen the rest of the cell, as if the stiffener were half a cell longer. With r the distance beyond
the end (0 on the stiffener's side) each spline φ whose support meets the end comes a second time, as rφ: the
rotations kink where the bending stiffness jumps, and w where the panel has to take all the shear. Last come the nodes
of what is a stiffener's own, its rotation, slip, lift and roll, with four freedoms each.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.mechanics.energy import FIELDS, OWN_FIELDS
from bellywork.mechanics.grid import Grid
from bellywork.mechanics.splines import DEGREE


@dataclass(frozen=True, kw_only=True, eq=False)
class FreeEnd:
    """Where a stiffener ends inside the panel: the middle of its end, the direction out of it (2,), half its width."""

    middle: Floats
    outward: Floats
    half_width_mm: float

    def beyond(self, points: Floats) -> Floats:
        """Distance of points (points, 2) beyond the end, mm; negative on the stiffener's side."""
        out: Floats = (points - self.middle) @ self.outward
        return out


@dataclass(frozen=True, kw_only=True, eq=False)
class Functions:
    """The functions at points, m for each.

    cells, nodes   cell of each point (points,), and the nodes (points, m); the grid's sixteen come first
    values         value and two slopes (points, 3, m)
    """

    cells: Ints
    nodes: Ints
    values: Floats

    def __getitem__(self, rows: slice | Ints | Bools) -> Functions:
        return Functions(cells=self.cells[rows], nodes=self.nodes[rows], values=self.values[rows])

    def interpolated(self, fields: Floats) -> Floats:
        """The fifteen values (points, 15) of the movement `fields` (5, nodes), or (points, cases, 15) of several."""
        local = np.ascontiguousarray(np.moveaxis(fields, -2, -1))[..., self.nodes, :]  # (…, points, m, 5)
        values = np.swapaxes(np.moveaxis(np.matmul(self.values, local), -3, 0), -1, -2)
        flat: Floats = values.reshape(*values.shape[:-2], 3 * FIELDS)
        return flat

    def gathered(self, at_points: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15) on the fifteen values: the transpose of `interpolated`."""
        nodal = np.matmul(at_points.reshape(len(self.cells), FIELDS, 3), self.values)
        return np.array([np.bincount(self.nodes.ravel(), nodal[:, f].ravel(), minlength=nodes) for f in range(FIELDS)])


@dataclass(frozen=True, kw_only=True, eq=False)
class Space:
    """All functions of a board: of its grid, of its free ends, and of the own rotation of each stiffener.

    hosts   for each stiffener the nodes of the grid (functions,) nearest to its splines: a freedom is numbered beside
            the movements that it works with, so that the matrix stays a band
    """

    grid: Grid
    ends: tuple[FreeEnd, ...]
    hosts: tuple[Ints, ...]

    @cached_property
    def enriched(self) -> tuple[Ints, ...]:
        """For each end the grid's nodes whose support meets it."""
        return tuple(self._met(end) for end in self.ends)

    @cached_property
    def host(self) -> Ints:
        """For every node the node of the grid beside which its freedoms are numbered."""
        nx, ny = self.grid.shape
        return np.concatenate([np.arange(nx * ny), *self.enriched, *self.hosts])

    @property
    def nodes(self) -> int:
        """How many nodes there are."""
        return len(self.host)

    @property
    def freedoms(self) -> Ints:
        """How many freedoms each node has: five, or the four of a stiffener."""
        own = sum(len(each) for each in self.hosts)
        return np.append(np.full(self.nodes - own, FIELDS), np.full(own, OWN_FIELDS))

    def run_nodes(self, stiffener: int) -> int:
        """First node of a stiffener's own rotation."""
        return self.nodes - sum(len(each) for each in self.hosts[stiffener:])

    @cached_property
    def _layers(self) -> Ints:
        """Ends whose functions live on each cell, (cells, most at one place), −1 for none."""
        grid = self.grid
        found: list[list[int]] = [[] for _ in range(grid.x.cells * grid.y.cells)]
        for k in range(len(self.ends)):
            for cell in self.end_cells(k):
                found[cell].append(k)
        most = max((len(each) for each in found), default=0)
        layers = np.full((len(found), most), -1, dtype=np.int64)
        for cell, each in enumerate(found):
            layers[cell, : len(each)] = each
        return layers

    @cached_property
    def ends_met(self) -> Ints:
        """Of how many free ends functions live on each cell, (cells,)."""
        return np.asarray((self._layers >= 0).sum(1))

    @cached_property
    def kinked(self) -> Bools:
        """Which cells hold functions of free ends."""
        return np.asarray(self.ends_met > 0)

    def alike(self, points: Floats) -> tuple[Ints, ...]:
        """Places of points that have as many functions, set by set, the fewest first."""
        met = self.ends_met[self.grid.evaluated(points)[0]]
        return tuple(np.flatnonzero(met == count) for count in np.unique(met))

    def ends_on(self, cell: int) -> tuple[FreeEnd, ...]:
        """The free ends whose functions live on a cell."""
        return tuple(self.ends[k] for k in self._layers[cell] if k >= 0)

    def end_cells(self, end: int) -> Ints:
        """Cells on which the functions of an end live: those of its splines that reach beyond it."""
        grid = self.grid
        i, j = np.divmod(self.enriched[end], grid.y.functions)
        at = [
            np.clip(each[:, None] - np.arange(DEGREE + 1), 0, axis.cells - 1)
            for each, axis in ((i, grid.x), (j, grid.y))
        ]
        cells = np.unique(at[0][:, :, None] * grid.y.cells + at[1][:, None, :])
        beyond = np.max([self.ends[end].beyond(corner) for corner in grid.corners(cells)], axis=0)
        return np.asarray(cells[beyond > 1e-9 * grid.x.step])

    def _met(self, end: FreeEnd) -> Ints:
        """Nodes of the grid whose support meets the line across an end: no axis parts the box from the line.

        More of them would be all but one another's sum where an end is near the rim: there r times the splines is
        nearly what the splines beyond the next knot are.
        """
        axes, (nx, ny) = (self.grid.x, self.grid.y), self.grid.shape
        half = (DEGREE + 1) / 2.0 * np.array([axis.step for axis in axes])
        i, j = np.divmod(np.arange(nx * ny), ny)
        middle = np.column_stack([axis.start + axis.step * (k - 1.0) for axis, k in zip(axes, (i, j))])
        away, out = np.abs(middle - end.middle), np.abs(end.outward)
        reach = half + end.half_width_mm * out[::-1]
        apart = np.abs((middle - end.middle) @ end.outward) - half @ out
        slack = 1e-6 * half.min()
        return np.flatnonzero(np.all(away < reach - slack, axis=1) & (apart < -slack))

    def evaluated(self, points: Floats) -> Functions:
        """The functions at points (points, 2) of the grid's frame."""
        cells, functions = self.grid.evaluated(points)
        nodes = self.grid.nodes(cells)
        layers = self._layers[cells]
        deep = int((layers >= 0).sum(1).max(initial=0))
        if deep == 0:
            return Functions(cells=cells, nodes=nodes, values=functions)
        all_nodes, values = [nodes], [functions]
        for layer in layers[:, :deep].T:
            more, kinked = nodes.copy(), np.zeros_like(functions)
            for k in np.unique(layer[layer >= 0]):
                rows = np.flatnonzero(layer == k)
                number = self._number_of(k)[nodes[rows]]
                more[rows] = np.where(number >= 0, number, nodes[rows])
                kinked[rows] = self._kinked(self.ends[k], points[rows], functions[rows]) * (number >= 0)[:, None]
            all_nodes.append(more)
            values.append(kinked)
        return Functions(cells=cells, nodes=np.concatenate(all_nodes, axis=1), values=np.concatenate(values, axis=2))

    def _number_of(self, end: int) -> Ints:
        """Number of an end's own node for each node of the grid, −1 for none."""
        nx, ny = self.grid.shape
        out = np.full(nx * ny, -1, dtype=np.int64)
        first = nx * ny + sum(len(each) for each in self.enriched[:end])
        out[self.enriched[end]] = first + np.arange(len(self.enriched[end]))
        return out

    def _kinked(self, end: FreeEnd, points: Floats, functions: Floats) -> Floats:
        """rφ with its slopes, r in cells: so that all freedoms are of one size."""
        r = np.maximum(end.beyond(points), 0.0) / self.grid.x.step
        slope = np.where(r > 0.0, 1.0, 0.0)[:, None] * end.outward / self.grid.x.step
        out: Floats = r[:, None, None] * functions
        out[:, 1:] += slope[:, :, None] * functions[:, :1]
        return out
