"""Plain plates as bodies, for the published cases: one material, one thickness, a rim held all round in one way."""

from __future__ import annotations

from functools import cache

import numpy as np

from bellywork.board import Body, Outline, Panel, RimSupport, Wood
from bellywork.mechanics.model import assembled

FAST, FREE = float("inf"), 0.0
CLAMPED = RimSupport(name="clamped", vertical_N_mm2=FAST, inplane_N_mm2=FAST, rotation_N=FAST)
HINGED = RimSupport(name="hinged", vertical_N_mm2=FAST, inplane_N_mm2=FAST, rotation_N=FREE)
UNHELD = RimSupport(name="free", vertical_N_mm2=FREE, inplane_N_mm2=FREE, rotation_N=FREE)

THIN_E, THIN_NU, THIN_MM, THIN_SHORT = 10_000.0, 0.3, 3.0, 600.0  # the plate that the tables are compared on
THIN_D = THIN_E * THIN_MM**3 / (12.0 * (1.0 - THIN_NU**2))


def isotropic(E: float = THIN_E, nu: float = THIN_NU) -> Wood:
    """A material alike in all directions, such as the plate tables are for."""
    G = E / (2.0 * (1.0 + nu))
    return Wood(
        name="isotropic", E_L=E, E_R=E, E_T=E, G_LR=G, G_LT=G, G_RT=G, nu_LR=nu, nu_LT=nu, nu_RT=nu,
        density_kg_m3=450.0,
    )  # fmt: skip


def plate(corners, support, material, thickness, *, grain_deg=0.0, crown=(), **parts) -> Body:
    """A body of one thickness on the polygon `corners`, held by `support` (one for all sides, or one per side)."""
    supports = support if isinstance(support, tuple) else (support,) * len(corners)
    return Body(
        outline=Outline(points_mm=corners, support=supports),
        panel=Panel(
            wood=material,
            grain_deg=grain_deg,
            thickness_points_mm=[(0.0, 0.0, thickness)],
            crown_points_mm=np.reshape(crown, (-1, 3)),
        ),
        **parts,
    )


def rectangle(a: float, b: float) -> list[tuple[float, float]]:
    """Corners of a rectangle a × b, counter-clockwise from the origin."""
    return [(0.0, 0.0), (a, 0.0), (a, b), (0.0, b)]


def circle(radius: float, sides: int = 360) -> np.ndarray:
    """Corners on a circle about the origin."""
    turn = 2.0 * np.pi * np.arange(sides) / sides
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def even_load(a: float, b: float, pressure: float, points: int = 24) -> tuple[np.ndarray, np.ndarray]:
    """Places and forces that stand for an even pressure on the rectangle: Gauss points with their weights."""
    at, weight = np.polynomial.legendre.leggauss(points)
    x, y = np.meshgrid((at + 1.0) * a / 2.0, (at + 1.0) * b / 2.0, indexing="ij")
    force = pressure * a * b / 4.0 * np.outer(weight, weight)
    return np.column_stack([x.ravel(), y.ravel()]), force.ravel()


def even_load_on_circle(radius: float, pressure: float, rings: int = 24, spokes: int = 96):
    """Places and forces that stand for an even pressure on the circle about the origin."""
    at, weight = np.polynomial.legendre.leggauss(rings)
    r = (at + 1.0) * radius / 2.0
    turn = 2.0 * np.pi * (np.arange(spokes) + 0.5) / spokes
    places = np.stack([np.outer(r, np.cos(turn)), np.outer(r, np.sin(turn))], axis=-1).reshape(-1, 2)
    force = np.outer(pressure * r * weight * radius / 2.0, np.full(spokes, 2.0 * np.pi / spokes))
    return places, force.ravel()


def sinks(body: Body, cell_mm: float, places, forces, points) -> np.ndarray:
    """Sink in mm at `points` under `forces` in N at `places`."""
    return assembled(body, cell_mm=cell_mm).pressed(np.asarray(places), np.asarray(forces)).sink_mm(np.asarray(points))


@cache
def rectangle_alphas(ratio: float, hinged: bool) -> tuple[float, float]:
    """α of w = α q a⁴/D under an even load, and of w = α P a²/D under a force at the centre, sides a and ratio · a."""
    a, b = THIN_SHORT, THIN_SHORT * ratio
    body = plate(rectangle(b, a), HINGED if hinged else CLAMPED, isotropic(), THIN_MM)
    centre = [(b / 2.0, a / 2.0)]
    even = sinks(body, a / 20.0, *even_load(b, a, 1e-4), centre)[0] * THIN_D / (1e-4 * a**4)
    point = sinks(body, a / 40.0, centre, [1.0], centre)[0] * THIN_D / a**2
    return float(even), float(point)


@cache
def rectangle_betas(ratio: float, hinged: bool) -> tuple[float, float]:
    """β of the bending stress σ = β q a²/h² at the centre's underside, across and along the long side, even load."""
    a, b = THIN_SHORT, THIN_SHORT * ratio
    body = plate(rectangle(b, a), HINGED if hinged else CLAMPED, isotropic(), THIN_MM)
    pressed = assembled(body, cell_mm=a / 20.0).pressed(*even_load(b, a, 1e-4))
    stress = pressed.panel_stress([(b / 2.0, a / 2.0)])
    unit = 1e-4 * a**2 / THIN_MM**2
    return float(stress.across_grain[0, 0] / unit), float(stress.along_grain[0, 0] / unit)
