"""The board under a load: checked before it is given out, then asked for sink, forces and stresses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import HELD_ENDS, PANEL, RIM, Discrete, own_functions, stiffener_operators
from bellywork.mechanics.energy import (
    BX,
    BY,
    FIELDS,
    LIFT,
    LIFT_VALUE,
    ROLL,
    SLOPES,
    TURN,
    VALUE,
    Q,
    U,
    V,
    W,
    at,
    panel_strains,
    strain_turn,
)
from bellywork.mechanics.panel import plane_stiffness
from bellywork.mechanics.points import PointSet

GLUE_MM = 25.0  # a rib's end presses on a point only in theory; wood and glue share it out over about its height
LIMIT = 1e-6  # a solution whose residual, balance or energy is off by more does not count


@dataclass(frozen=True, kw_only=True)
class EquilibriumCheck:
    """How well a solution holds; errors are shares of the load, of the load times the board's size, of the energy.

    applied_N, reaction_N   load pressed on, and what the rim gives back
    residual                inner forces against the load, over all movements of the board
    """

    applied_N: float
    reaction_N: float
    force_error: float
    moment_error: float
    energy_error: float
    residual: float


@dataclass(frozen=True, kw_only=True, eq=False)
class StiffenerForces:
    """Section forces and stresses along a rib or a bridge, one entry per station from its start.

    normal_N               in the stiffener, pull positive
    moment_Nmm             about its own centroid, hollow side up (sagging) positive
    shear_N, twist_Nmm     shear with the wood's shear factor, twist
    glue_MPa, edge_MPa     stress along the grain at the glue line and at the outer edge, pull positive
    shear_MPa              greatest shear stress of the section, 1.5 V/A
    glue_shear_MPa         shear stress in the glue line, from the change of the normal force over GLUE_MM; within two
                           cells of an end it tells little
    """

    name: str
    points_mm: Floats
    run_mm: Floats
    sink_mm: Floats
    normal_N: Floats
    moment_Nmm: Floats
    shear_N: Floats
    twist_Nmm: Floats
    glue_MPa: Floats
    edge_MPa: Floats
    shear_MPa: Floats
    glue_shear_MPa: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class RimReactions:
    """What each side of the outline gives back: vertical N, up positive, and the middle of where it acts."""

    vertical_N: Floats
    places_mm: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class PanelStress:
    """Stresses in the panel, N/mm², pull positive: shape (points, 2), underside then top."""

    along_grain: Floats
    across_grain: Floats
    shear: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Solution:
    """The board under a load.

    fields         coefficients (5, nodes) of the movement
    places_mm      where the load presses, with forces_N, down positive
    balance        how well it holds
    energy_share   share of the strain energy in each part by its name; together 1. As the load does twice that work
                   on the board's sink, share × load is what the part carries (virtual work on the deflected shape)
    """

    discrete: Discrete
    fields: Floats
    places_mm: Floats
    forces_N: Floats
    balance: EquilibriumCheck
    energy_share: dict[str, float]

    def sink_mm(self, points_mm: ArrayLike) -> Floats:
        """Sink at points (points, 2) in plan, down positive: of a bridge where one stands, else of the panel."""
        points = np.atleast_2d(np.asarray(points_mm, dtype=float))
        return np.asarray(self.discrete.sinking(points) @ self.fields.ravel())

    def panel_sink_mm(self, points_mm: ArrayLike) -> Floats:
        """Sink of the panel's mid-surface at points (points, 2) in plan, down positive."""
        return -self._values(np.atleast_2d(np.asarray(points_mm, dtype=float)))[:, at(W, VALUE)]

    def carried_N(self) -> dict[str, float]:
        """The part of the load that each rib, bridge, the panel and the rim carry, N (see `energy_share`)."""
        load = float(self.forces_N.sum())
        return {part: share * load for part, share in self.energy_share.items()}

    def stiffeners(self) -> tuple[StiffenerForces, ...]:
        """Section forces and stresses of every rib, then every bridge."""
        return tuple(self._along(number) for number in range(len(self.discrete.stations)))

    def rim_reactions(self) -> RimReactions:
        """What each side of the outline gives back."""
        rim, outline = self.discrete.rim, self.discrete.body.outline.points_mm
        up = -rim.stiffness[:, W, W] * rim.values(self.fields)[:, at(W, VALUE)]
        side = self.discrete.rim_side
        total: Floats = np.bincount(side, up, minlength=len(outline)).astype(float)
        places = self.discrete.frame.outside(rim.points)
        size = np.abs(up)
        weight = np.maximum(np.bincount(side, size, minlength=len(outline)), 1e-300)
        middle = np.stack([np.bincount(side, size * p, minlength=len(outline)) / weight for p in places.T], axis=-1)
        return RimReactions(vertical_N=total, places_mm=middle)

    def panel_stress(self, points_mm: ArrayLike) -> PanelStress:
        """Stress at the panel's underside and top at points in plan, along and across the grain."""
        points = np.atleast_2d(np.asarray(points_mm, dtype=float))
        discrete, panel = self.discrete, self.discrete.body.panel
        at_frame = discrete.frame.inside(points)
        strains = np.matmul(panel_strains(discrete.slope(at_frame)), self._values(points)[:, :, None])[..., 0]
        turn = strain_turn(discrete.frame.angle(panel.grain_deg))
        plane, _ = plane_stiffness(panel.wood, 0.0)
        half = discrete.thickness(at_frame)[:, None] / 2.0
        faces = np.stack([(strains[:, :3] + z * half * strains[:, 3:6]) @ turn.T @ plane for z in (-1.0, 1.0)], axis=1)
        return PanelStress(along_grain=faces[..., 0], across_grain=faces[..., 1], shear=faces[..., 2])

    def _values(self, points_mm: Floats) -> Floats:
        return self.discrete.interpolated(self.fields, points_mm)

    def _along(self, number: int) -> StiffenerForces:
        discrete, stations = self.discrete, self.discrete.stations[number]
        s, centre = stations.section, discrete.frame.inside(stations.points_mm)
        middle = PointSet(
            part=stations.name,
            points=centre,
            at=discrete.space.evaluated(centre),
            strains=stiffener_operators(
                stations,
                discrete.frame,
                discrete.slope(centre),
                discrete.thickness(centre),
                np.arange(len(centre)),
                np.zeros(len(centre)),
            ),
            stiffness=s.stiffness(stations.side),
            own=own_functions(discrete.space, number, stations, stations.run_mm),
        )
        values = middle.values(self.fields)
        strains = np.matmul(middle.strains, values[:, :, None])
        stretch, bend, *_ = strains[..., 0].T
        normal, moment, shear, _, twist, _ = np.matmul(middle.stiffness, strains)[..., 0].T
        to_glue, to_edge = -stations.side * s.centroid.mm, stations.side * (s.height.mm - s.centroid.mm)
        return StiffenerForces(
            name=stations.name,
            points_mm=stations.points_mm,
            run_mm=stations.run_mm,
            sink_mm=-values[:, LIFT_VALUE],
            normal_N=normal,
            moment_Nmm=-moment,
            shear_N=shear,
            twist_Nmm=twist,
            glue_MPa=stations.glue_wood.E_L * (stretch + to_glue * bend),
            edge_MPa=stations.edge_wood.E_L * (stretch + to_edge * bend),
            shear_MPa=1.5 * shear / (s.width_mm * s.height.mm),
            glue_shear_MPa=_mean_rate(normal, stations.run_mm) / s.width_mm,
        )


def _mean_rate(values: Floats, run_mm: Floats) -> Floats:
    """Mean rate of change of values along a run, over GLUE_MM about each station, less at the ends."""
    back, on = (np.clip(run_mm + side * GLUE_MM / 2.0, run_mm[0], run_mm[-1]) for side in (-1.0, 1.0))
    rate: Floats = (np.interp(on, run_mm, values) - np.interp(back, run_mm, values)) / (on - back)
    return rate


def checked(
    discrete: Discrete,
    fields: Floats,
    inner: Floats,
    energies: dict[str, float],
    places_mm: Floats,
    forces_N: Floats,
) -> Solution:
    """A solution with its checks: residual, force and moment balance, and energy = half load times sink.

    The internal forces and energies are those of `internal_forces`: summed afresh from the strains at every point, not
    from the matrix that was solved.
    Raises SolveError where one is off by more than LIMIT.
    """
    sinking = discrete.sinking(places_mm)
    load = (sinking.T @ forces_N).reshape(FIELDS, -1)
    size = max(float(np.abs(forces_N).sum()), 1e-300)
    sink = sinking @ fields.ravel()
    work, energy = 0.5 * float(sink @ forces_N), sum(energies.values())
    reaction, moments = _rim_balance(discrete, fields, load)
    balance = EquilibriumCheck(
        applied_N=float(forces_N.sum()),
        reaction_N=reaction,
        force_error=abs(reaction - float(forces_N.sum())) / size,
        moment_error=moments / size,
        energy_error=abs(energy - work) / max(energy, 1e-300),
        residual=float(np.linalg.norm(inner - load) / max(float(np.linalg.norm(load)), 1e-300)),
    )
    for what in ("residual", "force_error", "moment_error", "energy_error"):
        if not getattr(balance, what) <= LIMIT:
            raise SolveError(
                f"The solution does not hold: its {what.replace('_', ' ')} is {getattr(balance, what):.1e}, more than "
                f"{LIMIT:.0e}. The board may hang on too little, or its cells be too small."
            )
    shares = {part: value / max(energy, 1e-300) for part, value in energies.items()}
    return Solution(
        discrete=discrete,
        fields=fields,
        places_mm=places_mm,
        forces_N=forces_N,
        balance=balance,
        energy_share=shares,
    )


def internal_forces(discrete: Discrete, fields: Floats) -> tuple[Floats, dict[str, float]]:
    """Internal nodal forces (5, nodes), and the energy by part."""
    total, panel = discrete.whole.internal_forces(fields)
    beyond, little = discrete.ghost.internal_forces(fields)
    total, energies = total + beyond, {PANEL: panel + little}
    for each in discrete.sets:
        forces, energy = each.internal_forces(fields)
        total = total + forces
        part = RIM if each.part == HELD_ENDS else each.part
        energies[part] = energies.get(part, 0.0) + energy
    return total, energies


def _rim_balance(discrete: Discrete, fields: Floats, load: Floats) -> tuple[float, float]:
    """The rim's force, N, and how far its moments miss the load's, N (moment over the board's size).

    Both by virtual work: the rim's springs under a lift and under the board's two tilts as a rigid body. In a tilt
    the rim also moves in the plane where it stands above z = 0, and turns, and so do the ends of stiffeners on it.
    """
    rim = discrete.rim
    values = rim.values(fields).reshape(len(rim.points), FIELDS, 3)[..., VALUE]
    springs = np.einsum("pcc,pc->pc", rim.stiffness, values)
    reaction = -float(springs[:, W].sum())
    middle = rim.points.mean(0)
    height = np.einsum("pn,pn->p", rim.at.values[:, 0], discrete.crown[rim.at.nodes])
    tilts = [_tilted(discrete, k, middle[k]) for k in range(2)]
    works, misses = _works_of_stiffeners(discrete, fields, tilts, middle), []
    for k, (move, turn) in enumerate(((U, BX), (V, BY))):
        arm = rim.points[:, k] - middle[k]
        virtual = springs[:, W] @ arm - springs[:, turn].sum() - springs[:, move] @ height
        misses.append(abs(virtual + works[k] - float(np.sum(load * tilts[k]))))
    size = float(np.ptp(rim.points, axis=0).max())
    return reaction, float(max(misses)) / size


def _tilted(discrete: Discrete, axis: int, middle: float) -> Floats:
    """What lifts in a tilt about `middle`: of the panel w, and of every stiffener its own fields, (5, nodes).

    A stiffener along t turns by −t and rolls by −n, and lifts as far as it lies off the axis. In a curved one these
    change along the run, and its splines hold them nearly.
    """
    space, grid = discrete.space, discrete.grid
    tilted = np.zeros((FIELDS, space.nodes))
    along_axis = (grid.x, grid.y)[axis]
    place = np.divmod(np.arange(grid.shape[0] * grid.shape[1]), grid.shape[1])[axis]
    tilted[W, : len(place)] = along_axis.start + along_axis.step * (place - 1.0) - middle
    for number, stations in enumerate(discrete.stations):
        own = own_functions(space, number, stations, stations.run_mm)
        first, count = space.run_nodes(number), stations.axis.functions
        matrix = np.zeros((len(stations.run_mm), count))
        np.put_along_axis(matrix, own.nodes - first, own.functions[:, 0], axis=1)
        along, centre = (discrete.frame.inside(each) for each in (stations.tangents, stations.points_mm))
        across = np.column_stack([-along[:, 1], along[:, 0]])
        own_tilt = np.column_stack([-along[:, axis], centre[:, axis] - middle, -across[:, axis]])
        tilted[[TURN, LIFT, ROLL], first : first + count] = np.linalg.lstsq(matrix, own_tilt, rcond=None)[0].T
    return tilted


def _works_of_stiffeners(discrete: Discrete, fields: Floats, tilts: list[Floats], middle: Floats) -> list[float]:
    """Virtual work of stiffeners and of their ends on the rim in each of the two tilts.

    A straight one tilts without strain; what a curved one's splines miss of its tilt strains it. The rim's springs
    against the own rotation work on all of it.
    """
    works = [0.0, 0.0]
    for each in (*discrete.strips, discrete.held_ends):
        strains = np.einsum("prq,pq->pr", each.strains, each.values(fields))
        forces = np.einsum("prq,pr->pq", each.strains, np.einsum("prs,ps->pr", each.stiffness, strains))
        slope = discrete.slope(each.points)
        for axis, tilted in enumerate(tilts):
            tilt = np.hstack([_tilt_of_panel(each.points, slope, axis, middle[axis]), each.own_values(tilted)])
            works[axis] += float(np.vdot(forces, tilt))
    return works


def _tilt_of_panel(points: Floats, slope: Floats, axis: int, middle: float) -> Floats:
    """The fifteen values (points, 15) of a tilt of the panel as a rigid body: its movement in the plane is −z₀."""
    out = np.zeros((len(points), Q))
    out[:, at(W, VALUE)], out[:, SLOPES[axis]] = points[:, axis] - middle, 1.0
    out[:, at((BX, BY)[axis], VALUE)] = -1.0
    move = at((U, V)[axis], VALUE)
    out[:, move + 1 : move + 3] = -slope
    return out
