"""Ribs and bridges: Timoshenko beams glued to the panel over their true width."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Bridge, Rib
from bellywork.board.wood import Wood

if TYPE_CHECKING:
    from shapely import Polygon

STEP_MM = 10.0
ALONG = 2
FLANGE_WIDTHS = 2.0  # chosen on five ribbed panels solved as solids (docs/validation.md): 1 is too stiff, 3 too soft


@dataclass(frozen=True, kw_only=True, eq=False)
class Section:
    """Section of a stiffener at stations along it.

    EA, EI, GA, GJ   stretch, bending about its own centroid, shear together with the panel, twist; N, N mm², N, N mm²
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
class Flange:
    """The panel under a stiffener at stations: thickness, modulus along the stiffener, shear modulus of that direction
    with the thickness; mm and N/mm².
    """

    thickness_mm: Floats
    E: Floats
    G: Floats


FlangeAt = Callable[[Floats, Floats], Flange]  # from points and tangents, in plan of the board


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


def rib_stations(rib: Rib, outline: Polygon, flange: FlangeAt) -> Stations | None:
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
    points = rib.start_mm + np.outer(s, run / length)
    section = _layers(np.full(len(s), float(rib.width_mm)), [(rib.wood, height)], flange(points, tangents))
    return Stations(
        name=f"rib {rib.name}",
        side=-1,
        points_mm=points,
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


def bridge_stations(bridge: Bridge, flange: FlangeAt) -> Stations:
    """Stations along a bridge: a smooth curve through its points, sizes in a straight line between them.

    The layer that the notches cut through carries nothing along the bridge; the rest of the cap and the root do.
    """
    from scipy.interpolate import CubicSpline

    knots = _knots_mm(bridge)
    curve = CubicSpline(knots, bridge.line_mm, bc_type="natural")
    s, weights = _stations(0.0, float(knots[-1]))
    slope = curve(s, 1)
    width, root, cap, notch = bridge_sizes_mm(bridge, s)
    points, tangents = curve(s), slope / np.hypot(*slope.T)[:, None]
    layers = [(bridge.root_wood, root), (bridge.cap_wood, np.maximum(cap - notch, 0.0))]
    section = _layers(width, layers, flange(points, tangents))
    return Stations(
        name=f"bridge {bridge.name}",
        side=1,
        points_mm=points,
        tangents=tangents,
        run_mm=s,
        weights_mm=weights,
        section=section,
        glue_wood=bridge.root_wood,
        edge_wood=bridge.cap_wood,
    )


def bridge_sizes_mm(bridge: Bridge, along_mm: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Width, height of the root, thickness of the cap and depth of the notches at distances along a bridge."""
    width, root, cap, notch = (
        np.interp(along_mm, _knots_mm(bridge), size)
        for size in (bridge.width_mm, bridge.root_mm, bridge.cap_mm, bridge.notch_mm)
    )
    return width, root, cap, notch


def _knots_mm(bridge: Bridge) -> Floats:
    return np.append(0.0, np.cumsum(np.hypot(*np.diff(bridge.line_mm, axis=0).T)))


def composite_shear_N(parts: list[tuple[Floats, Floats, Floats]]) -> Floats:
    """Shear stiffness of layers glued upon each other, N: (EI)² / ∫ S²/(G b) dz, S the static moment (Jourawski).

    parts   from the outer edge inwards, for each layer: E b, G b (N/mm) and height (mm), arrays over the stations

    One layer alone gives 5/6 G b h:

    >>> E, G, h = np.array([12000.0 * 25]), np.array([720.0 * 25]), np.array([22.0])
    >>> bool(np.isclose(composite_shear_N([(E, G, h)]), 5 / 6 * 720 * 25 * 22).all())
    True
    """
    total = np.sum([E * h for E, _, h in parts], axis=0)
    edges = np.cumsum([h for *_, h in parts], axis=0) - np.array([h for *_, h in parts])
    centroid = np.sum([E * h * (z + h / 2.0) for (E, _, h), z in zip(parts, edges)], axis=0) / total
    EI = np.sum([E * h * (h**2 / 12.0 + (z + h / 2.0 - centroid) ** 2) for (E, _, h), z in zip(parts, edges)], axis=0)
    soft, moment = np.zeros_like(total), np.zeros_like(total)
    places, weights = np.polynomial.legendre.leggauss(3)  # exact: S² is of degree 4
    for (E, G, h), z in zip(parts, edges):
        for g, w in zip(np.outer((places + 1.0) / 2.0, h), weights / 2.0):
            here = moment + E * g * (z + g / 2.0 - centroid)
            soft += w * h * here**2 / G
        moment = moment + E * h * (z + h / 2.0 - centroid)
    stiffness: Floats = EI**2 / soft
    return stiffness


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


def _layers(width: Floats, layers: list[tuple[Wood, Floats]], flange: Flange) -> Section:
    """The section of layers of wood upon each other, from the glue line outwards (transformed section).

    Its shear stiffness is that of the layers and the panel together: the shear that makes the panel follow passes
    through the panel itself, which is soft in rolling shear under a rib across its grain. The panel works as a flange
    FLANGE_WIDTHS widths wide, and takes the shear over one.
    """
    EA, first, height = (np.zeros_like(width) for _ in range(3))
    for wood, h in layers:
        EA += wood.E_L * width * h
        first += wood.E_L * width * h * (height + h / 2.0)
        height = height + h
    centroid, below = first / EA, np.zeros_like(width)
    EI, twist = np.zeros_like(width), np.zeros_like(width)
    for wood, h in layers:
        EI += wood.E_L * width * h * (h**2 / 12.0 + (below + h / 2.0 - centroid) ** 2)
        twist += np.sqrt(wood.G_LR * wood.G_LT) * h / height
        below = below + h
    parts = [(wood.E_L * width, wood.G_LT * width, h) for wood, h in reversed(layers)]
    parts.append((FLANGE_WIDTHS * flange.E * width, flange.G * width, flange.thickness_mm))
    return Section(
        EA=EA,
        EI=EI,
        GA=composite_shear_N(parts),
        GJ=twist * torsion_constant_mm4(width, height),
        centroid_mm=centroid,
        height_mm=height,
        width_mm=width,
    )
