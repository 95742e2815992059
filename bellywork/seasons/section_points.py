"""The board's points with their section strains in the axes of the wood, each strain under a law of its own.

A section strain is remembered as it stands: stretch and curvature of the panel creep alike, so that creep of both is
exactly creep of every layer between the faces. Only what is crushed across the grain differs from layer to layer; it is
followed in two layers, at the places z = ±t/√12 that carry stretch and bending just as the whole thickness does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.wood import Wood
from bellywork.mechanics.cut_cells import panel_points
from bellywork.mechanics.discrete import PANEL, Discrete
from bellywork.mechanics.energy import LIFT_SLOPE, SLOPES, STIFFENER, Q, panel_strains
from bellywork.mechanics.large import FreeStrains
from bellywork.mechanics.moisture import FreeStrain
from bellywork.mechanics.panel import SHEAR_FACTOR, plane_stiffness
from bellywork.mechanics.points import PointSet
from bellywork.mechanics.space import Functions

PANEL_LAWS = ("along", "across", "shear", "along", "across", "shear", "shear", "rolling")
STIFFENER_LAWS = {
    "stretch": "along",
    "curvature": "along",
    "shear": "shear",
    "slip": "shear",
    "twist": "shear",
    "squeeze": "across",
}
NEARLY_NONE = 1e-9  # in place of a stiffness that is not there, so that the section has a compliance
# Fewer points each way than the whole board's matrix has (4 and 6): the sample grand's bridge moves by 0.007 mm at most
GAUSS, KINKED_GAUSS = 3, 4
ACROSS, ACROSS_BENT = 1, 4  # places of the panel's stretch and curvature across the grain


class Source(Protocol):
    """Points of the board that know its functions, as `PointSet` does."""

    def values(self, fields: Floats) -> Floats:
        """The values q (points, 15 or 23) of a movement (5, nodes)."""

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces on q."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PanelPoints:
    """Points of the panel as a source."""

    at: Functions

    def values(self, fields: Floats) -> Floats:
        """The fifteen values (points, 15) of a movement (5, nodes)."""
        return self.at.interpolated(fields)

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15) on the values."""
        return self.at.gathered(forces, nodes)


@dataclass(frozen=True, kw_only=True, eq=False)
class SectionPoints:
    """Points of one part that hold ½ strainᵀ C strain, C = √scale · slack⁻¹ · √scale, weights within the scale.

    part        the panel, the stiffeners of one wood, or the rim
    laws        name of the law of each strain; none for the rim's springs
    operators   (points, strains, 15 or 23), from the values q to the strains
    slopes      (points, 1 or 2, 15 or 23): slope of the sink along the axes along which it stretches the part
    scale       (points, strains)
    slack       compliance for a unit of scale, (sections, strains, strains); it couples only strains of one scale
    section     which of these each point has, (points,)
    layer_mm    height of the two layers over the middle, (points,); 0 where nothing can be crushed
    growth      the strains that moisture brings, (strains,) or (points, strains), from a moisture in %
    wood        the part's wood; None: a spring
    sources     where the points come from, in the order of the arrays above, and how many points from each
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
    sources: tuple[Source, ...]
    counts: tuple[int, ...]

    @cached_property
    def creeping(self) -> Floats:
        """The part of the compliance that creeps: between strains of one law; contraction across stays elastic."""
        names = np.array(self.laws)
        return np.asarray(self.slack * (names[:, None] == names))

    def softened(self, looser: Floats) -> Floats:
        """Stiffness for a unit of scale where each strain (strains,) is softer by so much under its law: (points,
        strains, strains), or (1, strains, strains) where it is the same at all.
        """
        slack = self.slack + self.creeping * looser if self.laws else self.slack
        return self.spread(np.asarray(np.linalg.inv(slack)))

    def spread(self, sections: Floats) -> Floats:
        """What the sections have, (sections, …), at each point; (1, …) where all have one."""
        return sections if len(sections) == 1 else sections[self.section]

    def elastic(self, stress: Floats) -> Floats:
        """Elastic strain that creeps, (points, strains), of a stress for a unit of scale."""
        return multiplied(self._creeping, stress)

    @cached_property
    def _creeping(self) -> Floats:
        return self.spread(self.creeping)

    def values(self, fields: Floats) -> Floats:
        """The values q (points, 15 or 23) of a movement (5, nodes)."""
        return np.concatenate([each.values(fields) for each in self.sources])

    def gathered(self, forces: Floats, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of forces (points, 15 or 23) on q."""
        parted = np.split(forces, np.cumsum(self.counts)[:-1])
        return np.asarray(np.sum([each.gathered(part, nodes) for each, part in zip(self.sources, parted)], axis=0))


Growth = Callable[[Wood, float], FreeStrain]


def section_points(discrete: Discrete, growth: Growth, rim_rest: FreeStrains) -> tuple[SectionPoints, ...]:
    """All points of a discretised board, the panel first. `growth` gives the free strain of a wood at a moisture in %.

    rim_rest   the movements at which the rim's springs rest, as free strains
    """
    woods = {each.name: each.glue_wood for each in discrete.stations}
    by_wood: dict[Wood, list[PointSet]] = {}
    for each in discrete.strips:
        by_wood.setdefault(woods[each.part], []).append(each)
    stiffeners = (_stiffeners(wood, sets, growth) for wood, sets in by_wood.items())
    springs = (_springs(each, rim_rest[each.part]) for each in (discrete.rim, discrete.held_ends))
    return (_panel(discrete, growth), *stiffeners, *springs)


def _panel(discrete: Discrete, growth: Growth) -> SectionPoints:
    """The whole panel, strains turned into the grain: stretch and curvature L, R, LR, then shears L, R."""
    import shapely

    space, body = discrete.space, discrete.body
    outline = shapely.Polygon(discrete.frame.inside(body.outline.points_mm))
    points, weight = panel_points(space, outline, GAUSS, KINKED_GAUSS)
    alike = space.alike(points)
    order, counts = np.concatenate(alike), tuple(len(part) for part in alike)
    points, weight = points[order], weight[order]
    thickness = discrete.thickness(points)
    angle = discrete.frame.angle(body.panel.grain_deg)
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
        sources=tuple(PanelPoints(at=space.evaluated(part)) for part in np.split(points, np.cumsum(counts)[:-1])),
        counts=counts,
    )


def _stiffeners(wood: Wood, sets: list[PointSet], growth: Growth) -> SectionPoints:
    """All stiffeners of one wood."""
    strains = np.concatenate([each.strains for each in sets])
    stiffness = np.concatenate([each.stiffness for each in sets])
    along = np.zeros((len(strains), 1, strains.shape[2]))
    along[:, 0, LIFT_SLOPE] = 1.0
    scale = stiffness[:, 0, 0]
    # points that lie beside each other have one section, which is softened once
    relative = stiffness / scale[:, None, None]
    relative += NEARLY_NONE * np.eye(len(STIFFENER)) * (relative == 0.0)
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
        sources=tuple(sets),
        counts=tuple(len(each.points) for each in sets),
    )


def _springs(each: PointSet, rest: Floats) -> SectionPoints:
    """The rim's springs, which neither creep nor grow."""
    n, r = each.strains.shape[:2]
    return SectionPoints(
        part=each.part,
        laws=(),
        operators=each.strains,
        slopes=np.zeros((n, 0, each.strains.shape[2])),
        scale=np.einsum("prr->pr", each.stiffness),
        slack=np.eye(r)[None],
        section=np.zeros(n, dtype=np.int64),
        layer_mm=np.zeros(n),
        growth=lambda _: rest,
        wood=None,
        sources=(each,),
        counts=(n,),
    )


def multiplied(matrices: Floats, values: Floats) -> Floats:
    """Symmetric matrices (points, n, n), or one for all (1, n, n), times values (points, n)."""
    if len(matrices) == 1:
        return np.asarray(values @ matrices[0])
    return np.asarray(np.matmul(matrices, values[:, :, None])[:, :, 0])


def stretched(slopes: Floats) -> Floats:
    """What slopes of the sink (points, 1 or 2) add to the first strains: ½ s², or ½ s_L², ½ s_R², s_L s_R."""
    if slopes.shape[1] == 1:
        return 0.5 * slopes**2
    return np.column_stack([0.5 * slopes**2, slopes[:, 0] * slopes[:, 1]])
