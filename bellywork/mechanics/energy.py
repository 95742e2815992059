"""Strain energy per point: the one place where the mechanics of panel, stiffener and rim are written down.

At a point the board has fifteen values: each of the five fields u, v, w, β_x, β_y with its value and its two slopes
in plan, in the order (field, derivative). A strain operator G (strains, 15) turns them into strains; with a section
stiffness C the energy per area (or length) is ½ (G q)ᵀ C (G q). Panel points move by u + z β, so that the transverse
shear is ∇w + β and the curvature the slope of β. On a crowned board the membrane strain gains ∇z₀ ∇w (Marguerre).
"""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats

FIELDS = 5
U, V, W, BX, BY = range(FIELDS)
VALUE, DX, DY = range(3)
Q = 3 * FIELDS
STIFFENER = ("stretch", "curvature", "shear", "twist")


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


def stiffener_strains(slope: Floats, tangent: Floats, offset: Floats, offset_rate: Floats) -> Floats:
    """Strain operators (points, 4, 15) of a stiffener: stretch at its centroid, curvature, shear, twist.

    tangent (points, 2)   its direction in plan
    offset (points,)      height of its centroid above the panel's mid-surface, and its rate along the stiffener
    """
    G = np.zeros((len(slope), 4, Q))
    along = (slope * tangent).sum(1) + offset_rate
    for k, (field, turn) in enumerate(((U, BX), (V, BY))):
        t, n = tangent[:, k], (-tangent[:, 1], tangent[:, 0])[k]
        G[:, 0, at(turn, VALUE)] = offset_rate * t
        G[:, 2, at(turn, VALUE)] = t
        for j, d in enumerate((DX, DY)):
            tj = tangent[:, j]
            G[:, 0, at(field, d)] = t * tj
            G[:, 0, at(turn, d)] = offset * t * tj
            G[:, 1, at(turn, d)] = t * tj
            G[:, 3, at(turn, d)] = n * tj
    for j, d in enumerate((DX, DY)):
        G[:, 0, at(W, d)] = along * tangent[:, j]
        G[:, 2, at(W, d)] = tangent[:, j]
    return G


def second_order(strains: Floats, part_is_panel: bool) -> Floats:
    """What large deflection adds to strains: B (points, strains, 2, 2), for ½ w'ᵀ B w' with the movement's slope w'.

    A piece of panel or stiffener that slopes is longer than its plan (von Kármán): ½ w,x² in the panel, ½ (w' · t)² in
    a stiffener along t. Only these strains gain anything; a rim's springs gain nothing.
    """
    n, r = strains.shape[:2]
    B = np.zeros((n, r, 2, 2))
    if part_is_panel:
        B[:, 0, 0, 0] = B[:, 1, 1, 1] = B[:, 2, 0, 1] = B[:, 2, 1, 0] = 1.0
    elif r == len(STIFFENER):
        tangent = strains[:, 2][:, SLOPES]  # the shear strain holds w' · t
        B[:, 0] = tangent[:, :, None] * tangent[:, None, :]
    return B


def rim_strains(points: int) -> Floats:
    """Operators (points, 5, 15) of the rim: the five movements themselves."""
    G = np.zeros((points, FIELDS, Q))
    for field in range(FIELDS):
        G[:, field, at(field, VALUE)] = 1.0
    return G
