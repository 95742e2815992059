"""What a large movement does inside a board: its forces, again and again, and what of the tangent turns with it.

The strains of the panel are its linear ones on the slope of crown and half the movement (von Kármán), and vary as on
that of the whole movement. A stiffener's stretch gains half the square of its lift's slope. All else is linear.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.mechanics.discrete import PANEL, Discrete
from bellywork.mechanics.energy import (
    BX,
    BY,
    FIELDS,
    LIFT,
    LIFT_SLOPE,
    OWN,
    OWN_FIELDS,
    SLOPES,
    STIFFENER,
    Q,
    U,
    V,
    W,
)
from bellywork.mechanics.panel import BY_DERIVATIVE, PanelLaw
from bellywork.mechanics.points import OWN_PAIRS, OwnFunctions, Pairs, Points, PointSet
from bellywork.mechanics.space import Functions
from bellywork.mechanics.whole_cells import WholeCells

if TYPE_CHECKING:
    from scipy.sparse import csr_array

# where the stiffness turns with the movement: through the slope of w, and of a stiffener's lift
PANEL_TURNS = Pairs(panel=((U, W), (V, W), (W, W)), mixed=(), own=())
RUN_TURNS = Pairs(
    panel=(),
    mixed=tuple((LIFT, field) for field in (U, V, BX, BY)),
    own=tuple(pair for pair in OWN_PAIRS if LIFT in pair),
)
SLOPES_NOW = [BY_DERIVATIVE.index(slope) for slope in SLOPES]
OWN_BY_DERIVATIVE = [Q + 2 * field + derivative for derivative in range(2) for field in range(OWN_FIELDS)]
ALL_NOW = [*BY_DERIVATIVE, *OWN_BY_DERIVATIVE]  # all values of a stiffener, derivative by derivative
LIFTING = ALL_NOW.index(LIFT_SLOPE)
STRETCH = STIFFENER.index("stretch")
AT_ONCE = 4096  # points: what is worked on at a time stays near the processor

FreeStrains = Mapping[str, Floats]  # by part: E₀ for each of its strains, (strains,) or (points, strains)


@dataclass(frozen=True, kw_only=True, eq=False)
class Inner:
    """What a movement does inside the board: internal nodal forces (5, nodes), energy, what the tangent is made of.

    slope           of crown and movement at the panel's points (points, 2), those of whole cells first
    membrane_N_mm   membrane forces at the Gauss points of whole cells, (cells, 16, 3)
    membrane_N      the same times the area that a point stands for, at all other points of the panel (points, 3)
    rise, stretch_N_mm   slope of the lift of stiffeners at their points (points,), and their pull times length there
    """

    forces: Floats
    energy: float
    slope: Floats
    membrane_N_mm: Floats
    membrane_N: Floats
    rise: Floats
    stretch_N_mm: Floats


def fixed(discrete: Discrete) -> Discrete:
    """A board without the pairs of fields whose stiffness turns with its movement."""
    return replace(
        discrete,
        whole=replace(discrete.whole, pairs=Pairs().without(PANEL_TURNS).panel),
        cut=tuple(replace(each, pairs=each.pairs.without(PANEL_TURNS)) for each in discrete.cut),
        strips=tuple(replace(each, pairs=each.pairs.without(RUN_TURNS)) for each in discrete.strips),
    )


class LargeForces:
    """A board's points, ready to be asked for the forces of many movements."""

    def __init__(self, discrete: Discrete) -> None:
        whole, cut, strips = discrete.whole, discrete.cut, discrete.strips
        self.discrete = discrete
        self._others = (discrete.rim, discrete.held_ends)
        self._law = PanelLaw(plane=whole.plane, shear=whole.shear)
        nodes = discrete.space.nodes
        # the panel: at its whole cells' points, then at the others
        area, t = (
            np.concatenate(each)
            for each in (
                [whole.weights, *(each.area for each in cut)],
                [whole.thickness.ravel(), *(each.thickness for each in cut)],
            )
        )
        self._t, self._t3 = area * t, area * t**3
        self._crown = np.concatenate([whole.slope.reshape(-1, 2), *(each.slope for each in cut)])
        self._cuts = np.cumsum([0, *(len(each.points) for each in cut)]).tolist()
        # the stiffeners, all in one
        self._runs = _functions([(each.at.nodes, each.at.values) for each in strips], nodes)
        self._own = _functions([(each.own.nodes, each.own.functions) for each in strips if each.own], nodes)
        self._strains = np.concatenate([np.empty((0, len(STIFFENER), Q + OWN)), *(each.strains for each in strips)])
        self._strains = np.ascontiguousarray(self._strains[:, :, ALL_NOW])
        none = np.empty((0, len(STIFFENER), len(STIFFENER)))
        self._stiffness = np.concatenate([none, *(each.stiffness for each in strips)])

    def of(self, fields: Floats, free: FreeStrains) -> Inner:
        """What a movement (5, nodes) does inside the board, of which parts would be free at some strains."""
        discrete, law, n = self.discrete, self._law, fields.shape[1]
        whole, moved = discrete.whole, np.ascontiguousarray(fields.T)
        values = np.concatenate([whole.values(fields), *(each.values(moved) for each in discrete.cut)])
        slope, membrane, energy = self._crown + values[:, SLOPES_NOW], np.empty((len(values), 3)), 0.0
        still = free.get(PANEL, np.zeros(8))
        for start in range(0, len(values), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            strains = law.strains(values[part], 0.5 * (self._crown[part] + slope[part])) - still
            stresses = law.stresses(strains, self._t[part], self._t3[part])
            energy += 0.5 * float(np.vdot(stresses, strains))
            values[part], membrane[part] = law.forces(stresses, slope[part]), stresses[:, :3]
        inside = whole.thickness.size
        out = whole.gathered(values[:inside], n)
        nodal = np.zeros((n, FIELDS))
        for some, start, end in zip(discrete.cut, self._cuts, self._cuts[1:]):
            nodal += some.gathered(values[inside + start : inside + end], n)

        runs = np.hstack([(self._runs @ moved).reshape(-1, Q), (self._own @ moved[:, :OWN_FIELDS]).reshape(-1, OWN)])
        rise = runs[:, LIFTING]
        strain = np.einsum("prq,pq->pr", self._strains, runs) - self._free_runs(free)
        strain[:, STRETCH] += 0.5 * rise**2
        stress = np.einsum("prs,ps->pr", self._stiffness, strain)
        energy += 0.5 * float(np.vdot(stress, strain))
        force = np.einsum("prq,pr->pq", self._strains, stress)
        force[:, LIFTING] += rise * stress[:, STRETCH]
        nodal += self._runs.T @ force[:, :Q].reshape(-1, FIELDS)
        nodal[:, :OWN_FIELDS] += self._own.T @ force[:, Q:].reshape(-1, OWN_FIELDS)
        out += nodal.T

        beyond, little = discrete.ghost.internal_forces(fields)
        out, energy = out + beyond, energy + little
        for each in self._others:
            more, held = each.internal_forces(fields, free.get(each.part))
            out, energy = out + more, energy + held
        return Inner(
            forces=out,
            energy=energy,
            slope=slope,
            membrane_N_mm=(membrane[:inside] / whole.weights[:, None]).reshape(-1, 16, 3),
            membrane_N=membrane[inside:],
            rise=rise,
            stretch_N_mm=stress[:, STRETCH],
        )

    def turning(self, inner: Inner) -> tuple[tuple[WholeCells, ...], tuple[Points, ...]]:
        """Whole cells and points with the part of the tangent that turns with the movement: what `fixed` leaves out."""
        discrete = self.discrete
        inside = discrete.whole.thickness.size
        whole = replace(
            discrete.whole,
            slope=inner.slope[:inside].reshape(discrete.whole.slope.shape),
            membrane=inner.membrane_N_mm,
            pairs=PANEL_TURNS.panel,
        )
        panel = [
            replace(
                each,
                slope=inner.slope[inside + at : inside + end],
                membrane_N=inner.membrane_N[at:end],
                pairs=PANEL_TURNS,
            )
            for each, at, end in zip(discrete.cut, self._cuts, self._cuts[1:])
        ]
        ends = np.cumsum([0, *(len(each.points) for each in discrete.strips)])
        runs = [
            TurnedRun(before=each, rise=inner.rise[at:end], stretch_N_mm=inner.stretch_N_mm[at:end])
            for each, at, end in zip(discrete.strips, ends, ends[1:])
        ]
        return (whole,), (*panel, *runs)

    def _free_runs(self, free: FreeStrains) -> Floats:
        """Free strains at the stiffeners' points, (points, 6)."""
        strips, none = self.discrete.strips, np.zeros(len(STIFFENER))
        if not any(each.part in free for each in strips):
            return none
        shapes = [(len(each.points), len(STIFFENER)) for each in strips]
        each_free = [np.broadcast_to(free.get(each.part, none), shape) for each, shape in zip(strips, shapes)]
        return np.concatenate(each_free)


def _functions(parts: list[tuple[Ints, Floats]], nodes: int) -> csr_array:
    """A matrix (points · values, nodes) of nodes (points, m) and functions (points, values, m), part by part."""
    from scipy.sparse import csr_array

    at = [np.broadcast_to(each[:, None, :].astype(np.int32), values.shape) for each, values in parts]
    counts = [np.full(values.shape[0] * values.shape[1], values.shape[2]) for _, values in parts]
    starts = np.cumsum(np.concatenate([[0], *counts])).astype(np.int32)
    data, columns = ([each.ravel() for each in part] for part in ([values for _, values in parts], at))
    entries = np.concatenate([np.empty(0), *data]), np.concatenate([np.empty(0, dtype=np.int32), *columns])
    return csr_array((*entries, starts), shape=(len(starts) - 1, nodes))


@dataclass(frozen=True, kw_only=True, eq=False)
class TurnedRun:
    """A set of a stiffener's points as it is now: its stretch varies with its lift's slope, its pull turns with it.

    before        as it is at rest
    rise          slope of its lift (points,)
    stretch_N_mm  its pull times length (points,)
    """

    before: PointSet
    rise: Floats
    stretch_N_mm: Floats
    pairs: Pairs = RUN_TURNS

    @property
    def at(self) -> Functions:
        """The functions there."""
        return self.before.at

    @property
    def own(self) -> OwnFunctions | None:
        """The stiffener's own."""
        return self.before.own

    def on_values(self, rows: Ints) -> Floats:
        """Its tangent on the values of the fields at points (cells, most): (cells, most, 23, 23)."""
        G = self.before.strains[rows]
        G[..., STRETCH, LIFT_SLOPE] += self.rise[rows]
        out = np.matmul(np.swapaxes(G, -1, -2), np.matmul(self.before.stiffness[rows], G))
        out[..., LIFT_SLOPE, LIFT_SLOPE] += self.stretch_N_mm[rows]
        return np.asarray(out)
