"""The panel at points, where it is no whole cells: thickness and slope are kept, operators made as they are needed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import BX, BY, FIELDS, Q, U, V, panel_strains
from bellywork.mechanics.panel import MEMBRANE, PanelLaw, multiplier
from bellywork.mechanics.points import PAIRS, OwnFunctions, Pairs
from bellywork.mechanics.space import Functions, Space

PANEL = "panel"
# the panel's stretch and its bending do not know each other
PANEL_PAIRS = Pairs(panel=tuple(pair for pair in PAIRS if pair not in ((U, BX), (U, BY), (V, BX), (V, BY))))


@dataclass(frozen=True, kw_only=True, eq=False)
class PanelSet:
    """Points of the panel, cell after cell, as many on each.

    per_cell         how many
    points           (points, 2) in the grid's frame
    at               the functions there
    area             mm² that each stands for (points,)
    thickness        (points,), mm
    slope            (points, 2) of the mid-surface
    plane, shear     plane stiffness (3, 3) and transverse shear moduli (2, 2), N/mm²
    membrane_N       membrane forces times the area (points, 3), of a board under stress; None: none
    pairs            pairs of fields whose stiffness counts
    """

    per_cell: int
    points: Floats
    at: Functions
    area: Floats
    thickness: Floats
    slope: Floats
    plane: Floats
    shear: Floats
    membrane_N: Floats | None = None
    pairs: Pairs = PANEL_PAIRS
    part: str = PANEL
    own: OwnFunctions | None = None

    @cached_property
    def _law(self) -> PanelLaw:
        return PanelLaw(plane=self.plane, shear=self.shear)

    def strains_at(self, rows: slice | Ints) -> Floats:
        """G at some points, (…, 8, 15)."""
        slope = self.slope[rows]
        return panel_strains(slope.reshape(-1, 2)).reshape(*slope.shape[:-1], 8, Q)

    def on_values(self, rows: Ints) -> Floats:
        """Gᵀ C G at points (cells, most), on the values of the fields: (cells, most, 15, 15)."""
        area, thickness, slope = self.area[rows], self.thickness[rows], self.slope[rows]
        forms = {name: form for name, form in self._law.forms.items() if name not in MEMBRANE}
        numbers = [area * multiplier(name, thickness, slope) for name in forms]
        if self.membrane_N is not None:
            forms |= {name: self._law.forms[name] for name in MEMBRANE}
            numbers.extend(np.moveaxis(self.membrane_N[rows], -1, 0))
        table = np.reshape(list(forms.values()), (-1, Q * Q))
        return np.asarray((np.stack(numbers, axis=-1) @ table).reshape(*rows.shape, Q, Q))

    def internal_forces(self, fields: Floats) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) that hold against a movement (5, nodes), and the energy stored."""
        strains = self._law.strains(self.values(np.ascontiguousarray(fields.T)), self.slope)
        stresses = self._law.stresses(strains, self.area * self.thickness, self.area * self.thickness**3)
        forces = self._law.forces(stresses, self.slope)
        return self.gathered(forces, fields.shape[1]).T, 0.5 * float(np.sum(stresses * strains))

    @cached_property
    def _on_cells(self) -> tuple[Ints, Floats]:
        """Nodes (cells, m) of the cells, and their functions (cells, values of all points, m)."""
        most = self.at.values.shape[2]
        return self.at.nodes[:: self.per_cell], self.at.values.reshape(-1, 3 * self.per_cell, most)

    def values(self, moved: Floats) -> Floats:
        """Values (points, 15) of a movement (nodes, 5), derivative by derivative."""
        nodes, functions = self._on_cells
        return np.asarray(np.matmul(functions, moved[nodes]).reshape(-1, Q))

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (nodes, 5) of forces on `values`: its transpose."""
        at, functions = self._on_cells
        nodal = np.matmul(np.swapaxes(functions, 1, 2), forces.reshape(len(at), -1, FIELDS))
        return np.stack([np.bincount(at.ravel(), nodal[..., f].ravel(), nodes) for f in range(FIELDS)], axis=-1)


def panel_sets(
    space: Space, points: Floats, area: Floats, thickness: Floats, slope: Floats, plane: Floats, shear: Floats
) -> tuple[PanelSet, ...]:
    """Points of the panel as sets: each free end whose functions live on a cell brings sixteen more, each piece that a
    cell is cut into its points.
    """
    out = []
    for alike in space.alike(points):
        cells = space.grid.evaluated(points[alike])[0]
        order = np.argsort(cells, kind="stable")
        count = np.bincount(cells)[cells[order]]
        for per_cell in np.unique(count).tolist():
            rows = alike[order[count == per_cell]]
            out.append(
                PanelSet(
                    per_cell=per_cell,
                    points=points[rows],
                    at=space.evaluated(points[rows]),
                    area=area[rows],
                    thickness=thickness[rows],
                    slope=slope[rows],
                    plane=plane,
                    shear=shear,
                )
            )
    return tuple(out)
