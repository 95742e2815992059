"""One board on several rims: its own stiffness is made once, and what holds its edge is put on."""

from __future__ import annotations

from bellywork.mechanics.assembly import Matrix, stiffness_matrix
from bellywork.mechanics.discrete import Discrete
from bellywork.mechanics.points import Points


def without_rim(discrete: Discrete) -> Matrix:
    """The stiffness of a discretised board at rest without what holds its edge, with room for that."""
    sets: tuple[Points, ...] = (*discrete.cut, *discrete.strips)
    return stiffness_matrix(discrete.space, (discrete.whole, discrete.ghost), sets, (discrete.rim, discrete.held_ends))


def held(unheld: Matrix, discrete: Discrete) -> Matrix:
    """The stiffness of the same board with its edge held as `discrete` tells."""
    return unheld.plus((), (discrete.rim, discrete.held_ends))
