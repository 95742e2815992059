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
from typing import Protocol

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import PANEL
from bellywork.mechanics.large import LargeBoard, LargeState
from bellywork.mechanics.moisture import at_moisture
from bellywork.seasons.rheology import Laws, Memory, Stride
from bellywork.seasons.section_points import ACROSS, ACROSS_BENT, SectionPoints, stretched

MOST_FUNCTIONS = 96
ROUNDS = 40
SETTLED = 1e-5  # of the movement, in the energy's measure
SLOW = 0.25
MISSED_MM = 0.01  # by which the whole board may still move: a hundredth of what a shop reads
GROWTHS = 6  # functions that may join at one moment
TRAVELLED = (
    0.05,
    1.0,
)  # the whole board is asked again when the movement has gone on by this share: doubled when it held
CHUNK = 2048


class Load(Protocol):
    """What presses on the board at some places: forces, N, down positive, and their growth with the rise there."""

    def pressed(self, rise_mm: Floats) -> tuple[Floats, Floats]:
        """Forces (places,) and their stiffness (places, places), N/mm, at rises (places,), mm, up positive."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Moment:
    """The board at one moment.

    moisture_percent   of its wood
    amplitude          of the functions of the basis that it was computed in
    memories           of each part, by law
    crushed            set of each part's two layers across the grain, below and above the middle, (points, 2)
    across_MPa         stress across the grain in the two layers of the panel, pull positive, (points, 2)
    rise_mm            of the places pressed, and
    watched_mm         of those watched, against the board as its wood was cut, up positive
    missed_mm          how far the places pressed would still move by the whole board's tangent; NaN: it was not asked
    """

    moisture_percent: float
    amplitude: Floats
    memories: tuple[Mapping[str, Memory], ...]
    crushed: tuple[Floats, ...]
    across_MPa: Floats
    rise_mm: Floats
    watched_mm: Floats
    missed_mm: float


class BoardInTime:
    """A board ready to be led through time from a balance of its elastic self."""

    def __init__(
        self,
        board: LargeBoard,
        points: tuple[SectionPoints, ...],
        laws: Laws,
        start: LargeState,
        *,
        pressed_mm: Floats,
        watched_mm: Floats,
    ) -> None:
        self.board, self.laws, self.start = board, laws, start
        self.pressed_mm, self.watched_mm = pressed_mm, watched_mm
        self._parts = [_Part(each, start.fields) for each in points]
        self._tangent: Floats | None = None  # in the basis, kept as long as it serves
        self._functions: list[Floats] = []
        self._forces: list[Floats] = []  # the elastic tangent's forces of each function
        self._pressed = _Places(board, pressed_mm, start.fields)
        self._watched = _Places(board, watched_mm, start.fields)
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
            rise_mm=self._pressed.rise_mm(np.zeros(0)),
            watched_mm=self._watched.rise_mm(np.zeros(0)),
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
            rise_mm=self._pressed.rise_mm(amplitude),
            watched_mm=self._watched.rise_mm(amplitude),
            missed_mm=missed,
        )

    def _grown(self, amplitude: Floats) -> Floats:
        return np.append(amplitude, np.zeros(self.functions - len(amplitude)))

    def _balanced(self, steps: list[_Step], amplitude: Floats, load: Load | None) -> tuple[Floats, list[_Answer]]:
        """Newton's method in the basis; a tangent is kept as long as it serves, also for later strides."""
        size = 0.0
        answers, missing, stiff = self._unbalanced(steps, amplitude, load)
        if not self.functions:
            return amplitude, answers
        left = float(np.linalg.norm(missing))
        for _ in range(ROUNDS):
            if self._tangent is None or len(self._tangent) < self.functions:
                self._tangent = np.sum(
                    [
                        part.tangent(step, answer, self.functions)
                        for part, step, answer in zip(self._parts, steps, answers)
                    ],
                    axis=0,
                )
            move = np.linalg.solve(self._tangent + stiff, missing)
            size = max(size, float(np.linalg.norm(amplitude)), 1.0)
            if float(np.linalg.norm(move)) <= SETTLED * size:
                return amplitude, answers
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
        self, steps: list[_Step], amplitude: Floats, load: Load | None
    ) -> tuple[list[_Answer], Floats, Floats]:
        """The parts' answers, what is unbalanced in the basis, and the stiffness of what presses."""
        m = self.functions
        answers = [part.answered(step, amplitude) for part, step in zip(self._parts, steps)]
        missing = -np.sum([part.in_basis(answer, m) for part, answer in zip(self._parts, answers)], axis=0)
        if load is None:
            return answers, missing, np.zeros((m, m))
        forces, growth = load.pressed(self._pressed.rise_mm(amplitude))
        seen = self._pressed.functions[:, :m]
        return answers, missing - seen.T @ forces, seen.T @ growth @ seen

    def _checked(
        self, steps: list[_Step], amplitude: Floats, answers: list[_Answer], load: Load | None
    ) -> tuple[Floats, list[_Answer], float]:
        """The balance with the basis grown until the whole board would move by no more than MISSED_MM."""
        for _ in range(GROWTHS):
            move, forces = self._missed(amplitude, answers, load)
            missed = float(np.abs(self.board.sink_mm(move, self.pressed_mm)).max())
            if missed <= MISSED_MM:
                return amplitude, answers, missed
            if not self._joined(move, forces):
                break
            amplitude, answers = self._balanced(steps, self._grown(amplitude), load)
        move, _ = self._missed(amplitude, answers, load)
        return amplitude, answers, float(np.abs(self.board.sink_mm(move, self.pressed_mm)).max())

    def _missed(self, amplitude: Floats, answers: list[_Answer], load: Load | None) -> tuple[Floats, Floats]:
        """How the whole board's elastic tangent answers the nodal forces that are out of balance, and these."""
        self.checks += 1
        forces = np.zeros_like(self.start.fields)
        if load is not None:
            forces = self.board.pushes(self.pressed_mm, load.pressed(self._pressed.rise_mm(amplitude))[0])
        for part, answer in zip(self._parts, answers):
            forces = forces - part.nodal(answer, forces.shape[1])
        return self.board.corrected(self.start, forces), forces

    def _joined(self, move: Floats, forces: Floats) -> bool:
        """A movement joins the basis, made orthogonal to it in the energy of the elastic tangent; False: it holds
        nothing new beyond rounding.
        """
        if self.functions == MOST_FUNCTIONS:
            raise SolveError(f"The board's movement through time needs more than {MOST_FUNCTIONS} functions.")
        for _ in range(2):
            for function, force in zip(self._functions, self._forces):
                share = float(np.sum(move * force))
                move, forces = move - share * function, forces - share * force
        energy = float(np.sum(move * forces))
        if energy <= 0.0:
            return False
        move, forces = move / np.sqrt(energy), forces / np.sqrt(energy)
        for places in (self._pressed, self._watched):
            places.joined(self.board, move, self.functions)
        for part in self._parts:
            part.joined(move, self.functions)
        self._functions.append(move)
        self._forces.append(forces)
        return True


class _Places:
    """Places in plan, seen through the basis."""

    def __init__(self, board: LargeBoard, places_mm: Floats, fields: Floats) -> None:
        self._mm, self._first = places_mm, -board.sink_mm(fields, places_mm)
        self.functions = np.empty((len(places_mm), MOST_FUNCTIONS))

    def joined(self, board: LargeBoard, move: Floats, place: int) -> None:
        """A function joins the basis."""
        self.functions[:, place] = -board.sink_mm(move, self._mm)

    def rise_mm(self, amplitude: Floats) -> Floats:
        """Rise of the places, mm, up positive."""
        rise: Floats = self._first + self.functions[:, : len(amplitude)] @ amplitude
        return rise


@dataclass(frozen=True, kw_only=True, eq=False)
class _Step:
    """What a stride is to one part: its softened stiffness, strains at no movement, and set so far."""

    stiffness: Floats
    base: Floats
    crushed: Floats
    moisture_percent: float
    strides: Mapping[str, Stride]
    factors: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class _Answer:
    """How one part answers a movement: stress for a unit of scale, slopes, and set."""

    stress: Floats
    slopes: Floats
    crushed: Floats


class _Part:
    """The points of one part, seen through the basis."""

    def __init__(self, points: SectionPoints, fields: Floats) -> None:
        self.points = points
        n, r = points.scale.shape
        values = points.values(fields)
        self._first = np.einsum("prq,pq->pr", points.operators, values)
        self._first_slopes = np.einsum("pkq,pq->pk", points.slopes, values)
        self._strains = np.empty((n * r, MOST_FUNCTIONS), order="F")
        self._slopes = np.empty((n * points.slopes.shape[1], MOST_FUNCTIONS), order="F")
        self.by_law = {
            name: np.flatnonzero([law == name for law in points.laws]) for name in dict.fromkeys(points.laws)
        }

    def joined(self, move: Floats, place: int) -> None:
        """A function joins the basis."""
        values = self.points.values(move)
        self._strains[:, place] = np.einsum("prq,pq->pr", self.points.operators, values).ravel()
        self._slopes[:, place] = np.einsum("pkq,pq->pk", self.points.slopes, values).ravel()

    def prepared(
        self, strides: Mapping[str, Stride], memories: Mapping[str, Memory], crushed: Floats, moisture_percent: float
    ) -> _Step:
        """A stride to a moisture, before anything is known of the movement at its end."""
        points = self.points
        base = self._first - points.growth(moisture_percent)
        factors = np.array([modulus_share(points, law, moisture_percent) for law in points.laws])
        looser = np.array([strides[law].looser for law in points.laws])
        stiffness = points.softened((1.0 + looser) / factors - 1.0)
        for law, places in self.by_law.items():
            base[:, places] -= strides[law].remembered(memories[law])
        if crushed.any():
            base = base + self._shortened(crushed)
        return _Step(
            stiffness=stiffness,
            base=base,
            crushed=crushed,
            moisture_percent=moisture_percent,
            strides=strides,
            factors=factors,
        )

    def answered(self, step: _Step, amplitude: Floats) -> _Answer:
        """Stress at every point at a movement at the end of the stride; what is crushed on the way is crushed."""
        n, r = self.points.scale.shape
        m = len(amplitude)
        strain = step.base + (self._strains[:, :m] @ amplitude).reshape(n, r)
        slopes = self._first_slopes + (self._slopes[:, :m] @ amplitude).reshape(n, -1)
        if slopes.shape[1]:
            more = stretched(slopes)
            strain[:, : more.shape[1]] += more
        stress, crushed = self.points.stress(step.stiffness, strain), step.crushed
        law = step.strides["across"].law
        if self.points.part == PANEL and law.yields is not None:
            modulus = step.stiffness[0, ACROSS, ACROSS]
            layers = self.layers(stress)
            crushed = law.yields.settled(
                crushed - layers / modulus, np.asarray(modulus), crushed, step.moisture_percent
            )
            more_set = crushed - step.crushed
            if more_set.any():
                stress = self.points.stress(step.stiffness, strain + self._shortened(more_set))
        return _Answer(stress=stress, slopes=slopes, crushed=crushed)

    def layers(self, stress: Floats) -> Floats:
        """Stress across the grain in the two layers, (points, 2)."""
        bent = self.points.layer_mm * stress[:, ACROSS_BENT]
        return np.column_stack([stress[:, ACROSS] - bent, stress[:, ACROSS] + bent])

    def _shortened(self, crushed: Floats) -> Floats:
        """Set of the two layers as section strains that elastic strain gains, (points, strains)."""
        out = np.zeros(self.points.scale.shape)
        out[:, ACROSS] = crushed.mean(axis=1)
        out[:, ACROSS_BENT] = (crushed[:, 1] - crushed[:, 0]) / (2.0 * self.points.layer_mm)
        return out

    def _turning(self, stress: Floats, slopes: Floats) -> Floats:
        """Forces against the slopes, (points, 1 or 2): section forces that turn with them."""
        if slopes.shape[1] < 2:
            return stress[:, : slopes.shape[1]] * slopes
        first, second = slopes.T
        return np.column_stack(
            [stress[:, 0] * first + stress[:, 2] * second, stress[:, 1] * second + stress[:, 2] * first]
        )

    def in_basis(self, answer: _Answer, m: int) -> Floats:
        """Forces on the functions of the basis."""
        forces = answer.stress * self.points.scale
        against: Floats = self._strains[:, :m].T @ forces.ravel()
        if answer.slopes.shape[1]:
            against = against + self._slopes[:, :m].T @ self._turning(forces, answer.slopes).ravel()
        return against

    def nodal(self, answer: _Answer, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of the whole board."""
        forces = answer.stress * self.points.scale
        values = np.einsum("prq,pr->pq", self.points.operators, forces)
        values += np.einsum("pkq,pk->pq", self.points.slopes, self._turning(forces, answer.slopes))
        return self.points.gathered(values, nodes)

    def tangent(self, step: _Step, answer: _Answer, m: int) -> Floats:
        """Stiffness in the basis about an answer, softer where a layer is being crushed.

        A layer's stress b·s (b = 1 and ±z across the grain) and its set p go by b·U(dε + a dp) = −y′ dp, y the pressure
        under which it is crushed, so that dp = −b·U dε/(U_RR + y′); and scale · a = ½ scale_R b.
        """
        n, r = self.points.scale.shape
        k = answer.slopes.shape[1]
        strains, slopes = self._strains[:, :m].reshape(n, r, m), self._slopes[:, :m].reshape(n, k, m)
        forces, out = answer.stress * self.points.scale, np.zeros((m, m))
        for start in range(0, n, CHUNK):
            rows = slice(start, start + CHUNK)
            G, S, at = np.array(strains[rows]), np.array(slopes[rows]), answer.slopes[rows]
            for j in range(k):
                G[:, j] += at[:, j, None] * S[:, j]
            if k == 2:
                G[:, 2] += at[:, 0, None] * S[:, 1] + at[:, 1, None] * S[:, 0]
            stiffness = step.stiffness[self.points.section[rows]] if len(step.stiffness) > 1 else step.stiffness
            stiff = np.matmul(stiffness, G) * self.points.scale[rows][:, :, None]
            out += G.reshape(-1, m).T @ stiff.reshape(-1, m)
            for layer, side in enumerate((-1.0, 1.0)):
                here = np.flatnonzero(answer.crushed[rows, layer] > step.crushed[rows, layer])
                if len(here):
                    at_layer = step.stiffness[0, ACROSS] @ G[here] + side * self.points.layer_mm[rows][here, None] * (
                        step.stiffness[0, ACROSS_BENT] @ G[here]
                    )
                    p = answer.crushed[rows, layer][here]
                    rate = step.strides["across"].law.crushing(p, step.moisture_percent)
                    yields = 0.5 * self.points.scale[rows][here, ACROSS] / (step.stiffness[0, ACROSS, ACROSS] + rate)
                    out -= at_layer.T @ (yields[:, None] * at_layer)
            for i, j, force in ((0, 0, 0), (1, 1, 1), (0, 1, 2), (1, 0, 2))[: k * k]:
                out += S[:, i].T @ (forces[rows, force, None] * S[:, j])
        return out

    def after(self, step: _Step, answer: _Answer, memories: Mapping[str, Memory]) -> tuple[dict[str, Memory], Floats]:
        """What the part remembers after the stride, and the stress across the grain in its two layers, N/mm²."""
        elastic = (
            self.points.stress(self.points.creeping, answer.stress) / step.factors if self.by_law else answer.stress
        )
        remembered = {
            law: step.strides[law].after(memories[law], elastic[:, places]) for law, places in self.by_law.items()
        }
        return remembered, self.layers(answer.stress) if self.points.part == PANEL else np.zeros((0, 2))


def modulus_share(points: SectionPoints, law: str, moisture_percent: float) -> float:
    """The modulus that a law goes by at a moisture, over that of the part's wood as it is given."""
    assert points.wood is not None
    name = {"along": "E_L", "across": "E_R", "shear": "G_LR", "rolling": "G_RT"}[law]
    return float(getattr(at_moisture(points.wood, moisture_percent), name) / getattr(points.wood, name))
