"""The whole cells of the panel as one block of points: fields there, energy, and the forces that answer a movement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board._frozen import Floats, Ints
from bellywork.mechanics.energy import FIELDS, Q
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.panel import cell_functions, plane_strains, section_stiffness


@dataclass(frozen=True, kw_only=True, eq=False)
class WholeCells:
    """Whole cells, with what the panel is at their Gauss points.

    cells       numbers of the cells
    thickness   (cells, 16), slope (cells, 16, 2) of the mid-surface, plane (3, 3) and shear (2, 2) stiffness per mm
    """

    grid: Grid
    cells: Ints
    thickness: Floats
    slope: Floats
    plane: Floats
    shear: Floats

    def answered(self, fields: Floats) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) that the cells answer to a movement (5, nodes) with, and the energy they hold."""
        functions, weights = cell_functions(self.grid)
        nodes = self.grid.nodes(self.cells)
        local = fields[:, nodes]  # (5, cells, 16)
        values = np.einsum("fcn,pdn->cpfd", local, functions, optimize=True).reshape(-1, Q)
        G = plane_strains(self.slope.reshape(-1, 2))
        C = section_stiffness(self.plane, self.shear, self.thickness.ravel())
        strains = np.matmul(G, values[:, :, None])
        forces = np.matmul(C, strains) * np.tile(weights, len(nodes))[:, None, None]
        energy = 0.5 * float(np.sum(forces * strains))
        back = np.matmul(G.transpose(0, 2, 1), forces).reshape(len(nodes), -1, FIELDS, 3)
        nodal = np.einsum("cpfd,pdn->fcn", back, functions, optimize=True)
        out = np.stack([np.bincount(nodes.ravel(), each.ravel(), minlength=fields.shape[1]) for each in nodal])
        return out, energy


__all__ = ["NODES", "WholeCells"]
