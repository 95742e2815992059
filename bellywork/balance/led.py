"""Strings and board brought into one balance, led there from nearly this board's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.instrument import Instrument
from bellywork.mechanics.response import Response

TURNS = 4
NEAR = 1e-5  # of the sink, by which the strings' forces may miss it


class Led:
    """The strings' balance on the large deflection board at a moisture, their forces renewed at each of its steps.

    like        the response of nearly this board: between the board's steps the strings feel this one
    settled_N   forces at the places of the strings in balance on a response
    """

    def __init__(
        self,
        ready: Instrument,
        places_mm: Floats,
        like: Response,
        settled_N: Callable[[Response], Floats],
        *,
        moisture_percent: float,
    ) -> None:
        self._ready, self._places_mm, self._moisture = ready, places_mm, moisture_percent
        self._like, self._settled_N = like, settled_N
        self._bare = ready.bare_state(moisture_percent)
        self._sinking, self._finer = ready.belly.board.discrete.sinking(places_mm), ready.finer_mm_N(places_mm)
        self._force = settled_N(like)

    def response(self) -> Response:
        """That of `like`, exact at the forces of the strings in balance. Raises SolveError where none is found."""
        board, bare, free = self._ready.belly.board, self._bare, self._ready.belly.free(self._moisture)
        start, guess = bare, bare.fields
        if (beside := self._ready.loaded_beside(self._places_mm, self._moisture)) is not None:
            # there its loads did what they will do here; and its tangent is of a board under them
            loaded, without = beside
            start = replace(bare, factor=loaded.factor, seen=loaded.seen)
            guess = bare.fields + loaded.fields - without.fields
        for _ in range(TURNS):
            state = board.settled(self._pushed(), free=free, start=start, near=guess, renewed=self._renewed)
            there, force = self._anchored(state.fields), self._force
            if self._renewed(state.fields) is None:
                board.resisted(bare, state, free)
                self._ready.loaded_met(self._places_mm, self._moisture)[force.tobytes()] = state
                return there
            start, guess = state, state.fields
        raise SolveError(f"The balance of strings and board did not settle in {TURNS} turns.")

    def _anchored(self, fields: Floats) -> Response:
        sink = self._sinking @ (fields - self._bare.fields).ravel() + self._finer @ self._force
        return self._like.anchored(self._force, sink)

    def _pushed(self) -> Floats:
        return np.asarray((self._sinking.T @ self._force).reshape(self._bare.fields.shape))

    def _renewed(self, fields: Floats) -> Floats | None:
        """Nodal forces of the strings where the board goes; None where they have not changed."""
        there = self._anchored(fields)
        force = self._settled_N(there)
        if there.near(force, NEAR):
            return None
        self._force = force
        return self._pushed()
