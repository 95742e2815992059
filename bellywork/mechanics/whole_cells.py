"""The whole cells of the panel as one block: their stiffness at once, and their internal forces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.energy import FIELDS, Q
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.panel import MEMBRANE, PanelLaw, cell_functions, multiplier
from bellywork.mechanics.points import PAIRS, FieldPairs


@dataclass(frozen=True, kw_only=True, eq=False)
class WholeCells:
    """Whole cells, with what the panel is at their Gauss points.

    cells          numbers of the cells
    thickness      (cells, 16), mm
    slope          (cells, 16, 2) of the mid-surface
    plane, shear   plane stiffness (3, 3) and transverse shear moduli (2, 2), N/mm²
    membrane       membrane forces (cells, 16, 3), N/mm, of a board under stress; None: none
    pairs          pairs of fields whose stiffness counts
    """

    grid: Grid
    cells: Ints
    thickness: Floats
    slope: Floats
    plane: Floats
    shear: Floats
    membrane: Floats | None = None
    pairs: FieldPairs = PAIRS

    def stiffness(self, f: int, g: int) -> Floats | None:
        """Stiffness between two fields (f ≤ g), an array (16 · 16, cells); None where they do not count or the panel
        does not couple them.

        The energy is linear in t, t³, t times slopes and products of slopes, and the membrane forces, so that every
        cell is a row of such numbers times one table of the reference cell.
        """
        if (f, g) not in self.pairs:
            return None
        forms = {name: form[3 * f : 3 * f + 3, 3 * g : 3 * g + 3] for name, form in self._law.forms.items()}
        used = [name for name, form in forms.items() if form.any() and not (name in MEMBRANE and self.membrane is None)]
        if not used:
            return None
        functions, weights = cell_functions(self.grid)
        tables = [
            np.einsum("p,pda,de,peb->abp", weights, functions, forms[name], functions, optimize=True) for name in used
        ]
        table = np.concatenate([each.reshape(NODES**2, -1) for each in tables], axis=1)
        product: Floats = table @ np.concatenate([self._numbers(name) for name in used], axis=1).T
        return product

    def _numbers(self, name: str) -> Floats:
        """The number at each Gauss point (cells, 16) that multiplies a form."""
        if self.membrane is not None and name in MEMBRANE:
            return self.membrane[..., MEMBRANE.index(name)]
        return multiplier(name, self.thickness, self.slope)

    @cached_property
    def _law(self) -> PanelLaw:
        return PanelLaw(plane=self.plane, shear=self.shear)

    def values(self, fields: Floats) -> Floats:
        """Values (cells · 16, 15) of a movement (5, nodes) at the Gauss points, derivative by derivative."""
        functions, _ = cell_functions(self.grid)
        moved = np.ascontiguousarray(fields.T)[self.grid.nodes(self.cells)]
        return np.asarray(np.matmul(functions.reshape(-1, NODES), moved).reshape(-1, Q))

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces on `values`: its transpose."""
        table = cell_functions(self.grid)[0].reshape(-1, NODES)
        nodal = np.matmul(table.T, forces.reshape(len(self.cells), len(table), FIELDS))
        at_nodes = self.grid.nodes(self.cells).ravel()
        return np.array([np.bincount(at_nodes, nodal[..., f].ravel(), minlength=nodes) for f in range(FIELDS)])

    @cached_property
    def weights(self) -> Floats:
        """Area in mm² that each Gauss point stands for, (cells · 16,)."""
        return np.tile(cell_functions(self.grid)[1], len(self.cells))

    def internal_forces(self, fields: Floats) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) of the cells against a movement (5, nodes), and the energy stored."""
        law, slope, t = self._law, self.slope.reshape(-1, 2), self.thickness.ravel()
        strains = law.strains(self.values(fields), slope)
        stresses = law.stresses(strains, self.weights * t, self.weights * t**3)
        return self.gathered(law.forces(stresses, slope), fields.shape[1]), 0.5 * float(np.sum(stresses * strains))
