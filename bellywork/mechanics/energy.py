"""Strain energy per point: the one place where the mechanics of panel, stiffener and rim are written down.

At a point the board has fifteen values: each of the five fields u, v, w, β_x, β_y with its value and its two slopes
in plan, in the order (field, derivative). A strain operator G (strains, 15) turns them into strains; with a section
stiffness C the energy per area (or length) is ½ (G q)ᵀ C (G q). Panel points move by u + z β, so that the transverse
shear is ∇w + β and the curvature the slope of β. On a crowned board the membrane strain gains ∇z₀ ∇w (Marguerre).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints

FIELDS = 5
U, V, W, BX, BY = range(FIELDS)
VALUE, DX, DY = range(3)
Q = 3 * FIELDS
OWN_FIELDS = 4  # what is a stiffener's own: its rotation along the run, its slip, its lift, its roll about the run
TURN, SLIP, LIFT, ROLL = range(OWN_FIELDS)
OWN = 2 * OWN_FIELDS  # they come after the fifteen, each with its value and its slope along the run
TURN_VALUE, TURN_SLOPE, SLIP_VALUE, SLIP_SLOPE, LIFT_VALUE, LIFT_SLOPE, ROLL_VALUE, ROLL_SLOPE = range(Q, Q + OWN)
STIFFENER = ("stretch", "curvature", "shear", "slip", "twist", "squeeze")
SQUEEZE = STIFFENER.index("squeeze")


@dataclass(frozen=True, kw_only=True, eq=False)
class Offset:
    """A height over another, mm, at points, and its rate along the run."""

    mm: Floats
    rate: Floats

    def __getitem__(self, rows: Bools | Ints) -> Offset:
        return Offset(mm=self.mm[rows], rate=self.rate[rows])


def at(field: int, derivative: int) -> int:
    """Place of a field's value or slope among the fifteen."""
    return 3 * field + derivative


SLOPES = [at(W, DX), at(W, DY)]


def panel_strains(slope: Floats) -> Floats:
    """Strain operators (points, 8, 15) of the panel: three membrane strains, three curvatures, two shears.

    `slope` (points, 2) is the slope of the mid-surface: of the crown, and of crown and sink together in the tangent of
    a large deflection. Linear in the slope.
    """
    G = np.zeros((len(slope), 8, Q))
    sx, sy = slope.T
    G[:, 0, at(U, DX)] = G[:, 1, at(V, DY)] = G[:, 2, at(U, DY)] = G[:, 2, at(V, DX)] = 1.0
    G[:, 0, at(W, DX)] = sx
    G[:, 1, at(W, DY)] = sy
    G[:, 2, at(W, DX)], G[:, 2, at(W, DY)] = sy, sx
    G[:, 3, at(BX, DX)] = G[:, 4, at(BY, DY)] = G[:, 5, at(BX, DY)] = G[:, 5, at(BY, DX)] = 1.0
    G[:, 6, at(W, DX)] = G[:, 6, at(BX, VALUE)] = G[:, 7, at(W, DY)] = G[:, 7, at(BY, VALUE)] = 1.0
    return G


def stiffener_strains(
    slope: Floats, tangent: Floats, turning: Floats, glue: Offset, arm: Offset, aside_mm: Floats
) -> Floats:
    """Strain operators (points, 6, 23) of a stiffener: stretch of its own axis, curvature, shear, slip, twist, squeeze.

    It has a rotation ψ t + ω n and a lift λ of its own, and hangs on the panel at the glue line, which gives by δ: a
    point of it moves along its run s by u_s + z β_s + δ + ζ ψ, with z the height of the glue line over the panel's
    middle and ζ its own height over that, and upwards by λ − aω, with a how far it lies aside, towards n. Its own axis,
    z + ζ over the panel's middle, stretches by the slope of the first along the run and, as it slopes by the crown's
    slope and the rates of z and ζ, by that slope times λ′. It bends by ψ′, shears by λ′ + ψ, twists by ω′. Where the
    run curves, t′ = κn, n′ = −κt, the rotation's slope is (ψ′ − κω) t + (ω′ + κψ) n. Its foot is squeezed by
    w − λ + aω.

    slope, tangent (points, 2)   slope of the panel's mid-surface; direction of the run in plan
    turning (points,)            κ, 1/mm, positive where the run turns counter-clockwise
    glue, arm                    z and ζ, with their rates along the run
    aside_mm (points,)           a
    """
    G = np.zeros((len(slope), len(STIFFENER), Q + OWN))
    along = (slope * tangent).sum(1) + glue.rate + arm.rate
    for k, (field, turn) in enumerate(((U, BX), (V, BY))):
        t = tangent[:, k]
        G[:, 0, at(turn, VALUE)] = glue.rate * t
        for j, d in enumerate((DX, DY)):
            G[:, 0, at(field, d)] = t * tangent[:, j]
            G[:, 0, at(turn, d)] = glue.mm * t * tangent[:, j]
    G[:, 0, TURN_VALUE], G[:, 0, TURN_SLOPE], G[:, 0, ROLL_VALUE] = arm.rate, arm.mm, -arm.mm * turning
    G[:, 0, SLIP_SLOPE] = 1.0
    G[:, 0, LIFT_SLOPE] = along
    G[:, 1, TURN_SLOPE], G[:, 1, ROLL_VALUE] = 1.0, -turning
    G[:, 2, LIFT_SLOPE] = G[:, 2, TURN_VALUE] = 1.0
    G[:, 3, SLIP_VALUE] = 1.0
    G[:, 4, ROLL_SLOPE], G[:, 4, TURN_VALUE] = 1.0, turning
    G[:, SQUEEZE, at(W, VALUE)], G[:, SQUEEZE, LIFT_VALUE], G[:, SQUEEZE, ROLL_VALUE] = 1.0, -1.0, aside_mm
    return G


def end_strains(normal: Floats) -> Floats:
    """Operators (points, 4, 23) of a stiffener's end on the rim: its own rotation, its slip, and how far its lift and
    its roll are others than those of the panel's edge; `normal` (points, 2) across its run.
    """
    G = np.zeros((len(normal), 4, Q + OWN))
    G[:, 0, TURN_VALUE] = G[:, 1, SLIP_VALUE] = G[:, 2, at(W, VALUE)] = G[:, 3, ROLL_VALUE] = 1.0
    G[:, 2, LIFT_VALUE] = -1.0
    G[:, 3][:, SLOPES] = normal
    return G


def strain_turn(angle: float) -> Floats:
    """Matrix (3, 3) that turns plane strains (ε_x, ε_y, γ_xy) into axes at `angle` (radians) from x."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]])


def rim_strains(points: int) -> Floats:
    """Operators (points, 5, 15) of the rim: the five movements themselves."""
    G = np.zeros((points, FIELDS, Q))
    for field in range(FIELDS):
        G[:, field, at(field, VALUE)] = 1.0
    return G
