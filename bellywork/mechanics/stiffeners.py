"""Ribs and bridges: Timoshenko beams glued to the panel over their true width."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board._frozen import Floats
from bellywork.board.body import Bridge, Rib
from bellywork.board.wood import Wood

if TYPE_CHECKING:
    from shapely import Polygon

SHEAR_FACTOR = 5.0 / 6.0
STEP_MM = 10.0
ACROSS = 3
ALONG = 2


@dataclass(frozen=True, kw_only=True, eq=False)
class Section:
    """Section of a stiffener at stations along it.

    EA, EI, GA, GJ   stretch, bending about its own centroid, shear (with factor), twist; N, N mm², N, N mm²
    centroid_mm      distance of the (stiffness-weighted) centroid from the glue line
    height_mm, width_mm
    """

    EA: Floats
    EI: Floats
    GA: Floats
    GJ: Floats
    centroid_mm: Floats
    height_mm: Floats
    width_mm: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Stations:
    """Points along a stiffener's centre line.

    name                   "rib …" or "bridge …"
    side                   +1 on top of the panel (bridge), −1 under it (rib)
    points_mm, tangents    (stations, 2), in plan of the board
    run_mm, weights_mm     distance from its start, and length that each station stands for
    glue_wood, edge_wood   the wood at the glue line and at the outer edge
    """

    name: str
    side: int
    points_mm: Floats
    tangents: Floats
    run_mm: Floats
    weights_mm: Floats
    section: Section
    glue_wood: Wood
    edge_wood: Wood


def rib_stations(rib: Rib, outline: Polygon) -> Stations | None:
    """Stations along the part of a rib that lies inside the outline; None where none does."""
    import shapely

    inside = shapely.intersection(outline, shapely.LineString([rib.start_mm, rib.end_mm]))
    if inside.length <= 0.0:
        return None
    run = rib.end_mm - rib.start_mm
    length = rib.length_mm
    ends = shapely.get_coordinates(inside) - rib.start_mm
    along = ends @ run / length
    s, weights = _stations(float(along.min()), float(along.max()))
    height = rib_height_mm(rib, s)
    tangents = np.broadcast_to(run / length, (len(s), 2))
    section = _layers(np.full(len(s), float(rib.width_mm)), [(rib.wood, height)])
    return Stations(
        name=f"rib {rib.name}",
        side=-1,
        points_mm=rib.start_mm + np.outer(s, run / length),
        tangents=tangents,
        run_mm=s,
        weights_mm=weights,
        section=section,
        glue_wood=rib.wood,
        edge_wood=rib.wood,
    )


def rib_height_mm(rib: Rib, along_mm: Floats) -> Floats:
    """Height of a rib at distances from its start: full, falling in straight feathers to the end heights."""
    height = np.full(len(along_mm), float(rib.height_mm))
    for end, feather, away in zip(rib.end_height_mm, rib.feather_mm, (along_mm, rib.length_mm - along_mm)):
        if feather > 0.0:
            share = np.clip(away / feather, 0.0, 1.0)
            height = np.minimum(height, end + (rib.height_mm - end) * share)
    return height


def bridge_stations(bridge: Bridge) -> Stations:
    """Stations along a bridge: a smooth curve through its points, sizes in a straight line between them.

    The layer that the notches cut through carries nothing along the bridge; the rest of the cap and the root do.
    """
    from scipy.interpolate import CubicSpline

    knots = np.append(0.0, np.cumsum(np.hypot(*np.diff(bridge.line_mm, axis=0).T)))
    curve = CubicSpline(knots, bridge.line_mm, bc_type="natural")
    s, weights = _stations(0.0, float(knots[-1]))
    slope = curve(s, 1)
    width, root, cap, notch = (
        np.interp(s, knots, size) for size in (bridge.width_mm, bridge.root_mm, bridge.cap_mm, bridge.notch_mm)
    )
    section = _layers(width, [(bridge.root_wood, root), (bridge.cap_wood, np.maximum(cap - notch, 0.0))])
    return Stations(
        name=f"bridge {bridge.name}",
        side=1,
        points_mm=curve(s),
        tangents=slope / np.hypot(*slope.T)[:, None],
        run_mm=s,
        weights_mm=weights,
        section=section,
        glue_wood=bridge.root_wood,
        edge_wood=bridge.cap_wood,
    )


def torsion_constant_mm4(width_mm: Floats, height_mm: Floats) -> Floats:
    """St Venant torsion constant of a rectangle, a b³ [1/3 − 0.21 b/a (1 − b⁴/12a⁴)], a ≥ b (Roark, from memory)."""
    a, b = np.maximum(width_mm, height_mm), np.minimum(width_mm, height_mm)
    constant: Floats = a * b**3 * (1.0 / 3.0 - 0.21 * b / a * (1.0 - b**4 / (12.0 * a**4)))
    return constant


def _stations(start: float, stop: float) -> tuple[Floats, Floats]:
    """Gauss places and weights on steps of about STEP_MM."""
    g, w = np.polynomial.legendre.leggauss(ALONG)
    steps = max(int(np.ceil((stop - start) / STEP_MM)), 1)
    step = (stop - start) / steps
    return (start + step * (np.arange(steps)[:, None] + (g + 1.0) / 2.0)).ravel(), np.tile(w * step / 2.0, steps)


def _layers(width: Floats, layers: list[tuple[Wood, Floats]]) -> Section:
    """The section of layers of wood upon each other, from the glue line outwards (transformed section)."""
    below = np.zeros_like(width)
    EA, first, GA, height = (np.zeros_like(width) for _ in range(4))
    for wood, h in layers:
        area = width * h
        EA += wood.E_L * area
        first += wood.E_L * area * (below + h / 2.0)
        GA += SHEAR_FACTOR * wood.G_LT * area
        below = below + h
    height, centroid, below = below, first / EA, np.zeros_like(width)
    EI, twist = np.zeros_like(width), np.zeros_like(width)
    for wood, h in layers:
        EI += wood.E_L * width * h * (h**2 / 12.0 + (below + h / 2.0 - centroid) ** 2)
        twist += np.sqrt(wood.G_LR * wood.G_LT) * h / height
        below = below + h
    GJ = twist * torsion_constant_mm4(width, height)
    return Section(EA=EA, EI=EI, GA=GA, GJ=GJ, centroid_mm=centroid, height_mm=height, width_mm=width)
