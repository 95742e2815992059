"""Panel, ribs and bridges of a board as watertight solids, in place, crown and taper true."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Bridge, Rib
from bellywork.board.wood import Wood
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.solids.slab import Solid, region_plan, slab, strip_plan

PANEL_STEP_MM = 30.0
ALONG_STEP_MM = 15.0
SHOULDER_MM = 0.5  # width over which the cap falls to its notches

Height = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True, eq=False)
class BodySolids:
    """A body's solids, z = 0 the glue line on the rim, bare.

    panel; ribs and, of each bridge, root and cap, in the order of the board
    """

    panel: Solid
    ribs: tuple[Solid, ...]
    roots: tuple[Solid, ...]
    caps: tuple[Solid, ...]

    @property
    def all(self) -> tuple[Solid, ...]:
        """Every solid."""
        return (self.panel, *self.ribs, *self.roots, *self.caps)

    @property
    def mass_kg(self) -> float:
        """Mass of all parts together."""
        return sum(solid.mass_kg for solid in self.all)

    @property
    def centre_mm(self) -> Floats:
        """Centre of gravity (3,), in mm."""
        mass = np.array([solid.mass_kg for solid in self.all])
        centre: Floats = mass @ np.array([solid.mesh().center_mass for solid in self.all]) / mass.sum()
        return centre


def body_solids(body: Body, *, step_mm: float = PANEL_STEP_MM) -> BodySolids:
    """The solids of a body; `step_mm` is the size of the panel's triangles.

    Ribs end where they meet the rim; a part of them outside is not made. A bridge is a root and a cap, the cap lower by
    the notches over half its width, a quarter on each side.

    Raises BoardError for an outline that crosses itself or a part without thickness.
    """
    under, field = crown_surface(body).rise_mm, thickness_field(body.panel)

    def over(points: Floats) -> Floats:
        return under(points) + field(points)

    plan = region_plan(body.outline.points_mm, step_mm)
    rise = under(plan.points_mm)
    panel = slab(plan, rise, rise + field(plan.points_mm), name="panel", kind="panel", **_of(body.panel.wood))
    ribs = [_rib(rib, start, stop, under) for rib in body.ribs for start, stop in rib.pieces_within(body.outline)]
    bridges = [_bridge(bridge, over) for bridge in body.bridges]
    return BodySolids(
        panel=panel,
        ribs=tuple(ribs),
        roots=tuple(root for root, _ in bridges),
        caps=tuple(cap for _, cap in bridges),
    )


def _of(wood: Wood) -> dict[str, Any]:
    """What a solid keeps of its wood."""
    return {"density_kg_m3": wood.density_kg_m3, "wood": wood.name}


def _rib(rib: Rib, start: float, stop: float, under: Height) -> Solid:
    """A piece of a rib from rim to rim, its top against the panel."""
    way = rib.direction
    s = _stations(start, stop, np.array(rib.knees_mm))
    across = np.tile([-rib.width_mm / 2.0, 0.0, rib.width_mm / 2.0], (len(s), 1))
    plan = strip_plan(rib.points_at(s), np.tile([-way[1], way[0]], (len(s), 1)), across)
    top = under(plan.points_mm)
    bottom = top - np.repeat(rib.height_at(s), 3)
    return slab(plan, bottom, top, name=rib.name, kind="rib", **_of(rib.wood))


def _bridge(bridge: Bridge, over: Height) -> tuple[Solid, Solid]:
    """Root and cap of a bridge along a smooth curve through its points, sizes straight between them."""
    s = _stations(0.0, float(bridge.knots_mm[-1]), bridge.knots_mm)
    tangent = bridge.tangents_at(s)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    width, root, cap, notch = (size[:, None] for size in bridge.sizes_at(s))
    edges = np.array([-0.5, -0.25, -0.25, 0.25, 0.25, 0.5]) * width
    edges = edges + np.array([0.0, -0.5, 0.5, -0.5, 0.5, 0.0]) * SHOULDER_MM
    plan = strip_plan(bridge.curve(s), normal, edges)
    glued = over(plan.points_mm)
    joint = glued + np.broadcast_to(root, edges.shape).ravel()
    notched = np.array([1.0, 1.0, 0.0, 0.0, 1.0, 1.0])
    top = joint + (cap - np.minimum(notch, 0.95 * cap) * notched).ravel()
    return (
        slab(plan, glued, joint, name=bridge.name, kind="root", **_of(bridge.root_wood)),
        slab(plan, joint, top, name=bridge.name, kind="cap", **_of(bridge.cap_wood)),
    )


def _stations(start: float, stop: float, knees: Floats) -> Floats:
    """Places from start to stop about ALONG_STEP_MM apart, with the knees that lie between."""
    count = max(int(np.ceil((stop - start) / ALONG_STEP_MM)), 1)
    places = np.concatenate([np.linspace(start, stop, count + 1), knees[(knees > start) & (knees < stop)]])
    places = np.unique(np.round(places, 9))
    # a station all but on another would make slivers
    apart: Floats = places[np.append(True, np.diff(places) > 1e-3)]
    return apart
