"""Large deflection: the crowned board with von Kármán's strains, wood that swells, and loads that stay vertical.

To each strain operator comes what the movement's own slope w' does: E = G q + ½ w'ᵀ B w' − E₀, with E₀ the free strain
of wood that has changed its moisture. Inner forces and tangent follow from that one line: δE = (G + w'ᵀ B) δq, and the
stresses turn with the slope, Σ σ B. The tangent is the linear board's matrix for the slope of crown and movement
together, and the stresses; whole cells, points and matrix are those of the linear board.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.errors import SolveError
from bellywork.mechanics.assembly import Matrix, Numbering, stiffness_matrix
from bellywork.mechanics.discrete import PANEL, Discrete
from bellywork.mechanics.energy import FIELDS, OWN, OWN_FIELDS, SLOPES, Q, panel_strains, second_order
from bellywork.mechanics.panel import cell_functions, section_stiffness
from bellywork.mechanics.points import PointSet
from bellywork.mechanics.skyline import Factor
from bellywork.mechanics.unheld import held
from bellywork.mechanics.whole_cells import CHUNK

if TYPE_CHECKING:
    from scipy.sparse import csr_array

RESIDUAL = 1e-7  # of what is unbalanced, as a share of the load or of the most that was unbalanced on the way
SPENT = 1e-20  # of the energy: what a step may still gain where rounding keeps the residual up, as on a rim held fast
LEAST_FORCE_N = 1e-2
ROUNDS = 40
REMEMBERED = 12  # steps
WORTH = 8  # steps by an old tangent cost as much as a new one:
NEARLY = 1e-14  # of the energy is what a last step gains; where so many steps would leave more, a new one is made
HALVINGS = 6
LOST_IN_ROUNDING = 1e-9  # of the energy
SHORTEST = 1.0 / 64.0  # of a path
REFUSALS = 3  # on the way to a balance the tangent may lose its stiffness, at the balance it may not
ROUNDING = 1e-9  # of the energy: what work on a way of no length comes to
ON_THE_WAY = (0.25, 0.5, 0.75)
SNAPPED = "The board would snap through: at this load and moisture it has no stiffness left in some direction."

FreeStrains = Mapping[str, Floats]  # by part: E₀ for each of its strains, (strains,) or (points, strains)


@dataclass(frozen=True, kw_only=True, eq=False)
class Inner:
    """What a movement does inside the board: internal nodal forces (5, nodes), energy, what the tangent is made of.

    turned   of each set of points the change of its strains by the slope, w'ᵀ B, and its stresses
    """

    forces: Floats
    energy: float
    slope: Floats
    membrane_N_mm: Floats
    turned: tuple[tuple[Floats, Floats], ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class LargeState:
    """A board at rest after a large movement.

    fields     the movement's coefficients (5, nodes)
    inner      what it does inside the board
    factor     the factored tangent nearest to it
    numbering  which freedom is which, as in the linear model
    exact      True: the tangent is that of just this movement
    """

    fields: Floats
    inner: Inner
    factor: Factor
    numbering: Numbering
    exact: bool = False


class Tangent:
    """A factored tangent, corrected by what the steps since have shown: movements and the forces that they took.

    BFGS, two loops: Nocedal & Wright, Numerical Optimization, algorithm 7.4, from memory.
    """

    def __init__(self, factor: Factor, numbering: Numbering) -> None:
        self.factor, self.numbering = factor, numbering
        self._seen: deque[tuple[Floats, Floats, float]] = deque(maxlen=REMEMBERED)

    def add(self, moved: Floats, took: Floats) -> None:
        """One more step; one that found no stiffness is left out."""
        work = float(np.sum(moved * took))
        if work > 0.0:
            self._seen.append((moved, took, work))

    def answer(self, forces: Floats) -> tuple[Floats, float]:
        """The movement (5, nodes) that answers nodal forces (5, nodes), and the energy that it would gain."""
        q, shares = forces.copy(), []
        for moved, took, work in reversed(self._seen):
            shares.append(float(np.sum(moved * q)) / work)
            q -= shares[-1] * took
        out = self.numbering.fields(self.factor.solved(self.numbering.vector(q)))
        for (moved, took, work), share in zip(self._seen, reversed(shares)):
            out = out + (share - float(np.sum(took * out)) / work) * moved
        return out, float(np.sum(out * forces))

    def state(self, fields: Floats, inner: Inner) -> LargeState:
        """A balance to which it led."""
        return LargeState(fields=fields, inner=inner, factor=self.factor, numbering=self.numbering)


class AtPoints:
    """The functions of all sets of points as sparse matrices, for movements that are asked for again and again."""

    def __init__(self, sets: tuple[PointSet, ...], nodes: int) -> None:
        from scipy.sparse import csr_array

        def matrix(parts: list[tuple[Ints, Floats]]) -> csr_array:
            """(points · values, nodes) of nodes (points, m) and functions (points, values, m), set by set."""
            at = [np.broadcast_to(each[:, None, :], values.shape) for each, values in parts]
            counts = [np.full(values.shape[0] * values.shape[1], values.shape[2]) for _, values in parts]
            starts = np.cumsum(np.concatenate([[0], *counts]))
            data, columns = ([each.ravel() for each in part] for part in ([values for _, values in parts], at))
            return csr_array((np.concatenate(data), np.concatenate(columns), starts), shape=(len(starts) - 1, nodes))

        self._cuts = np.cumsum([len(each.points) for each in sets])[:-1]
        self._panel = matrix([(each.at.nodes, each.at.values) for each in sets])
        self._stiffened = [each.own is not None for each in sets]
        owns = [each.own for each in sets if each.own is not None]
        self._own = matrix([(each.nodes, each.functions) for each in owns]) if owns else None
        self._own_cuts = np.cumsum([len(each.nodes) for each in owns])[:-1]

    def values(self, fields: Floats) -> list[Floats]:
        """Q of a movement (5, nodes) at the points of each set: (points, 15), or 23 with a stiffener's own fields."""
        panel = (self._panel @ fields.T).reshape(-1, 3, FIELDS).transpose(0, 2, 1).reshape(-1, Q)
        out = np.split(panel, self._cuts)
        if self._own is not None:
            own = (self._own @ fields[:OWN_FIELDS].T).reshape(-1, 2, OWN_FIELDS).transpose(0, 2, 1).reshape(-1, OWN)
            owns = iter(np.split(own, self._own_cuts))
            out = [np.hstack([each, next(owns)]) if more else each for each, more in zip(out, self._stiffened)]
        return out

    def gathered(self, forces: list[Floats]) -> Floats:
        """Nodal forces (5, nodes) of forces on the values at the points of each set: the transpose of `values`."""
        panel = np.concatenate([each[:, :Q] for each in forces]).reshape(-1, FIELDS, 3).transpose(0, 2, 1)
        out: Floats = (self._panel.T @ panel.reshape(-1, FIELDS)).T
        if self._own is not None:
            own = np.concatenate([each[:, Q:] for each, more in zip(forces, self._stiffened) if more])
            out[:OWN_FIELDS] += (
                self._own.T @ own.reshape(-1, OWN_FIELDS, 2).transpose(0, 2, 1).reshape(-1, OWN_FIELDS)
            ).T
        return out


class LargeBoard:
    """A discretised board ready for large movements."""

    def __init__(self, discrete: Discrete) -> None:
        self.discrete = discrete
        self._second = tuple(second_order(each.strains, each.part == PANEL) for each in discrete.sets)
        self._last: tuple[LargeState, Factor] | None = None  # the exact tangent asked for last

    @cached_property
    def _points(self) -> AtPoints:
        return AtPoints(self.discrete.sets, self.discrete.space.nodes)

    def at_rest(self) -> Floats:
        """No movement: coefficients (5, nodes)."""
        return np.zeros((FIELDS, self.discrete.space.nodes))

    def pushes(self, places_mm: Floats, forces_N: Floats) -> Floats:
        """Nodal forces (5, nodes) of pushes at places (pushes, 2) in plan, N, down positive."""
        return self.discrete.pushed(places_mm, forces_N)

    def resting(self, unheld: Matrix) -> LargeState:
        """The board at rest, free of stress; `unheld` is the stiffness of the same board without its rim."""
        fields = self.at_rest()
        return LargeState(
            fields=fields,
            inner=self.internal_forces(fields, {}),
            factor=held(unheld, self.discrete).factored(),
            numbering=unheld.numbering,
            exact=True,
        )

    def compliance(self, state: LargeState, places_mm: Floats) -> Floats:
        """Sink at every place under a small unit push at every place, about a balance: (places, places), mm/N."""
        return self.flexibility(state, self.discrete.sinking(places_mm))

    def flexibility(self, state: LargeState, told: csr_array) -> Floats:
        """Small movements told by a matrix (movements, 5 · nodes), each under a unit force against each: (movements,
        movements), mm/N, about a balance.
        """
        half = self.tangent_at(state).half_solved(state.numbering.by_freedoms(told).toarray().T)
        return np.asarray(half.T @ half)

    def influence(self, state: LargeState, places_mm: Floats, points_mm: Floats) -> Floats:
        """Sink at points under a small unit push at each place, about a balance: (points, places), mm/N."""
        factor = self.tangent_at(state)
        moved = factor.rest_solved(factor.half_solved(self._unit_pushes(places_mm, state.numbering)))
        return np.asarray(state.numbering.by_freedoms(self.discrete.sinking(points_mm)) @ moved)

    def tangent_at(self, state: LargeState) -> Factor:
        """The factored tangent of just this state."""
        if state.exact:
            return state.factor
        if self._last is None or self._last[0] is not state:
            self._last = state, self._tangent(state.inner)[0]
        return self._last[1]

    def corrected(self, state: LargeState, missing: Floats) -> Floats:
        """The movement (5, nodes) by which the factored tangent of a state answers nodal forces (5, nodes)."""
        return state.numbering.fields(state.factor.solved(state.numbering.vector(missing)))

    def _unit_pushes(self, places_mm: Floats, numbering: Numbering) -> Floats:
        """Right sides (freedoms, places) of unit pushes, down, for a factored tangent."""
        return np.asarray(numbering.by_freedoms(self.discrete.sinking(places_mm)).toarray().T)

    def sink_mm(self, fields: Floats, points_mm: Floats) -> Floats:
        """Sink at points in plan, down positive: of a bridge where one stands, else of the panel."""
        return np.asarray(self.discrete.sinking(points_mm) @ fields.ravel())

    def settled(
        self,
        load: Floats,
        *,
        free: FreeStrains | None = None,
        start: LargeState | None = None,
    ) -> LargeState:
        """The balance under nodal forces (5, nodes) and free strains, from rest or from another balance.

        Newton's method with a line search. The tangent of `start` is kept, and corrected by the steps themselves, as
        long as that is quicker than a new one.

        Raises SolveError where the tangent is no longer stiff in every direction, so that the board would snap
        through, and where it does not converge.
        """
        free = {} if free is None else free
        fields = self.at_rest() if start is None else start.fields
        # the first step goes by the tangent of the last balance: what is out of balance is no measure of stiffness
        if start is None:
            tangent = Tangent(*self._tangent(self.internal_forces(fields, {})))
        else:
            known = self._last is not None and self._last[0] is start
            tangent = Tangent(self.tangent_at(start) if known else start.factor, start.numbering)
        inner = self.internal_forces(fields, free)
        before, refused, size = np.inf, 0, max(float(np.linalg.norm(load)), LEAST_FORCE_N)
        for _ in range(ROUNDS):
            missing = load - inner.forces
            size = max(size, float(np.linalg.norm(missing)))
            left = float(np.linalg.norm(missing)) / size
            if left <= RESIDUAL:
                return tangent.state(fields, inner)
            step, gain = tangent.answer(missing)
            if gain * min(gain / before, 1.0) ** WORTH > NEARLY * inner.energy:
                try:
                    tangent = Tangent(*self._tangent(inner))
                    step, gain = tangent.answer(missing)
                except SolveError:
                    refused += 1
                    if refused > REFUSALS:
                        raise
            if gain <= SPENT * inner.energy:
                return tangent.state(fields, inner)
            further, there = self._searched(fields, inner, step, load, free)
            tangent.add(further - fields, there.forces - inner.forces)
            fields, inner, before = further, there, gain
        raise SolveError(f"The board did not come to rest in {ROUNDS} rounds; {left:.0e} of the load is unbalanced.")

    def _resisted(self, first: LargeState, last: LargeState, free: FreeStrains) -> None:
        """Raise SolveError where the board did not resist all along the straight way from one balance to another.

        Newton's method with a line search may leap over the places at which a board pushes itself on.
        """
        way = last.fields - first.fields
        between = [self.internal_forces(first.fields + share * way, free).forces for share in ON_THE_WAY]
        against = [float(np.sum(way * forces)) for forces in (first.inner.forces, *between, last.inner.forces)]
        if np.diff(against).min() < -ROUNDING * last.inner.energy:
            raise SolveError(SNAPPED)

    def followed(
        self,
        start: LargeState | None,
        *,
        load: tuple[Floats, Floats],
        free: tuple[FreeStrains, FreeStrains],
    ) -> LargeState:
        """The balance at the end of a path: loads and free strains go from the first of each pair to the second.

        In one step where that converges, in halves, quarters and so on where it does not, or where only the load grows
        and the board did not resist it all the way. `start` is the balance at the beginning; None: the board at rest.

        Raises SolveError, with how far the path could be followed and why no farther.
        """
        state, done, step = start, 0.0, 1.0
        while state is None or done < 1.0:
            share = min(done + step, 1.0)
            try:
                further = self.settled(_mixed(*load, share), free=_mixed_strains(*free, share), start=state)
                if state is not None and (free[0] is free[1] or not any(free)):
                    self._resisted(state, further, free[1])
            except SolveError as reason:
                step /= 2.0
                if step < SHORTEST:
                    raise SolveError(f"The path could be followed to {100.0 * done:.0f} % only. {reason}") from None
                continue
            state, done = further, share
        return state

    def _searched(
        self, fields: Floats, inner: Inner, step: Floats, load: Floats, free: FreeStrains
    ) -> tuple[Floats, Inner]:
        """The movement a step further, halved until board and load together lose energy as the step promises."""
        promised = float(np.sum(step * (load - inner.forces)))
        before = inner.energy - float(np.sum(load * fields))
        share, unbalanced = 1.0, np.linalg.norm(load - inner.forces)
        for _ in range(HALVINGS):
            trial = fields + share * step
            there = self.internal_forces(trial, free)
            if there.energy - float(np.sum(load * trial)) <= before - 1e-4 * share * promised + 1e-12 * abs(before):
                break
            # near the balance the energy's own rounding hides what a step gains: then what is left unbalanced tells
            if promised <= LOST_IN_ROUNDING * inner.energy and np.linalg.norm(load - there.forces) < unbalanced:
                break
            share /= 2.0
        return trial, there

    def internal_forces(self, fields: Floats, free: FreeStrains) -> Inner:
        """What a movement (5, nodes) does inside the board."""
        out, energy, slope, membrane = self._whole_forces(fields, free.get(PANEL, np.zeros(8)))
        beyond, little = self.discrete.ghost.internal_forces(fields)
        out, energy = out + beyond, energy + little
        turned = []
        nodal = []
        for each, values, (slopes, second) in zip(self.discrete.sets, self._points.values(fields), self._second):
            bend = np.einsum("prij,pj->pri", second, values[:, slopes])
            strain = np.einsum("prq,pq->pr", each.strains, values)
            strain += 0.5 * np.einsum("pri,pi->pr", bend, values[:, slopes])
            strain -= free.get(each.part, np.zeros(strain.shape[1]))
            stress = np.einsum("prs,ps->pr", each.stiffness, strain)
            force = np.einsum("prq,pr->pq", each.strains, stress)
            force[:, slopes] += np.einsum("pri,pr->pi", bend, stress)
            nodal.append(force)
            energy += 0.5 * float(np.sum(stress * strain))
            turned.append((bend, stress))
        out += self._points.gathered(nodal)
        return Inner(forces=out, energy=energy, slope=slope, membrane_N_mm=membrane, turned=tuple(turned))

    def _whole_forces(self, fields: Floats, free: Floats) -> tuple[Floats, float, Floats, Floats]:
        whole, grid = self.discrete.whole, self.discrete.grid
        functions, weights = cell_functions(grid)
        out, energy = np.zeros_like(fields), 0.0
        slope, membrane = np.empty_like(whole.slope), np.empty((*whole.thickness.shape, 3))
        for start in range(0, len(whole.cells), CHUNK):
            part = slice(start, start + CHUNK)
            nodes = grid.nodes(whole.cells[part])
            values = np.einsum("fcn,pdn->cpfd", fields[:, nodes], functions, optimize=True).reshape(-1, Q)
            crown, moved = whole.slope[part].reshape(-1, 2), values[:, SLOPES]
            # the strain is quadratic in the slope: its operator at half the movement, its variation at the whole
            strain = np.einsum("prq,pq->pr", panel_strains(crown + 0.5 * moved), values) - free
            C = section_stiffness(whole.plane, whole.shear, whole.thickness[part].ravel())
            stress = np.einsum("prs,ps->pr", C, strain)
            slope[part] = (crown + moved).reshape(slope[part].shape)
            membrane[part] = stress[:, :3].reshape(membrane[part].shape)
            stress *= np.tile(weights, len(nodes))[:, None]
            energy += 0.5 * float(np.sum(stress * strain))
            back = np.einsum("prq,pr->pq", panel_strains(crown + moved), stress).reshape(len(nodes), -1, FIELDS, 3)
            nodal = np.einsum("cpfd,pdn->fcn", back, functions, optimize=True)
            for f in range(FIELDS):
                out[f] += np.bincount(nodes.ravel(), nodal[f].ravel(), minlength=fields.shape[1])
        return out, energy, slope, membrane

    def _tangent(self, inner: Inner) -> tuple[Factor, Numbering]:
        discrete = self.discrete
        whole = replace(discrete.whole, slope=inner.slope, membrane=inner.membrane_N_mm)
        sets = tuple(
            _stressed(each, *second, *turned) for each, second, turned in zip(discrete.sets, self._second, inner.turned)
        )
        matrix = stiffness_matrix(discrete.space, (whole, discrete.ghost), sets)
        try:
            return matrix.factored(), matrix.numbering
        except SolveError:
            raise SolveError(SNAPPED) from None


def _stressed(each: PointSet, slopes: list[int], second: Floats, bend: Floats, stress: Floats) -> PointSet:
    """A set of points under stress: its strains vary as G + w'ᵀ B, `bend` being w'ᵀ B, and its stresses turn with the
    slope: the slopes as more strains, with Σ σ B as stiffness.
    """
    if not second.any():
        return each
    n, r = stress.shape
    size = r + len(slopes)
    strains = np.zeros((n, size, each.strains.shape[2]))
    strains[:, :r] = each.strains
    strains[:, :r, slopes] += bend
    strains[:, np.arange(r, size), slopes] = 1.0
    stiffness = np.zeros((n, size, size))
    stiffness[:, :r, :r] = each.stiffness
    stiffness[:, r:, r:] = np.einsum("pr,prij->pij", stress, second)
    return replace(each, strains=strains, stiffness=stiffness)


def _mixed(first: Floats, second: Floats, share: float) -> Floats:
    return first + share * (second - first)


def _mixed_strains(first: FreeStrains, second: FreeStrains, share: float) -> FreeStrains:
    return {
        part: _mixed(np.asarray(first.get(part, 0.0)), np.asarray(second.get(part, 0.0)), share)
        for part in {*first, *second}
    }
