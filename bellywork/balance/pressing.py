"""What a given push does to the bare board: a go-bar, a wedge, a trial weight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats, floats
from bellywork.board.board import Board
from bellywork.board.body import Body
from bellywork.errors import BoardError
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.solution import EquilibriumCheck


@dataclass(frozen=True, kw_only=True, eq=False)
class Pressed:
    """The bare board under pushes.

    places_mm, forces_N    the pushes, shape (pushes, 2) and (pushes,), down positive
    push_sink_mm           sink under each push, down positive
    read_mm, sink_mm       the points read and the sink there
    rim                    how the rim was taken to hold the panel
    sink_range_mm          sink at the read points for each rim of the range, by its name; the difference to the
                           board's own rim is taken from a coarse grid
    balance                applied load against rim reactions, energy, residual
    assumptions            sentences
    """

    places_mm: Floats
    forces_N: Floats
    push_sink_mm: Floats
    read_mm: Floats
    sink_mm: Floats
    rim: str
    sink_range_mm: Mapping[str, Floats]
    balance: EquilibriumCheck
    assumptions: tuple[str, ...]


def press(board: Board | Instrument, *, places_mm: ArrayLike, forces_N: ArrayLike, read_mm: ArrayLike = ()) -> Pressed:
    """The sink of the bare board under pushes, large deflection included, and how far it depends on the rim.

    places_mm (pushes, 2) and read_mm (points, 2) in plan, mm; forces_N (pushes,), down positive. Without read points
    the sink is read under the pushes.

    Raises MissingLayer without a body, BoardError for a point outside the outline or a force that is not a number,
    SolveError where the solution does not hold or the board would snap through.
    """
    ready = prepared(board)
    body = ready.board.needed_body("Pressing on the board")
    places = floats(np.atleast_2d(np.asarray(places_mm, dtype=float)), (-1, 2), "places_mm")
    forces = floats(forces_N, (len(places),), "forces_N")
    if not np.all(np.isfinite(forces)):
        raise BoardError("A push needs a force in N that is a number.")
    read = floats(read_mm if len(np.asarray(read_mm)) else places, (-1, 2), "read_mm")
    _check_on_board(body, np.vstack([places, read]))
    answer = ready.model.pressed(places, forces)
    sink = ready.pushed_mm(places, forces, np.vstack([places, read]))
    here, changes = sink[len(places) :], ready.rim_changes_mm_N(places, read)
    return Pressed(
        places_mm=places,
        forces_N=forces,
        push_sink_mm=sink[: len(places)],
        read_mm=read,
        sink_mm=here,
        rim=ready.rim_words,
        sink_range_mm={rim: here + change @ forces for rim, change in changes.items()},
        balance=answer.balance,
        assumptions=(
            f"The rim holds the panel as '{ready.rim_words}'; the range is shown from clamped to hinged.",
            ready.climate_words,
            "The board is bare; sink is that of the panel's mid-surface, large deflection included.",
        ),
    )


def _check_on_board(body: Body, points_mm: Floats) -> None:
    """Raise BoardError for the first point off the board."""
    off = ~body.outline.holds(points_mm)
    if off.any():
        x, y = points_mm[off.argmax()]
        raise BoardError(f"The point ({x:g}, {y:g}) mm is outside the board's outline.")
