"""Large deflection: the crowned board with von Kármán's strains, wood that swells, and loads that stay vertical.

To each strain operator comes what the movement's own slope w' does: E = G q + ½ w'ᵀ B w' − E₀, with E₀ the free strain
of wood that has changed its moisture. Inner forces and tangent follow from that one line: δE = (G + w'ᵀ B) δq, and the
stresses turn with the slope, Σ σ B. The tangent is the linear board's matrix for the slope of crown and movement
together, and the stresses; whole cells, points and matrix are those of the linear board.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.mechanics.assembly import Matrix, Numbering
from bellywork.mechanics.discrete import Discrete
from bellywork.mechanics.energy import FIELDS
from bellywork.mechanics.large_forces import FreeStrains as FreeStrains
from bellywork.mechanics.large_forces import Inner, LargeForces, fixed
from bellywork.mechanics.skyline import Factor, half_solved
from bellywork.mechanics.unheld import held, without_rim

if TYPE_CHECKING:
    from scipy.sparse import csr_array

RESIDUAL = 1e-7  # of what is unbalanced, as a share of the load or of the most that was unbalanced on the way
SPENT = 1e-20  # of the energy: what a step may still gain where rounding keeps the residual up, as on a rim held fast
LEAST_FORCE_N = 1e-2
ROUNDS = 40
REMEMBERED = 24
WORTH = 8  # steps by an old tangent cost as much as a new one:
NEARLY = 1e-14  # of the energy is what a last step gains; where so many steps would leave more, a new one is made
HALVINGS = 6
LOST_IN_ROUNDING = 1e-9  # of the energy
SHORTEST = 1.0 / 64.0  # of a path
REFUSALS = 3  # on the way to a balance the tangent may lose its stiffness, at the balance it may not
ROUNDING = 1e-9  # of the energy: what work on a way of no length comes to
SNAPPED = "The board would snap through: at this load and moisture it has no stiffness left in some direction."


Seen = tuple[Floats, Floats, float]  # a step, the forces that it took, and their work
Renewed = Callable[[Floats], Floats | None]  # nodal forces (5, nodes) of a movement (5, nodes); None: they stand


@dataclass(frozen=True, kw_only=True, eq=False)
class LargeState:
    """A board at rest after a large movement.

    fields     the movement's coefficients (5, nodes)
    inner      what it does inside the board
    factor     the factored tangent nearest to it
    numbering  which freedom is which, as in the linear model
    free       the free strains under which it rests
    exact      True: the tangent is that of just this movement
    seen       what steps since have shown of the tangent
    """

    fields: Floats
    inner: Inner
    factor: Factor
    numbering: Numbering
    free: FreeStrains
    exact: bool = False
    seen: tuple[Seen, ...] = ()


class Tangent:
    """A factored tangent, corrected by what the steps since have shown: movements and the forces that they took.

    BFGS, two loops: Nocedal & Wright, Numerical Optimization, algorithm 7.4, from memory.
    """

    def __init__(self, factor: Factor, numbering: Numbering, seen: tuple[Seen, ...] = ()) -> None:
        self.factor, self.numbering = factor, numbering
        self._seen: deque[Seen] = deque(seen, maxlen=REMEMBERED)

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

    def state(self, fields: Floats, inner: Inner, free: FreeStrains) -> LargeState:
        """A balance to which it led."""
        seen = tuple(self._seen)
        return LargeState(
            fields=fields, inner=inner, factor=self.factor, numbering=self.numbering, free=free, seen=seen
        )


class LargeBoard:
    """A discretised board ready for large movements."""

    def __init__(self, discrete: Discrete, unheld: Matrix | None = None) -> None:
        """`unheld`: that of the same board on another rim."""
        self.discrete = discrete
        self.unheld = without_rim(fixed(discrete)) if unheld is None else unheld
        self._last: tuple[LargeState, Factor] | None = None  # the exact tangent asked for last

    @cached_property
    def _held(self) -> Matrix:
        """Of the stiffness what no movement changes."""
        return held(self.unheld, self.discrete)

    @cached_property
    def _inside(self) -> LargeForces:
        return LargeForces(self.discrete)

    def at_rest(self) -> Floats:
        """No movement: coefficients (5, nodes)."""
        return np.zeros((FIELDS, self.discrete.space.nodes))

    def pushes(self, places_mm: Floats, forces_N: Floats) -> Floats:
        """Nodal forces (5, nodes) of pushes at places (pushes, 2) in plan, N, down positive."""
        return self.discrete.pushed(places_mm, forces_N)

    def resting(self) -> LargeState:
        """The board at rest, free of stress."""
        fields = self.at_rest()
        inner = self.internal_forces(fields, {})
        factor, numbering = self._tangent(inner)
        return LargeState(fields=fields, inner=inner, factor=factor, numbering=numbering, free={}, exact=True)

    def compliance(self, state: LargeState, places_mm: Floats) -> Floats:
        """Sink at every place under a small unit push at every place, about a balance: (places, places), mm/N."""
        return self.flexibility(state, self.discrete.sinking(places_mm))

    def flexibility(self, state: LargeState, told: csr_array) -> Floats:
        """Small movements told by a matrix (movements, 5 · nodes), each under a unit force against each: (movements,
        movements), mm/N, about a balance.
        """
        half = self._half_solved(state, state.numbering.by_freedoms(told))
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
        last = self._last  # another thread may ask for another state meanwhile
        if last is None or last[0] is not state:
            self._last = last = state, self._tangent(state.inner)[0]
        return last[1]

    def _half_solved(self, state: LargeState, told: csr_array) -> Floats:
        """Forward half of the solution, against each row of a matrix (movements, freedoms), by the tangent of just this
        state, which is kept only where it is known.
        """
        last = self._last
        if state.exact or (last is not None and last[0] is state):
            return self.tangent_at(state).half_solved(told.T.toarray(order="C"))
        matrix = self._turned(state.inner)
        try:
            return half_solved(matrix.skyline, matrix.eliminated(), told.T.toarray(order="C"))
        except SolveError:
            raise SolveError(SNAPPED) from None

    def corrected(self, state: LargeState, missing: Floats) -> Floats:
        """The movement (5, nodes) by which the factored tangent of a state answers nodal forces (5, nodes)."""
        return state.numbering.fields(state.factor.solved(state.numbering.vector(missing)))

    def _unit_pushes(self, places_mm: Floats, numbering: Numbering) -> Floats:
        """Right sides (freedoms, places) of unit pushes, down, for a factored tangent."""
        return np.asarray(numbering.by_freedoms(self.discrete.sinking(places_mm)).T.toarray(order="C"))

    def sink_mm(self, fields: Floats, points_mm: Floats) -> Floats:
        """Sink at points in plan, down positive: of a bridge where one stands, else of the panel."""
        return np.asarray(self.discrete.sinking(points_mm) @ fields.ravel())

    def settled(
        self,
        load: Floats,
        *,
        free: FreeStrains | None = None,
        start: LargeState | None = None,
        near: Floats | None = None,
        renewed: Renewed | None = None,
    ) -> LargeState:
        """The balance under nodal forces (5, nodes) and free strains, from rest or from another balance.

        near      a movement nearer to it than that of `start`
        renewed   what the forces come to be as the board moves

        Newton's method with a line search. The tangent of `start` is kept, and corrected by the steps themselves, as
        long as that is quicker than a new one.

        Raises SolveError where the tangent is no longer stiff in every direction, so that the board would snap
        through, and where it does not converge.
        """
        free = {} if free is None else free
        fields, tangent, inner = self._begun(free, start, near)
        before, refused, size = np.inf, 0, max(float(np.linalg.norm(load)), LEAST_FORCE_N)
        for _ in range(ROUNDS):
            if renewed is not None:
                now = renewed(fields + tangent.answer(load - inner.forces)[0])
                load, renewed = (load, None) if now is None else (now, renewed)
            missing = load - inner.forces
            size = max(size, float(np.linalg.norm(missing)))
            left = float(np.linalg.norm(missing)) / size
            if left <= RESIDUAL and renewed is None:
                return tangent.state(fields, inner, free)
            step, gain = tangent.answer(missing)
            if gain * min(gain / before, 1.0) ** WORTH > NEARLY * inner.energy:
                try:
                    tangent = Tangent(*self._tangent(inner))
                    step, gain = tangent.answer(missing)
                except SolveError:
                    refused += 1
                    if refused > REFUSALS:
                        raise
            if gain <= SPENT * inner.energy and renewed is None:
                return tangent.state(fields, inner, free)
            further, there = self._searched(fields, inner, step, load, free)
            tangent.add(further - fields, there.forces - inner.forces)
            fields, inner, before = further, there, gain
        raise SolveError(f"The board did not come to rest in {ROUNDS} rounds; {left:.0e} of the load is unbalanced.")

    def _begun(self, free: FreeStrains, start: LargeState | None, near: Floats | None) -> tuple[Floats, Tangent, Inner]:
        """Where a balance is sought from, by which tangent, and what is inside the board there."""
        if start is None:
            fields = self.at_rest()
            tangent = Tangent(*self._tangent(self.internal_forces(fields, {})))
        else:
            # the first step goes by the tangent of the last balance: what is out of balance is no measure of stiffness
            last, fields = self._last, start.fields
            factor, seen = (start.factor, start.seen) if last is None or last[0] is not start else (last[1], ())
            tangent = Tangent(factor, start.numbering, seen)
            if near is None and _same(free, start.free):
                return fields, tangent, start.inner
        fields = fields if near is None else near
        return fields, tangent, self.internal_forces(fields, free)

    def resisted(self, first: LargeState, last: LargeState, free: FreeStrains) -> None:
        """Raise SolveError where the board did not resist all along the straight way from one balance to another.

        Newton's method with a line search may leap over the places at which a board pushes itself on. The strains go
        with the square of the way gone, so the force against it with the third power: four values tell it all. Those at
        the ends are known, and that half-way from the energy stored between them (Simpson's rule is exact for it).
        """
        way = last.fields - first.fields
        passed = self.internal_forces(first.fields + 0.25 * way, free)
        start, quarter, end = (float(np.sum(way * each.forces)) for each in (first.inner, passed, last.inner))
        half = (6.0 * (last.inner.energy - first.inner.energy) - start - end) / 4.0
        against = [start, quarter, half, 0.25 * start - quarter + 1.5 * half + 0.25 * end, end]
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
                    self.resisted(state, further, free[1])
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
        return self._inside.of(fields, free)

    def _tangent(self, inner: Inner) -> tuple[Factor, Numbering]:
        try:
            return self._turned(inner).factored(), self._held.numbering
        except SolveError:
            raise SolveError(SNAPPED) from None

    def _turned(self, inner: Inner) -> Matrix:
        """The tangent of a movement."""
        return self._held.plus(*self._inside.turning(inner))


def _same(one: FreeStrains, other: FreeStrains) -> bool:
    return one.keys() == other.keys() and all(np.array_equal(one[part], other[part]) for part in one)


def _mixed(first: Floats, second: Floats, share: float) -> Floats:
    return first + share * (second - first)


def _mixed_strains(first: FreeStrains, second: FreeStrains, share: float) -> FreeStrains:
    return {
        part: _mixed(np.asarray(first.get(part, 0.0)), np.asarray(second.get(part, 0.0)), share)
        for part in {*first, *second}
    }
