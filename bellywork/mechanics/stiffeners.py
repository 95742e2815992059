"""Ribs and bridges: beams with movements of their own, glued to the panel over their true width."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.body import Bridge, Outline, Rib
from bellywork.board.wood import Wood
from bellywork.mechanics.energy import Offset
from bellywork.mechanics.splines import Axis

ALONG = 2
RATE_MM = 1e-2
Along = Callable[[Floats], Floats]  # from distances along a stiffener
MOST_STEP_MM = 10.0
# How far a stiffener is squeezed by what presses on its foot, as a share of height / E_T: a strip of wood pressed on
# one face in a wave of 60 mm, twice a stiffener's width, by plane elasticity beyond what a beam gives
# (tests/mechanics/test_foot.py: 0.25 to 0.31 from 31 to 12 mm high).
FOOT = 0.28


@dataclass(frozen=True, kw_only=True, eq=False)
class Section:
    """Section of a stiffener at stations along it, the stiffener alone.

    EA, EI, GA, GJ   stretch, bending about its own centroid, shear, twist; N, N mm², N, N mm²
    foot             pressure per length over how far the foot is squeezed, N/mm²
    centroid         height of the (stiffness-weighted) centroid over the glue line, with its rate along the run
    height           height, with its rate
    width_mm
    """

    EA: Floats
    EI: Floats
    GA: Floats
    GJ: Floats
    foot: Floats
    centroid: Offset
    height: Offset
    width_mm: Floats

    def stiffness(self, side: int) -> Floats:
        """Stiffness (stations, 6, 6) for stretch, curvature, shear, slip, twist and squeeze.

        The shear stress τ over the height (η from the glue line to the outer face, width 1) follows from
        ∂σ/∂x + ∂τ/∂z = 0 and from what is on its two faces: at the glue line the flow q that comes from the panel, on
        the outer face, which slopes by h′ in a feather, σ h′. With the normal stress σ = N/h + 12 M (η − ½)/h²

            τ = 6V/h η(1 − η) + q (1 − η)(1 − 3η) − 12 M h′/h² (η − 3/2 η²) + N h′/h η,

        which adds up to V + N h′/2, the force across the run. Its energy ∫τ²/2G joins N²/2Eh + 6M²/Eh³; that of q lets
        the glue line give by 2/15 h/G q. The panel's section would give as well, but takes q sideways too: left out.
        (Shear flow of non-prismatic Timoshenko beams: Balduzzi et al. 2016, from memory.) `side` is +1 where the face
        is above the glue line.
        """
        slack = np.zeros((len(self.EA), 4, 4))
        h, rate, soft = self.height.mm, self.height.rate, 1.0 / self.GA  # for one wood 6/5 / (G b h)
        for i, j, value in (
            (0, 0, 1.0 / self.EA + 5.0 / 18.0 * soft * rate**2),
            (1, 1, 1.0 / self.EI + 4.0 * soft * (rate / h) ** 2),
            (2, 2, soft),
            (3, 3, soft * h**2 / 9.0),
            (1, 2, -0.5 * soft * rate / h),
            (0, 2, side * 5.0 / 12.0 * soft * rate),
            (0, 1, side * 5.0 / 12.0 * soft * rate**2 / h),
            (2, 3, -side * soft * h / 12.0),
        ):
            slack[:, i, j] = slack[:, j, i] = value
        C = np.zeros((len(h), 6, 6))
        C[:, :4, :4] = np.linalg.inv(slack)
        C[:, 4, 4], C[:, 5, 5] = self.GJ, self.foot
        return C


@dataclass(frozen=True, kw_only=True, eq=False)
class End:
    """An end of a stiffener: its place and the direction out of it, in plan of the board, and whether it is free."""

    point_mm: Floats
    outward: Floats
    width_mm: float
    free: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Stations:
    """Points along a stiffener's centre line.

    name                   "rib …" or "bridge …"
    side                   +1 on top of the panel (bridge), −1 under it (rib)
    points_mm, tangents    (stations, 2), in plan of the board
    turning                curvature of the run in plan, 1/mm, counter-clockwise positive
    run_mm, weights_mm     distance from its start, and length that each station stands for
    axis                   of the spline of its own rotation, over run_mm
    middles_mm             (functions, 2) where each function of that spline has its middle
    ends                   where it ends: start and end of the part on the panel
    glue_wood, edge_wood   the wood at the glue line and at the outer edge
    """

    name: str
    side: int
    points_mm: Floats
    tangents: Floats
    turning: Floats
    run_mm: Floats
    weights_mm: Floats
    axis: Axis
    middles_mm: Floats
    ends: tuple[End, End]
    section: Section
    glue_wood: Wood
    edge_wood: Wood

    def under(self, points_mm: Floats) -> tuple[Bools, Floats, Floats]:
        """Which points in plan lie within its breadth, how far along the run each lies, and how far aside, mm."""
        on, held, aside = np.zeros(len(points_mm), dtype=bool), np.zeros(len(points_mm)), np.zeros(len(points_mm))
        slack, reach = 1e-6 * self.axis.step, float(self.section.width_mm.max()) + self.axis.step
        low, high = self.points_mm.min(axis=0) - reach, self.points_mm.max(axis=0) + reach
        near = np.flatnonzero(np.all((points_mm >= low) & (points_mm <= high), axis=1))
        for part in np.array_split(near, max(len(near) // 512, 1)):
            points = points_mm[part]
            square = (points[:, :1] - self.points_mm[:, 0]) ** 2 + (points[:, 1:] - self.points_mm[:, 1]) ** 2
            nearest = square.argmin(axis=1)
            away, along = points - self.points_mm[nearest], self.tangents[nearest]
            aside[part] = along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]
            run = self.run_mm[nearest] + (away * along).sum(1)
            held[part] = np.clip(run, self.axis.start, self.axis.stop)
            within = np.abs(aside[part]) <= self.section.width_mm[nearest] / 2.0 + slack
            on[part] = within & (np.abs(run - held[part]) <= slack)
        return on, held, aside


def rib_stations(rib: Rib, outline: Outline, cell_mm: float) -> Stations | None:
    """Stations along the part of a rib that lies inside the outline; None where none does."""
    pieces = rib.pieces_within(outline)
    if not len(pieces):
        return None

    def section(s: Floats) -> Section:
        return _layers(np.full(len(s), float(rib.width_mm)), [(rib.wood, rib.height_at(s))])

    return _laid(
        name=f"rib {rib.name}", side=-1, outline=outline, cell_mm=cell_mm, pieces=pieces, kinks=rib.knees_mm,
        curve=rib.points_at, tangents=lambda s: np.broadcast_to(rib.direction, (len(s), 2)), section=section,
        woods=(rib.wood, rib.wood),
    )  # fmt: skip


def bridge_stations(bridge: Bridge, outline: Outline, cell_mm: float) -> Stations | None:
    """Stations along a bridge: a smooth curve through its points, sizes in a straight line between them.

    The layer that the notches cut through carries nothing along the bridge; the rest of the cap and the root do.
    """
    s = np.linspace(0.0, bridge.knots_mm[-1], max(int(2.0 * bridge.knots_mm[-1]), 2))
    on = s[outline.holds(bridge.curve(s))]
    if len(on) < 2:
        return None

    def section(s: Floats) -> Section:
        width, root, cap, notch = bridge.sizes_at(s)
        return _layers(width, [(bridge.root_wood, root), (bridge.cap_wood, np.maximum(cap - notch, 0.0))])

    return _laid(
        name=f"bridge {bridge.name}", side=1, outline=outline, cell_mm=cell_mm, pieces=np.array([[on[0], on[-1]]]),
        kinks=tuple(bridge.knots_mm), curve=bridge.curve, tangents=bridge.tangents_at, section=section,
        woods=(bridge.root_wood, bridge.cap_wood),
    )  # fmt: skip


def _laid(
    *,
    name: str,
    side: int,
    outline: Outline,
    cell_mm: float,
    pieces: Floats,
    kinks: tuple[float, ...],
    curve: Along,
    tangents: Along,
    section: Callable[[Floats], Section],
    woods: tuple[Wood, Wood],
) -> Stations:
    """Stations over the pieces of a stiffener on the panel, the spline of its own rotation in cells, and its ends."""
    import shapely

    laid = [
        _gauss_places(np.array([first, *sorted(k for k in kinks if first < k < last), last]), cell_mm)
        for first, last in pieces
    ]
    s, weights = (np.concatenate(part) for part in zip(*laid))
    span = float(pieces[0, 0]), float(pieces[-1, 1])
    cells = max(int(np.ceil((span[1] - span[0]) / cell_mm - 1e-9)), 1)
    axis = Axis(start=span[0], step=(span[1] - span[0]) / cells, cells=cells)
    middles = np.clip(span[0] + axis.step * (np.arange(axis.functions) - 1.0), *span)
    rates = [section(s + side * RATE_MM) for side in (-1.0, 1.0)]
    here = section(s)

    def with_rate(name: str) -> Offset:
        before, after = (getattr(each, name).mm for each in rates)
        return Offset(mm=getattr(here, name).mm, rate=(after - before) / (2.0 * RATE_MM))

    both = np.array(span)
    points, out = curve(both), tangents(both) * [[-1.0], [1.0]]
    widths = section(both).width_mm
    # a square end that meets a slanting rim within half its width, going on as it runs, has a corner on it
    ahead = shapely.linestrings(np.stack([points, points + widths[:, None] / 2.0 * out], axis=1))
    free = shapely.contains_properly(outline.polygon, ahead)
    first, last = (
        End(point_mm=points[k], outward=out[k], width_mm=float(widths[k]), free=bool(free[k])) for k in (0, 1)
    )
    return Stations(
        name=name,
        side=side,
        points_mm=curve(s),
        tangents=tangents(s),
        turning=_turning(tangents, s),
        run_mm=s,
        weights_mm=weights,
        axis=axis,
        middles_mm=curve(middles),
        ends=(first, last),
        section=replace(here, centroid=with_rate("centroid"), height=with_rate("height")),
        glue_wood=woods[0],
        edge_wood=woods[1],
    )


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


def _turning(tangents: Along, s: Floats) -> Floats:
    """Change of direction per mm along a run."""
    before, after = tangents(s - RATE_MM), tangents(s + RATE_MM)
    out: Floats = (before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) / (2.0 * RATE_MM)
    return out


def _gauss_places(breaks: Floats, cell_mm: float) -> tuple[Floats, Floats]:
    """Gauss places and weights between breaks, on steps of half a cell at most: as dense as the functions need."""
    g, w = np.polynomial.legendre.leggauss(ALONG)
    places, weights = [], []
    for start, stop in pairwise(breaks):
        steps = max(int(np.ceil((stop - start) / min(MOST_STEP_MM, cell_mm / 2.0) - 1e-9)), 1)
        step = (stop - start) / steps
        places.append((start + step * (np.arange(steps)[:, None] + (g + 1.0) / 2.0)).ravel())
        weights.append(np.tile(w * step / 2.0, steps))
    return np.concatenate(places), np.concatenate(weights)


def _layers(width: Floats, layers: list[tuple[Wood, Floats]]) -> Section:
    """The section of layers of wood upon each other, from the glue line outwards (transformed section)."""
    EA, first, height, soft = (np.zeros_like(width) for _ in range(4))
    for wood, h in layers:
        EA += wood.E_L * width * h
        first += wood.E_L * width * h * (height + h / 2.0)
        height = height + h
        soft = soft + FOOT * h / wood.E_T
    centroid, below = first / EA, np.zeros_like(width)
    EI, twist = np.zeros_like(width), np.zeros_like(width)
    for wood, h in layers:
        EI += wood.E_L * width * h * (h**2 / 12.0 + (below + h / 2.0 - centroid) ** 2)
        twist += np.sqrt(wood.G_LR * wood.G_LT) * h / height
        below = below + h
    none = np.zeros_like(width)
    return Section(
        EA=EA,
        EI=EI,
        GA=composite_shear_N([(wood.E_L * width, wood.G_LT * width, h) for wood, h in reversed(layers)]),
        GJ=twist * torsion_constant_mm4(width, height),
        foot=width / soft,
        centroid=Offset(mm=centroid, rate=none),
        height=Offset(mm=height, rate=none),
        width_mm=width,
    )
