"""The panel: stiffness of its wood in the plane, of its section, and the functions on one cell of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.wood import Wood
from bellywork.mechanics.cut_cells import GAUSS_T, GAUSS_W
from bellywork.mechanics.energy import DX, DY, FIELDS, Q, W, at, panel_strains, strain_turn
from bellywork.mechanics.grid import NODES, Grid
from bellywork.mechanics.splines import local_splines

BY_DERIVATIVE = [at(field, derivative) for derivative in range(Q // FIELDS) for field in range(FIELDS)]
MEMBRANE = ("nx", "ny", "nxy")  # forces that turn with the slope
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


@dataclass(frozen=True, kw_only=True, eq=False)
class PanelLaw:
    """What a panel of one wood does at points, for many of them at once: values of the movement → strains → stresses →
    forces on the values.

    The strain operator is linear in the slope of the mid-surface and else the same everywhere, the section linear in t
    and t³: so each step is one product of matrices. The values (points, 15) stand derivative by derivative, the five
    fields in each, as functions with many movements give them.
    """

    plane: Floats
    shear: Floats

    @cached_property
    def _operators(self) -> Floats:
        """Strain operators (14, 15): eight without slope, and what each slope adds to the three membrane strains."""
        flat, x, y = panel_strains(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        stacked = np.concatenate([flat, (x - flat)[:3], (y - flat)[:3]])
        return np.ascontiguousarray(stacked[:, BY_DERIVATIVE])

    @cached_property
    def unit(self) -> Floats:
        """Stiffness (8, 8) of a section of thickness 1."""
        return np.asarray(section_stiffness(self.plane, self.shear, np.ones(1))[0])

    @cached_property
    def forms(self) -> dict[str, Floats]:
        """The quadratic forms (15, 15) of the panel's energy by the number that multiplies them.

        With s the slope of the mid-surface the strain operator is linear in it, G = G₀ + s_x D_x + s_y D_y (G₀, D from
        `panel_strains` at slopes 0 and 1), and the section is t C₁ + t³ C₃. Multiplied out, Gᵀ (t C₁ + t³ C₃) G is
        t G₀ᵀC₁G₀ + t³ G₀ᵀC₃G₀ + t s_x (G₀ᵀC₁D_x + D_xᵀC₁G₀) + … + t s_x s_y (D_xᵀC₁D_y + D_yᵀC₁D_x): a number for each
        point times a form that is the same everywhere (C₃ meets no slope: D has rows for the membrane strains only).
        Under stress come n_x w,x², n_y w,y² and 2 n_xy w,x w,y.
        """
        flat, x, y = panel_strains(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        unit = self.unit
        thin = unit.copy()
        thin[3:6, 3:6] = 0.0
        bend = unit - thin
        dx, dy = x - flat, y - flat

        def form(a: Floats, C: Floats, b: Floats) -> Floats:
            half = a.T @ C @ b
            return half if a is b else half + half.T

        forms = {
            "t": form(flat, thin, flat),
            "t3": form(flat, bend, flat),
            "tx": form(flat, thin, dx),
            "ty": form(flat, thin, dy),
            "txx": form(dx, thin, dx),
            "txy": form(dx, thin, dy),
            "tyy": form(dy, thin, dy),
        }
        for name, first, second in zip(MEMBRANE, (DX, DY, DX), (DX, DY, DY)):
            forms[name] = np.zeros((Q, Q))
            forms[name][at(W, first), at(W, second)] = forms[name][at(W, second), at(W, first)] = 1.0
        return forms

    def strains(self, values: Floats, slope: Floats) -> Floats:
        """Strains (points, 8) of values (points, 15) where the mid-surface slopes by so much (points, 2)."""
        each = values @ self._operators.T
        out: Floats = each[:, :8]
        out[:, :3] += slope[:, :1] * each[:, 8:11] + slope[:, 1:] * each[:, 11:]
        return out

    def stresses(self, strains: Floats, t: Floats, t3: Floats) -> Floats:
        """Stresses (points, 8): membrane forces, moments, shear forces, of sections of thickness t and its cube."""
        out: Floats = strains @ self.unit
        out[:, :3] *= t[:, None]
        out[:, 3:6] *= t3[:, None]
        out[:, 6:] *= t[:, None]
        return out

    def forces(self, stresses: Floats, slope: Floats) -> Floats:
        """Forces (points, 15) on the values, of stresses (points, 8): the transpose of `strains`."""
        pull = stresses[:, :3]
        each = np.concatenate([stresses, slope[:, :1] * pull, slope[:, 1:] * pull], axis=1)
        out: Floats = each @ self._operators
        return out


def multiplier(name: str, thickness: Floats, slope: Floats) -> Floats:
    """What multiplies a form of the panel's energy that no membrane force does: t³, or t times slopes (…, 2)."""
    if name == "t3":
        return np.asarray(thickness**3)
    slopes: Floats = np.prod([slope[..., "xy".index(axis)] for axis in name[1:]], axis=0)
    return thickness * slopes


def cell_functions(grid: Grid) -> tuple[Floats, Floats]:
    """The sixteen functions with their slopes at a cell's Gauss points (16, 3, 16), and the points' weights, mm²."""
    fx, fy = local_splines(GAUSS_T, grid.x.step), local_splines(GAUSS_T, grid.y.step)
    pairs = [np.einsum("pa,qb->pqab", fx[:, k], fy[:, m]).reshape(-1, NODES) for k, m in ((0, 0), (1, 0), (0, 1))]
    return np.stack(pairs, axis=1), np.outer(GAUSS_W, GAUSS_W).ravel() * grid.x.step * grid.y.step


def gauss_places(grid: Grid) -> Floats:
    """The sixteen Gauss points of a cell relative to its corner, mm, shape (16, 2)."""
    x, y = np.meshgrid(GAUSS_T * grid.x.step, GAUSS_T * grid.y.step, indexing="ij")
    return np.stack([x.ravel(), y.ravel()], axis=-1)
