"""The panel: stiffness of its wood in the plane, of its section, and the functions on one cell of it."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.wood import Wood
from bellywork.mechanics.cut_cells import GAUSS_T, GAUSS_W
from bellywork.mechanics.energy import strain_turn
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.splines import local_splines

SHEAR_FACTOR = 5.0 / 6.0  # Reissner, rectangular section


def plane_stiffness(wood: Wood, angle: float) -> tuple[Floats, Floats]:
    """Plane-stress stiffness Q (3, 3) and transverse shear moduli S (2, 2), N/mm²; grain at `angle` (radians) from x.

    Quarter-sawn: L and R in the plane, T through the thickness.
    """
    nu_RL = wood.nu_LR * wood.E_R / wood.E_L
    rest = 1.0 - wood.nu_LR * nu_RL
    c, s = np.cos(angle), np.sin(angle)
    cross = nu_RL * wood.E_L / rest
    grain = np.array([[wood.E_L / rest, cross, 0.0], [cross, wood.E_R / rest, 0.0], [0.0, 0.0, wood.G_LR]])
    strain = strain_turn(angle)
    turn = np.array([[c, s], [-s, c]])
    return strain.T @ grain @ strain, turn.T @ np.diag([wood.G_LT, wood.G_RT]) @ turn


def section_stiffness(plane: Floats, shear: Floats, thickness: Floats) -> Floats:
    """Stiffness (points, 8, 8) of the panel's section: membrane t Q, bending t³/12 Q, shear 5/6 t S."""
    C = np.zeros((len(thickness), 8, 8))
    t = thickness[:, None, None]
    C[:, :3, :3], C[:, 3:6, 3:6], C[:, 6:, 6:] = t * plane, t**3 / 12.0 * plane, SHEAR_FACTOR * t * shear
    return C


def cell_functions(grid: Grid) -> tuple[Floats, Floats]:
    """The sixteen functions with their slopes at a cell's Gauss points (16, 3, 16), and the points' weights, mm²."""
    fx, fy = local_splines(GAUSS_T, grid.x.step), local_splines(GAUSS_T, grid.y.step)
    pairs = [np.einsum("pa,qb->pqab", fx[:, k], fy[:, m]).reshape(-1, NODES) for k, m in ((0, 0), (1, 0), (0, 1))]
    return np.stack(pairs, axis=1), np.outer(GAUSS_W, GAUSS_W).ravel() * grid.x.step * grid.y.step


def gauss_places(grid: Grid) -> Floats:
    """The sixteen Gauss points of a cell relative to its corner, mm, shape (16, 2)."""
    x, y = np.meshgrid(GAUSS_T * grid.x.step, GAUSS_T * grid.y.step, indexing="ij")
    return np.stack([x.ravel(), y.ravel()], axis=-1)
