"""Strings on board as a small dense problem: the sink at every pin row from the response of the board.

Each string's force depends on the height of the bridge, and the height on all the forces. With the response of the
board at the pin rows (2N × 2N numbers for N notes, large deflection kept in it) this is small enough for a what-if to
answer at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Bools, Floats, floats, keep
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, SolveError
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.string_line import bearing, pin_forces_N, run_stiffness_N_mm, sunk
from bellywork.mechanics.response import Response

ROUNDS = 40
HOLD_AFTER = 3  # times that a note may leave and take up its strings before it is held off
SINK_TOLERANCE_MM = 1e-9
HELD_TOLERANCE_DEG = 0.05


@dataclass(frozen=True, kw_only=True, eq=False)
class Settled:
    """The board under its strings, in balance; one entry per note.

    line                            heights in the strung state
    sink_front_mm, sink_rear_mm     sink of the bridge at the pins from the bare state, down positive
    force_front_N, force_rear_N     what the strings press on the pins there
    lifted                          True where the strings have left the bridge and press nothing
    residual_mm                     largest difference between a sink and the board's response to the forces
    rounds                          Newton steps taken
    """

    line: StringLine
    sink_front_mm: Floats
    sink_rear_mm: Floats
    force_front_N: Floats
    force_rear_N: Floats
    lifted: Bools
    residual_mm: float
    rounds: int


@dataclass(frozen=True, kw_only=True, eq=False)
class SmallModel:
    """A board as its strings feel it.

    bare       the string line with the heights of the bare board
    pull_N     tension of all the strings of each note together, in N; 0 where a note is unstrung
    response   sink at every pin for forces at every pin (2N): front pins first, then rear
    """

    bare: StringLine
    pull_N: Floats
    response: Response

    def __post_init__(self) -> None:
        n = len(self.bare.note)
        keep(self, pull_N=floats(self.pull_N, (n,), "pull_N"))
        if self.response.places != 2 * n:
            raise BoardError(f"A response at {self.response.places} places does not fit the {2 * n} pins of the notes.")
        if not (np.all(np.isfinite(self.pull_N)) and np.all(self.pull_N >= 0.0)):
            raise BoardError("Every note needs the tension of its strings, 0 N or more.")

    def settled(self) -> Settled:
        """The balance of strings and board: the sink whose forces cause just that sink.

        Newton on u = R(p(z − u)), R the board's response, with the exact angles and their exact stiffness; strings
        whose net bearing is zero or negative press nothing. Raises SolveError where it does not converge.
        """
        n = len(self.bare.note)
        pull, sink = self.pull_N, np.zeros(2 * n)
        off = bearing(self.bare).lifted
        turns = np.zeros(n, dtype=np.int64)
        for round_number in range(1, ROUNDS + 1):
            line = sunk(self.bare, sink[:n], sink[n:])
            force = np.concatenate(pin_forces_N(line, pull))
            missed = self.response.place_sink_mm(force) - sink
            now_off = bearing(line).lifted
            turns += now_off != off
            off = now_off
            if np.max(np.abs(missed)) <= SINK_TOLERANCE_MM * max(1.0, np.max(np.abs(sink))):
                self._check_held(line, pull)
                residual = float(np.max(np.abs(missed)))
                return _as_settled(
                    line, sink, force, (off | (pull < self.pull_N)) & (self.pull_N > 0.0), residual, round_number
                )
            pull = np.where(turns > HOLD_AFTER, 0.0, pull)
            sink = sink + self._newton_step(line, pull, missed, self.response.slope_mm_N(force))
        raise SolveError(f"The balance of strings and board did not settle in {ROUNDS} rounds.")

    def _newton_step(self, line: StringLine, pull: Floats, missed: Floats, C: Floats) -> Floats:
        """The step x with (I + C K) x = missed, K the strings' stiffness and C the board's slope.

        K takes the pins of a note two and two: [c_f + c_b, −c_b; −c_b, c_b + c_r], see `run_stiffness_N_mm`.
        """
        speaking, over, back = run_stiffness_N_mm(line, pull)
        front, rear = np.split(C, 2, axis=1)
        matrix = np.hstack([front * (speaking + over) - rear * over, rear * (over + back) - front * over])
        matrix.flat[:: len(missed) + 1] += 1.0
        return np.asarray(np.linalg.solve(matrix, missed))

    def _check_held(self, line: StringLine, pull: Floats) -> None:
        """Strings that would neither stay on nor off are held off; right only where they bear next to nothing."""
        held = (pull < self.pull_N) & (bearing(line).net_deg > HELD_TOLERANCE_DEG)
        if np.any(held):
            raise SolveError(
                f"No balance was found for {notes_in_words(line.note[held].tolist())}: on or off the bridge."
            )


def _as_settled(line: StringLine, sink: Floats, force: Floats, lifted: Bools, residual: float, rounds: int) -> Settled:
    n = len(line.note)
    return Settled(
        line=line,
        sink_front_mm=sink[:n],
        sink_rear_mm=sink[n:],
        force_front_N=force[:n],
        force_rear_N=force[n:],
        lifted=lifted,
        residual_mm=residual,
        rounds=rounds,
    )
