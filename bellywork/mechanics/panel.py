"""The panel: stiffness of its section, and all whole cells at once."""

from __future__ import annotations

import numpy as np

from bellywork.board._frozen import Floats
from bellywork.board.wood import Wood
from bellywork.mechanics.cells import GAUSS_T, GAUSS_W
from bellywork.mechanics.energy import FIELDS, panel_strains
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.splines import local_splines

SHEAR_FACTOR = 5.0 / 6.0  # Reissner, rectangular section


def plane_stiffness(wood: Wood, angle: float) -> tuple[Floats, Floats]:
    """Plane-stress stiffness Q (3, 3) and transverse shear moduli S (2, 2), grain at `angle` (radians) from x.

    Quarter-sawn: L and R in the plane, T through the thickness.
    """
    nu_RL = wood.nu_LR * wood.E_R / wood.E_L
    rest = 1.0 - wood.nu_LR * nu_RL
    c, s = np.cos(angle), np.sin(angle)
    grain = np.array(
        [
            [wood.E_L / rest, nu_RL * wood.E_L / rest, 0.0],
            [nu_RL * wood.E_L / rest, wood.E_R / rest, 0.0],
            [0, 0, wood.G_LR],
        ]
    )
    strain = np.array([[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]])
    turn = np.array([[c, s], [-s, c]])
    return strain.T @ grain @ strain, turn.T @ np.diag([wood.G_LT, wood.G_RT]) @ turn


def section_stiffness(plane: Floats, shear: Floats, thickness: Floats) -> Floats:
    """Stiffness (points, 8, 8) of the panel's section: membrane t Q, bending t³/12 Q, shear 5/6 t S."""
    C = np.zeros((len(thickness), 8, 8))
    t = thickness[:, None, None]
    C[:, :3, :3], C[:, 3:6, 3:6], C[:, 6:, 6:] = t * plane, t**3 / 12.0 * plane, SHEAR_FACTOR * t * shear
    return C


def whole_cells(
    grid: Grid, plane: Floats, shear: Floats, thickness: Floats, slope: Floats
) -> dict[tuple[int, int], Floats]:
    """Stiffness of all whole cells: for each pair of fields (f ≤ g) an array (16 · 16, cells).

    thickness (cells, 16) and slope (cells, 16, 2) at the cells' Gauss points. The energy is linear in t, t³, and
    t times slopes and products of slopes, so that every cell is a row of such numbers times one table of the cell.
    """
    t, sx, sy = thickness, slope[..., 0], slope[..., 1]
    numbers = {"t": t, "t3": t**3, "tx": t * sx, "ty": t * sy, "txx": t * sx**2, "txy": t * sx * sy, "tyy": t * sy**2}
    forms = _forms(plane, shear)
    functions, weights = _reference(grid)
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


def gauss_places(grid: Grid) -> Floats:
    """The sixteen Gauss points of a cell relative to its corner, mm, shape (16, 2)."""
    x, y = np.meshgrid(GAUSS_T * grid.x.step, GAUSS_T * grid.y.step, indexing="ij")
    return np.stack([x.ravel(), y.ravel()], axis=-1)


def _reference(grid: Grid) -> tuple[Floats, Floats]:
    fx, fy = local_splines(GAUSS_T, grid.x.step), local_splines(GAUSS_T, grid.y.step)
    pairs = [np.einsum("pa,qb->pqab", fx[:, k], fy[:, m]).reshape(-1, NODES) for k, m in ((0, 0), (1, 0), (0, 1))]
    return np.stack(pairs, axis=1), np.outer(GAUSS_W, GAUSS_W).ravel() * grid.x.step * grid.y.step


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
