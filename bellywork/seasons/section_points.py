"""The board's points with their section strains in the axes of the wood, each strain under a law of its own.

A section strain is remembered as it stands: stretch and curvature of the panel creep alike, so that creep of both is
exactly creep of every layer between the faces. Only what is crushed across the grain differs from layer to layer; it is
followed in two layers, at the places z = ±t/√12 that carry stretch and bending just as the whole thickness does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.wood import Wood
from bellywork.mechanics.discrete import PANEL, RIM, Discrete
from bellywork.mechanics.energy import FIELDS, SLOPES, STIFFENER, Q, panel_strains
from bellywork.mechanics.grid import Grid
from bellywork.mechanics.moisture import FreeStrain
from bellywork.mechanics.panel import SHEAR_FACTOR, cell_functions, gauss_places, plane_stiffness
from bellywork.mechanics.points import PointSet

PANEL_LAWS = ("along", "across", "shear", "along", "across", "shear", "shear", "rolling")
STIFFENER_LAWS = {"stretch": "along", "curvature": "along", "shear": "shear", "twist": "shear"}
ACROSS, ACROSS_BENT = 1, 4  # places of the panel's stretch and curvature across the grain


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Points on the grid: their nodes (points, 16) and functions (points, 3, 16)."""

    nodes: Ints
    functions: Floats

    @classmethod
    def on(cls, grid: Grid, points: Floats) -> Places:
        """Points (points, 2) of the grid's frame."""
        cells, functions = grid.evaluated(points)
        return cls(nodes=grid.nodes(cells), functions=functions)

    def values(self, fields: Floats) -> Floats:
        """The fifteen values (points, 15) of a movement (5, nodes)."""
        out = np.einsum("fpn,pdn->pfd", fields[:, self.nodes], self.functions, optimize=True)
        return np.asarray(out.reshape(len(self.nodes), Q))

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15) on the values."""
        nodal = np.einsum("pfd,pdn->fpn", forces.reshape(-1, FIELDS, 3), self.functions, optimize=True)
        return np.array([np.bincount(self.nodes.ravel(), each.ravel(), minlength=nodes) for each in nodal])


@dataclass(frozen=True, kw_only=True, eq=False)
class SectionPoints:
    """Points of one part that hold ½ strainᵀ C strain, C = √scale · slack⁻¹ · √scale, weights within the scale.

    part        the panel, the stiffeners of one wood, or the rim
    laws        name of the law of each strain; none for the rim's springs
    operators   (points, strains, 15), from the fifteen values to the strains
    slopes      (points, 1 or 2, 15): slope of the sink along each of the axes along which the part is stretched by it
    scale       (points, strains)
    slack       compliance for a unit of scale, (sections, strains, strains); it couples only strains of one scale
    section     which of these each point has, (points,)
    layer_mm    height of the two layers over the middle, (points,); 0 where nothing can be crushed
    growth      the strains that moisture brings, (strains,) or (points, strains), from a moisture in %
    wood        the part's wood; None: a spring
    places      where the points are, in the order of the arrays above
    """

    part: str
    laws: tuple[str, ...]
    operators: Floats
    slopes: Floats
    scale: Floats
    slack: Floats
    section: Ints
    layer_mm: Floats
    growth: Callable[[float], Floats]
    wood: Wood | None
    places: tuple[Places, ...]

    @cached_property
    def creeping(self) -> Floats:
        """The part of the compliance that creeps: between strains of one law; contraction across stays elastic."""
        names = np.array(self.laws)
        return np.asarray(self.slack * (names[:, None] == names))

    def softened(self, looser: Floats) -> Floats:
        """Stiffness for a unit of scale where each strain (strains,) is softer by so much under its law."""
        if not self.laws:
            return np.asarray(np.linalg.inv(self.slack))
        return np.asarray(np.linalg.inv(self.slack + self.creeping * looser))

    def stress(self, stiffness: Floats, strain: Floats) -> Floats:
        """Stress for a unit of scale, (points, strains), by a stiffness (sections, strains, strains)."""
        if len(stiffness) == 1:
            return np.asarray(strain @ stiffness[0])
        return np.asarray(np.matmul(stiffness[self.section], strain[:, :, None])[:, :, 0])

    def values(self, fields: Floats) -> Floats:
        """The fifteen values (points, 15) of a movement (5, nodes)."""
        return np.concatenate([each.values(fields) for each in self.places])

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15) on the values."""
        parted = np.split(forces, np.cumsum([len(each.nodes) for each in self.places])[:-1])
        return np.asarray(np.sum([each.gathered(part, nodes) for each, part in zip(self.places, parted)], axis=0))


Growth = Callable[[Wood, float], FreeStrain]


def section_points(discrete: Discrete, growth: Growth, rim_rest: Floats) -> tuple[SectionPoints, ...]:
    """All points of a discretised board, the panel first. `growth` gives the free strain of a wood at a moisture in %.

    rim_rest   the movements at which the rim's springs rest, (points, 5)
    """
    woods = {each.name: each.glue_wood for each in discrete.stations}
    by_wood: dict[Wood, list[PointSet]] = {}
    for each in discrete.strips:
        by_wood.setdefault(woods[each.part], []).append(each)
    stiffeners = (_stiffeners(discrete, wood, sets, growth) for wood, sets in by_wood.items())
    return (_panel(discrete, growth), *stiffeners, _rim(discrete, rim_rest))


def _panel(discrete: Discrete, growth: Growth) -> SectionPoints:
    """Whole and cut cells, strains turned into the grain: stretch and curvature L, R, LR, then shears L, R."""
    whole, grid, body = discrete.whole, discrete.grid, discrete.body
    corner = np.stack(np.divmod(whole.cells, grid.y.cells), axis=-1) * [grid.x.step, grid.y.step]
    gauss = (corner[:, None] + [grid.x.start, grid.y.start] + gauss_places(grid)).reshape(-1, 2)
    _, weights = cell_functions(grid)
    points = np.vstack([gauss, discrete.cut.points])
    weight = np.concatenate([np.tile(weights, len(whole.cells)), discrete.cut_weights])
    thickness = np.concatenate([whole.thickness.ravel(), discrete.thickness(discrete.cut.points)])
    angle = np.radians(body.panel.grain_deg) - np.arctan2(discrete.frame.axes[0, 1], discrete.frame.axes[0, 0])
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, s], [-s, c]])
    strain = np.array([[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]])
    into_grain = np.zeros((8, 8))
    into_grain[:3, :3] = into_grain[3:6, 3:6] = strain
    into_grain[6:, 6:] = turn
    flat = np.zeros((2, Q))
    flat[0, SLOPES[0]] = flat[1, SLOPES[1]] = 1.0
    plane, shear = plane_stiffness(body.panel.wood, 0.0)
    slack = np.zeros((1, 8, 8))
    slack[0, :3, :3] = slack[0, 3:6, 3:6] = np.linalg.inv(plane)
    slack[0, 6:, 6:] = np.linalg.inv(shear)
    t = thickness[:, None]
    scale = np.hstack([np.repeat(t, 3, axis=1), np.repeat(t**3 / 12.0, 3, axis=1), np.repeat(SHEAR_FACTOR * t, 2, 1)])

    def grown(moisture: float) -> Floats:
        free = growth(body.panel.wood, moisture)
        return np.array([free.L, free.R, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])

    return SectionPoints(
        part=PANEL,
        laws=PANEL_LAWS,
        operators=np.einsum("rs,psq->prq", into_grain, panel_strains(discrete.slope(points))),
        slopes=np.broadcast_to(turn @ flat, (len(points), 2, Q)),
        scale=scale * weight[:, None],
        slack=slack,
        section=np.zeros(len(points), dtype=np.int64),
        layer_mm=thickness / np.sqrt(12.0),
        growth=grown,
        wood=body.panel.wood,
        places=(Places.on(grid, points),),
    )


def _stiffeners(discrete: Discrete, wood: Wood, sets: list[PointSet], growth: Growth) -> SectionPoints:
    """All stiffeners of one wood."""
    strains = np.concatenate([each.strains for each in sets])
    stiffness = np.concatenate([each.stiffness for each in sets])
    along = np.zeros((len(strains), 1, strains.shape[2]))
    along[:, 0, SLOPES] = strains[:, STIFFENER.index("shear")][:, SLOPES]  # the shear strain holds w' along the run
    scale = stiffness[:, 0, 0]
    # points that lie beside each other have one section, which is softened once
    relative = stiffness / scale[:, None, None]
    _, first, section = np.unique(
        np.round(relative, 9).reshape(len(scale), -1), axis=0, return_index=True, return_inverse=True
    )
    return SectionPoints(
        part=" and ".join(each.part for each in sets),
        laws=tuple(STIFFENER_LAWS[name] for name in STIFFENER),
        operators=strains,
        slopes=along,
        scale=np.repeat(scale[:, None], len(STIFFENER), axis=1),
        slack=np.linalg.inv(relative[first]),
        section=section.ravel(),
        layer_mm=np.zeros(len(strains)),
        growth=lambda moisture: growth(wood, moisture).L * np.eye(len(STIFFENER))[0],
        wood=wood,
        places=tuple(Places.on(discrete.grid, each.points) for each in sets),
    )


def _rim(discrete: Discrete, rest: Floats) -> SectionPoints:
    return SectionPoints(
        part=RIM,
        laws=(),
        operators=discrete.rim.strains,
        slopes=np.zeros((len(discrete.rim.points), 0, Q)),
        scale=np.einsum("prr->pr", discrete.rim.stiffness),
        slack=np.eye(FIELDS)[None],
        section=np.zeros(len(discrete.rim.points), dtype=np.int64),
        layer_mm=np.zeros(len(discrete.rim.points)),
        growth=lambda _: rest,
        wood=None,
        places=(Places.on(discrete.grid, discrete.rim.points),),
    )


def stretched(slopes: Floats) -> Floats:
    """What slopes of the sink (points, 1 or 2) add to the first strains: ½ s², or ½ s_L², ½ s_R², s_L s_R."""
    if slopes.shape[1] == 1:
        return 0.5 * slopes**2
    return np.column_stack([0.5 * slopes**2, slopes[:, 0] * slopes[:, 1]])
