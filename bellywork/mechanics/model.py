"""The board as one linear model: assembled and factored once, then asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.errors import BoardError, SolveError
from bellywork.mechanics.assembly import Matrix, Numbering
from bellywork.mechanics.discrete import Discrete, discretised
from bellywork.mechanics.skyline import Factor, Skyline, Step, half_solved
from bellywork.mechanics.solution import LIMIT, Solution, checked, internal_forces
from bellywork.mechanics.unheld import held, without_rim

if TYPE_CHECKING:
    from scipy.sparse import csr_array

DEFAULT_CELL_MM = 24.8  # as good against solids as 20 mm, twice as quick; all stepped strips still within 3 %
MENDINGS = 4
MENDED = 1e-8  # residual, as a share of the load, that needs no mending


@dataclass(frozen=True, kw_only=True, eq=False)
class BoardModel:
    """A board's stiffness, factored. Made by `assembled`."""

    discrete: Discrete
    numbering: Numbering
    factor: Factor

    def compliance(self, points_mm: ArrayLike) -> Floats:
        """Sink at every point under a unit push at every point: (points, points), mm/N, symmetric.

        Raises BoardError for a point outside the outline, SolveError where it does not hold.
        """
        return _compliance(self.discrete, self.numbering, self.factor.skyline, self.factor.steps, points_mm)

    def influence(self, places_mm: ArrayLike, read_mm: ArrayLike) -> Floats:
        """Sink at read points (points, 2) under a unit push at each place (places, 2): (points, places), mm/N.

        Where the read points are the places this is the compliance. Raises BoardError for a point outside the outline.
        """
        places, read = (np.atleast_2d(np.asarray(each, dtype=float)) for each in (places_mm, read_mm))
        if np.array_equal(places, read):  # half the work
            return self.compliance(places)
        loads, sinking = self._loads(places), self._sinking(read)
        sink: Floats = sinking @ self.factor.rest_solved(self.factor.half_solved(loads))
        return sink

    def movements(self, places_mm: ArrayLike) -> Floats:
        """The whole movement (places, 5, nodes) under a unit push at each place (places, 2), down.

        Raises BoardError for a place outside the outline.
        """
        loads = self._loads(np.atleast_2d(np.asarray(places_mm, dtype=float)))
        return self.numbering.fields(self.factor.rest_solved(self.factor.half_solved(loads)).T)

    def pressed(self, places_mm: ArrayLike, forces_N: ArrayLike) -> Solution:
        """The board under pushes at places (pushes, 2), forces (pushes,) in N, down positive.

        Raises BoardError for a place outside the outline, SolveError where residual, balance or energy do not hold.
        """
        places = np.atleast_2d(np.asarray(places_mm, dtype=float))
        forces = np.atleast_1d(np.asarray(forces_N, dtype=float))
        return self._solved(self._loads(places), places, forces)

    def _solved(self, loads: Floats, places: Floats, forces: Floats) -> Solution:
        """Solve, and mend what rounding left: the residual, summed from the strains, is solved for again."""
        load = loads @ forces
        movement = self.factor.solved(load)
        for _ in range(MENDINGS):
            fields = self.numbering.fields(movement)
            inner, energies = internal_forces(self.discrete, fields)
            missing = load - self.numbering.vector(inner)
            # what is missing may be small as a force and yet do work on a weak freedom that moves far
            unbalanced = np.linalg.norm(missing) > MENDED * np.linalg.norm(load)
            if not unbalanced and abs(missing @ movement) <= MENDED * abs(load @ movement):
                break
            movement = movement + self.factor.solved(missing)
        return checked(self.discrete, fields, inner, energies, places, forces)

    def _loads(self, places_mm: Floats) -> Floats:
        """Right sides (freedoms, places) of unit pushes, down."""
        return np.asarray(self._sinking(places_mm).T.toarray(order="C"))

    def _sinking(self, places_mm: Floats) -> csr_array:
        return _sinking(self.discrete, self.numbering, places_mm)


def on_rim(unheld: Matrix, discrete: Discrete) -> BoardModel:
    """A board by its stiffness without its rim, as `without_rim` gives it, held as `discrete` tells."""
    return BoardModel(discrete=discrete, numbering=unheld.numbering, factor=held(unheld, discrete).factored())


def compliance(unheld: Matrix, discrete: Discrete, points_mm: ArrayLike) -> Floats:
    """What `BoardModel.compliance` gives, of a board as `on_rim` takes it. Its factor is used as it comes and not kept:
    nine tenths of the memory of a board of which nothing else is asked.

    Raises as that does, and SolveError where the board can move freely.
    """
    matrix = held(unheld, discrete)
    return _compliance(discrete, matrix.numbering, matrix.skyline, matrix.eliminated(), points_mm)


def assembled(body: Body, *, cell_mm: float = DEFAULT_CELL_MM) -> BoardModel:
    """Assemble and factor a board.

    The cell size trades time for accuracy; docs/theory.md gives the error of the default.

    Raises BoardError for a cell size or an outline that no grid can be laid over, SolveError where the board can move
    freely.
    """
    discrete = discretised(body, cell_mm)
    return on_rim(without_rim(discrete), discrete)


def _compliance(
    discrete: Discrete, numbering: Numbering, sky: Skyline, steps: Iterable[Step], points_mm: ArrayLike
) -> Floats:
    """C = (L⁻¹B)ᵀ (L⁻¹B) with the factor L and the loads B: the forward half of the solution is enough.

    One load more goes along, that of a movement known beforehand, by its forces as the strains at all points give them:
    it has to come out again as the sink of each point, and as the energy stored.
    """
    from scipy.sparse import csr_array, vstack

    sinking = _sinking(discrete, numbering, np.atleast_2d(np.asarray(points_mm, dtype=float)))
    known = numbering.fields(np.random.default_rng(0).standard_normal(numbering.size))
    forces, energies = internal_forces(discrete, known)
    loads = vstack([sinking, csr_array(numbering.vector(forces)[None])]).T.toarray(order="C")
    half = half_solved(sky, steps, loads)
    product = half.T @ half
    expected = np.append(sinking @ numbering.vector(known), 2.0 * sum(energies.values()))
    missed = np.abs(product[-1] - expected)
    off = max(missed[:-1].max(initial=0.0) / np.abs(expected[:-1]).max(initial=1e-300), missed[-1] / expected[-1])
    if not off <= LIMIT:
        raise SolveError(
            f"The compliance does not hold: a movement known beforehand comes out {off:.1e} of it off, more than "
            f"{LIMIT:.0e}. The board may hang on too little, or its cells be too small."
        )
    return np.asarray(product[:-1, :-1])


def _sinking(discrete: Discrete, numbering: Numbering, places_mm: Floats) -> csr_array:
    """How much each freedom sinks each place, a matrix (places, freedoms)."""
    import shapely

    polygon = shapely.Polygon(discrete.body.outline.points_mm).buffer(1e-6)
    shapely.prepare(polygon)
    outside = ~shapely.intersects_xy(polygon, places_mm[:, 0], places_mm[:, 1])
    if outside.any():
        x, y = places_mm[outside.argmax()]
        raise BoardError(f"The point ({x:g}, {y:g}) mm is outside the board's outline.")
    return numbering.by_freedoms(discrete.sinking(places_mm))
