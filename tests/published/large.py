"""Large deflection of plain plates and shells, by the board solver."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.board import Body
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.large import LargeBoard, LargeState


def sinks_along(
    body: Body,
    cell_mm: float,
    places: np.ndarray,
    forces: np.ndarray,
    factors: Sequence[float],
    at: tuple[float, float],
) -> list[float]:
    """Sink at a point under the forces times each factor in turn, followed from one to the next."""
    board = LargeBoard(discretised(body, cell_mm))
    state: LargeState | None = None
    before, out = 0.0, []
    for factor in factors:
        loads = tuple(board.pushes(np.asarray(places), share * np.asarray(forces)) for share in (before, factor))
        state = board.followed(state, load=loads, free=({}, {}))
        before = factor
        out.append(float(board.sink_mm(state.fields, np.array([at]))[0]))
    return out


def limit_factor(
    body: Body, cell_mm: float, places: np.ndarray, forces: np.ndarray, first: float, most: float
) -> tuple[float, float] | None:
    """Greatest factor on the forces that the board bears before it snaps through, and the sink under the first place.

    By steps that are halved where the board has no balance near by; None where it bears the `most`.
    """
    board = LargeBoard(discretised(body, cell_mm))
    state: LargeState | None = None
    borne, sunk, step = 0.0, 0.0, first
    while step > 2e-4 * most:
        load = board.pushes(np.asarray(places), (borne + step) * np.asarray(forces))
        try:
            there = board.settled(load, start=state)
            sink = float(board.sink_mm(there.fields, np.asarray(places)[:1])[0])
            if state is not None and sink > 1.6 * sunk + 0.5 * step / first * max(sunk, 1e-9):
                raise SolveError("It has snapped through.")
        except SolveError:
            step /= 2.0
            continue
        state, borne, sunk = there, borne + step, sink
        if borne >= most:
            return None
    return borne, sunk
