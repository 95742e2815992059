"""The board's own balance through time: its section strains remembered, its movement in a basis that grows as needed.

Over one stride wood is 1 + A times softer, beside strains that it remembers (see `rheology`), so each step is a large
deflection balance of the same board with softer sections and with the remembered strains as free strains. The movement
is q = q₀ + Σ a_k φ_k; the energy and its derivatives are those of all the board's points, only the movement is held to
the basis. Whether that is enough is asked of the whole board: the forces that its freedoms leave unbalanced, answered
by its elastic tangent, are how far the basis misses; where that is too much, this answer joins the basis.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.mechanics.large import LargeBoard, LargeState
from bellywork.seasons.part_in_time import MOST_FUNCTIONS, Answer, PartInTime, Step
from bellywork.seasons.rheology import Laws, Memory, Stride
from bellywork.seasons.section_points import SectionPoints

if TYPE_CHECKING:
    from scipy.sparse import csr_array

ROUNDS = 40
ROUNDED = 1e-12  # of a movement's energy: less of it is rounding
SETTLED = 1e-4  # of the movement, in the energy's measure
SLOW = 0.25
GROWTHS = 6  # functions that may join at one moment
TRAVELLED = (
    0.05,
    1.0,
)  # the whole board is asked again when the movement has gone on by this share: doubled when it held


class Load(Protocol):
    """What presses on the board against some of its moves, mm, as rises up: forces, N, as down, and their growth."""

    def pressed(self, moves_mm: Floats) -> tuple[Floats, Floats]:
        """Forces (moves,) against moves (moves,), N, and their stiffness (moves, moves), N/mm."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Moment:
    """The board at one moment.

    moisture_percent   of its wood
    amplitude          of the functions of the basis that it was computed in
    memories           of each part, by law
    crushed            set of each part's two layers across the grain, below and above the middle, (points, 2)
    across_MPa         stress across the grain in the two layers of the panel, pull positive, (points, 2)
    moves_mm           those that loads press against, and
    watched_mm         those watched, against the board as its wood was cut, rises up positive
    missed_mm          how much of the moves pressed the whole board's tangent would still add; NaN: it was not asked
    """

    moisture_percent: float
    amplitude: Floats
    memories: tuple[Mapping[str, Memory], ...]
    crushed: tuple[Floats, ...]
    across_MPa: Floats
    moves_mm: Floats
    watched_mm: Floats
    missed_mm: float


class BoardInTime:
    """A board ready to be led through time from a balance of its elastic self.

    pressed, watched   moves as matrices (moves, 5 · nodes): those that loads press against, those that are told
    near_mm            to which each move pressed is held (moves,)
    """

    def __init__(
        self,
        board: LargeBoard,
        points: tuple[SectionPoints, ...],
        laws: Laws,
        start: LargeState,
        *,
        pressed: csr_array,
        watched: csr_array,
        near_mm: Floats,
    ) -> None:
        self.board, self.laws, self.start, self._near_mm = board, laws, start, near_mm
        self._parts = [PartInTime(each, start.fields) for each in points]
        self._tangent: Floats | None = None  # in the basis, kept as long as it serves
        self._functions: list[Floats] = []
        self._forces: list[Floats] = []  # the elastic tangent's forces of each function
        self._pressed, self._watched = _Moves(pressed, start.fields), _Moves(watched, start.fields)
        self._gone, self._size, self._trust = np.inf, 0.0, TRAVELLED[0]
        self.checks = 0

    @property
    def functions(self) -> int:
        """How many functions the basis has."""
        return len(self._functions)

    @property
    def panel(self) -> SectionPoints:
        """The panel's points, in the order of `Moment.across_MPa`."""
        return self._parts[0].points

    def under(self, laws: Laws) -> BoardInTime:
        """The same board of wood with other laws; what is learnt of its movement is shared."""
        other = copy(self)
        other.laws, other._tangent = laws, None
        return other

    def begun(self, moisture_percent: float) -> Moment:
        """The board at the start, remembering nothing yet."""
        memories = tuple(
            {
                name: Memory.fresh(self.laws.named()[name], (len(part.points.scale), len(places)))
                for name, places in part.by_law.items()
            }
            for part in self._parts
        )
        crushed = tuple(np.zeros((len(part.points.scale), 2)) for part in self._parts)
        moment = Moment(
            moisture_percent=moisture_percent,
            amplitude=np.zeros(0),
            memories=memories,
            crushed=crushed,
            across_MPa=np.zeros((0, 2)),
            moves_mm=self._pressed.at(np.zeros(0)),
            watched_mm=self._watched.at(np.zeros(0)),
            missed_mm=np.nan,
        )
        still = {name: Stride(law, aged_days=0.0, travelled=0.0) for name, law in self.laws.named().items()}
        return self.stepped(moment, strides=still, moisture_percent=moisture_percent, load=None)

    def stepped(
        self, moment: Moment, *, strides: Mapping[str, Stride], moisture_percent: float, load: Load | None
    ) -> Moment:
        """The board a stride later, in balance at its end.

        Raises SolveError where no balance is found, and where the basis cannot be made to hold.
        """
        steps = [
            part.prepared(strides, memory, crushed, moisture_percent)
            for part, memory, crushed in zip(self._parts, moment.memories, moment.crushed)
        ]
        amplitude, answers = self._balanced(steps, self._grown(moment.amplitude), load)
        missed = np.nan
        self._gone += float(np.linalg.norm(amplitude - self._grown(moment.amplitude)))
        self._size = max(self._size, float(np.linalg.norm(amplitude)))
        if not self.functions or self._gone > self._trust * self._size:
            before = self.functions
            amplitude, answers, missed = self._checked(steps, amplitude, answers, load)
            self._trust = TRAVELLED[0] if self.functions > before else min(2.0 * self._trust, TRAVELLED[1])
            self._gone = 0.0
        after = [
            part.after(step, answer, memory)
            for part, step, answer, memory in zip(self._parts, steps, answers, moment.memories)
        ]
        return Moment(
            moisture_percent=moisture_percent,
            amplitude=amplitude,
            memories=tuple(memory for memory, _ in after),
            crushed=tuple(answer.crushed for answer in answers),
            across_MPa=after[0][1],
            moves_mm=self._pressed.at(amplitude),
            watched_mm=self._watched.at(amplitude),
            missed_mm=missed,
        )

    def _grown(self, amplitude: Floats) -> Floats:
        return np.append(amplitude, np.zeros(self.functions - len(amplitude)))

    def _balanced(self, steps: list[Step], amplitude: Floats, load: Load | None) -> tuple[Floats, list[Answer]]:
        """Newton's method in the basis; a tangent is kept as long as it serves, also for later strides."""
        size = 0.0
        answers, missing, stiff = self._unbalanced(steps, amplitude, load)
        if not self.functions:
            return amplitude, answers
        left = float(np.linalg.norm(missing))
        gone: list[tuple[Floats, Floats]] = []
        grown = self._tangent is None or len(self._tangent) < self.functions
        for _ in range(ROUNDS):
            if self._tangent is None or len(self._tangent) < self.functions:
                gone.clear()
                self._tangent = np.sum(
                    [
                        part.tangent(step, answer, self.functions)
                        for part, step, answer in zip(self._parts, steps, answers)
                    ],
                    axis=0,
                )
            move = np.linalg.solve(self._tangent + stiff, missing)
            size = max(size, float(np.linalg.norm(amplitude)), 1.0)
            if float(np.linalg.norm(move)) <= SETTLED * size and not grown:
                return amplitude, answers
            grown = (
                False  # what has joined is moved by once at least: it joined for less than what is taken for settled
            )
            gone.append((amplitude, move))
            move = _led(gone)
            for share in (1.0, 0.5, 0.25, 0.125):
                tried = amplitude + share * move
                answers, missing, stiff = self._unbalanced(steps, tried, load)
                now = float(np.linalg.norm(missing))
                if now < left:
                    break
            if now > SLOW * left:
                self._tangent = None
            amplitude, left = tried, now
        raise SolveError(f"The board did not come to rest in {ROUNDS} rounds on its way through time.")

    def _unbalanced(
        self, steps: list[Step], amplitude: Floats, load: Load | None
    ) -> tuple[list[Answer], Floats, Floats]:
        """The parts' answers, what is unbalanced in the basis, and the stiffness of what presses."""
        m = self.functions
        answers = [part.answered(step, amplitude) for part, step in zip(self._parts, steps)]
        missing = -np.sum([part.in_basis(answer, m) for part, answer in zip(self._parts, answers)], axis=0)
        if load is None:
            return answers, missing, np.zeros((m, m))
        forces, growth = load.pressed(self._pressed.at(amplitude))
        seen = self._pressed.functions[:, :m]
        return answers, missing - seen.T @ forces, seen.T @ growth @ seen

    def _checked(
        self, steps: list[Step], amplitude: Floats, answers: list[Answer], load: Load | None
    ) -> tuple[Floats, list[Answer], float]:
        """The balance with the basis grown until the whole board would move by no more than it is held to."""
        for _ in range(GROWTHS):
            move, forces = self._missed(amplitude, answers, load)
            missed = np.abs(self._pressed.matrix @ move.ravel())
            if np.all(missed <= self._near_mm):
                return amplitude, answers, float(missed.max())
            if not self._joined(move, forces):
                break
            amplitude, answers = self._balanced(steps, self._grown(amplitude), load)
        move, _ = self._missed(amplitude, answers, load)
        return amplitude, answers, float(np.abs(self._pressed.matrix @ move.ravel()).max())

    def _missed(self, amplitude: Floats, answers: list[Answer], load: Load | None) -> tuple[Floats, Floats]:
        """How the whole board's elastic tangent answers the nodal forces that are out of balance, and these."""
        self.checks += 1
        forces = np.zeros_like(self.start.fields)
        if load is not None:
            against = load.pressed(self._pressed.at(amplitude))[0]
            forces = -(self._pressed.matrix.T @ against).reshape(forces.shape)
        for part, answer in zip(self._parts, answers):
            forces = forces - part.nodal(answer, forces.shape[1])
        return self.board.corrected(self.start, forces), forces

    def _joined(self, move: Floats, forces: Floats) -> bool:
        """A movement joins the basis, made orthogonal to it in the energy of the elastic tangent; False: it holds
        nothing new beyond rounding.
        """
        if self.functions == MOST_FUNCTIONS:
            raise SolveError(f"The board's movement through time needs more than {MOST_FUNCTIONS} functions.")
        whole = float(np.sum(move * forces))
        for _ in range(2):
            for function, force in zip(self._functions, self._forces):
                share = float(np.sum(move * force))
                move, forces = move - share * function, forces - share * force
        energy = float(np.sum(move * forces))
        if energy <= ROUNDED * whole:
            return False
        move, forces = move / np.sqrt(energy), forces / np.sqrt(energy)
        for moves in (self._pressed, self._watched):
            moves.joined(move, self.functions)
        for part in self._parts:
            part.joined(move, self.functions)
        self._functions.append(move)
        self._forces.append(forces)
        return True


def _led(gone: list[tuple[Floats, Floats]]) -> Floats:
    """The next move by what the moves so far, each as the tangent led it from where it began, tell of that tangent's
    error (Anderson 1965, J. ACM 12:547).
    """
    move = gone[-1][1]
    if len(gone) == 1:
        return move
    on = np.diff([each for each, _ in gone], axis=0).T
    changed = np.diff([each for _, each in gone], axis=0).T
    share = np.linalg.lstsq(changed, move, rcond=1e-6)[0]
    return np.asarray(move - (on + changed) @ share)


class _Moves:
    """Moves of the board, told by a matrix, seen through the basis."""

    def __init__(self, matrix: csr_array, fields: Floats) -> None:
        self.matrix, self._first = matrix, matrix @ fields.ravel()
        self.functions = np.empty((matrix.shape[0], MOST_FUNCTIONS))

    def joined(self, move: Floats, place: int) -> None:
        """A function joins the basis."""
        self.functions[:, place] = self.matrix @ move.ravel()

    def at(self, amplitude: Floats) -> Floats:
        """The moves at an amplitude, mm."""
        there: Floats = self._first + self.functions[:, : len(amplitude)] @ amplitude
        return there
