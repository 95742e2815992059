"""The whole cells of the panel as one block: their stiffness at once, and how they answer a movement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board._frozen import Floats, Ints
from bellywork.mechanics.energy import FIELDS, Q, panel_strains
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.panel import cell_functions, section_stiffness

CHUNK = 512


@dataclass(frozen=True, kw_only=True, eq=False)
class WholeCells:
    """Whole cells, with what the panel is at their Gauss points.

    cells          numbers of the cells
    thickness      (cells, 16), mm
    slope          (cells, 16, 2) of the mid-surface
    plane, shear   plane stiffness (3, 3) and transverse shear moduli (2, 2), N/mm²
    """

    grid: Grid
    cells: Ints
    thickness: Floats
    slope: Floats
    plane: Floats
    shear: Floats

    def stiffness(self) -> dict[tuple[int, int], Floats]:
        """Stiffness for each pair of fields (f ≤ g) that the panel couples: an array (16 · 16, cells).

        The energy is linear in t, t³, and t times slopes and products of slopes, so that every cell is a row of such
        numbers times one table of the reference cell.
        """
        t, sx, sy = self.thickness, self.slope[..., 0], self.slope[..., 1]
        numbers = {
            "t": t, "t3": t**3, "tx": t * sx, "ty": t * sy, "txx": t * sx**2, "txy": t * sx * sy, "tyy": t * sy**2
        }  # fmt: skip
        forms = _forms(self.plane, self.shear)
        functions, weights = cell_functions(self.grid)
        out = {}
        for f in range(FIELDS):
            for g in range(f, FIELDS):
                used = {name: form[3 * f : 3 * f + 3, 3 * g : 3 * g + 3] for name, form in forms.items()}
                used = {name: form for name, form in used.items() if form.any()}
                if used:
                    tables = [
                        np.einsum("p,pda,de,peb->abp", weights, functions, form, functions, optimize=True)
                        for form in used.values()
                    ]
                    table = np.concatenate([each.reshape(NODES**2, -1) for each in tables], axis=1)
                    out[f, g] = table @ np.concatenate([numbers[name] for name in used], axis=1).T
        return out

    def answered(self, fields: Floats) -> tuple[Floats, float]:
        """Nodal forces (5, nodes) with which the cells answer a movement (5, nodes), and the energy that they hold."""
        functions, weights = cell_functions(self.grid)
        out, energy = np.zeros_like(fields), 0.0
        for start in range(0, len(self.cells), CHUNK):
            part = slice(start, start + CHUNK)
            nodes = self.grid.nodes(self.cells[part])
            values = np.einsum("fcn,pdn->cpfd", fields[:, nodes], functions, optimize=True).reshape(-1, Q, 1)
            G = panel_strains(self.slope[part].reshape(-1, 2))
            C = section_stiffness(self.plane, self.shear, self.thickness[part].ravel())
            strains = np.matmul(G, values)
            forces = np.matmul(C, strains) * np.tile(weights, len(nodes))[:, None, None]
            energy += 0.5 * float(np.sum(forces * strains))
            back = np.matmul(G.transpose(0, 2, 1), forces).reshape(len(nodes), -1, FIELDS, 3)
            nodal = np.einsum("cpfd,pdn->fcn", back, functions, optimize=True)
            for f in range(FIELDS):
                out[f] += np.bincount(nodes.ravel(), nodal[f].ravel(), minlength=fields.shape[1])
        return out, energy


def joined(first: WholeCells, second: WholeCells) -> tuple[Ints, dict[tuple[int, int], Floats]]:
    """Numbers and stiffness of two blocks of cells that have none in common."""
    one, other = first.stiffness(), second.stiffness()
    return np.append(first.cells, second.cells), {k: np.concatenate([one[k], other[k]], axis=1) for k in one}


def _forms(plane: Floats, shear: Floats) -> dict[str, Floats]:
    """The quadratic forms (15, 15) of the panel's energy by the number that multiplies them, from `panel_strains`."""
    flat, x, y = panel_strains(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    unit = section_stiffness(plane, shear, np.ones(1))[0]
    thin = unit.copy()
    thin[3:6, 3:6] = 0.0
    bend = unit - thin
    dx, dy = x - flat, y - flat

    def form(a: Floats, C: Floats, b: Floats) -> Floats:
        half = a.T @ C @ b
        return half if a is b else half + half.T

    return {
        "t": form(flat, thin, flat),
        "t3": form(flat, bend, flat),
        "tx": form(flat, thin, dx),
        "ty": form(flat, thin, dy),
        "txx": form(dx, thin, dx),
        "txy": form(dx, thin, dy),
        "tyy": form(dy, thin, dy),
    }
