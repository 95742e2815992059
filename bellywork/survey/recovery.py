"""What could still be got: the plate lowered, or the bridge recapped, the board's further sink followed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum

import numpy as np

from bellywork.balance.sink import PredictedSink
from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats, Ints
from bellywork.board.plate import LEVER_MM, PlateMove
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.estimate.bands import Band, Boards
from bellywork.geometry.string_line import bearing, pin_forces_N, plate_moved, topped
from bellywork.survey.loss import Survey

OVER = 0.05  # weight of what is too much: a bridge can be planed, and nothing can be added to it
HELPS_DEG = 0.02  # by which the root mean square of what is short must come down for a setting to be worth its labour
FREE_MM = 6.0  # how far a plate without described supports may be moved, and tilted per metre, either way
FLAT_MM = 0.02  # of crown left is none
NEAR_DEG = 0.05  # net this near the target is reached


class PlateAdvice(Enum):
    """What to do with the plate: set it; leave it, since no note is short; leave it, since no setting helps."""

    SET = "set"
    LEAVE = "leave"
    NONE_HELPS = "none helps"


@dataclass(frozen=True, kw_only=True, eq=False)
class Best(PlateMove):
    """The best that a plate setting and that a new cap can give; arrays have one entry per note, strung.

    supports, move_mm                         move at each support
    net_deg, target_deg                       net bearing then, and what is wanted
    crown_left_mm                             of each rib, then; ribs that are past flat now are not held
    binding                                   ribs and supports that hold the plate where it is
    advice                                    whether to set it so; where not, it stays, and the rest is as it is now
    recap_net_deg                             net bearing with a new cap planed to the targets, or as near as no rib is
                                              driven past flat
    recap_share                               share of the way from now to the targets that the ribs allow
    recap_mm                                  height that the cap must gain, midway between the pins, negative: lose
    recap_sure                                the same, were the ribs that nobody read as far gone as may be (95 %)
    recap_held                                ribs that more would press flat
    bands                                     ends of the 95 % range of "net_deg_now", "net_deg_best" and
                                              "net_deg_recap", for what is not known of the board's stiffness
    """

    supports: tuple[str, ...]
    move_mm: Floats
    net_deg: Floats
    target_deg: Floats
    crown_left_mm: dict[str, float]
    binding: tuple[str, ...]
    advice: PlateAdvice
    recap_net_deg: Floats
    recap_share: float
    recap_mm: Floats
    recap_sure: float
    recap_held: tuple[str, ...]
    bands: Mapping[str, Band]

    @property
    def unreached(self) -> tuple[int, ...]:
        """Places of the notes that the plate alone brings no nearer than NEAR_DEG to their target from below."""
        return tuple(np.flatnonzero(self.net_deg < self.target_deg - NEAR_DEG).tolist())


def short_now(survey: Survey, got: Best) -> tuple[int, ...]:
    """Places of the notes that are below their target as the plate stands, by more than NEAR_DEG."""
    return tuple(np.flatnonzero(survey.net_deg < got.target_deg - NEAR_DEG).tolist())


def best(survey: Survey) -> Best:
    """The best plate setting within its supports, and the best new cap, neither driving a rib past flat.

    The plate is a rigid body (height and two tilts); the setting sought brings the notes that are short nearest to
    their targets, by the mean of the squares of what is missing; what is too much counts `OVER` of that. Ribs are held
    by their crown as it was read, led to the strung board; one that nobody read, by what the others let be guessed of
    it. A rib that is past flat now cannot be helped and is named, not held.

    Raises SolveError where no balance is found.
    """
    from scipy.optimize import minimize

    ready = _Ready.of(survey)

    def missed(at: Floats) -> float:
        less = bearing(ready.strung(at)).net_deg - ready.target
        return float(np.mean(np.where(less < 0.0, 1.0, OVER) * less**2))

    held = [{"type": "ineq", "fun": lambda at: ready.room(at)}]
    # three supports that do not stand in one line hold height and both tilts by their own travel
    places = survey.board.plate.support_places_mm
    levers = np.column_stack([np.full(len(places), LEVER_MM), places])
    fixed = len(places) >= 3 and np.linalg.matrix_rank(levers) == 3
    bounds = None if fixed else [(-FREE_MM, FREE_MM)] * 3
    starts = [np.zeros(3), *(np.array([down, 0.0, 0.0]) for down in (-0.5, -1.5))]
    how = {"method": "SLSQP", "bounds": bounds, "constraints": held, "options": {"maxiter": 60}}
    tried = [minimize(missed, at, **how) for at in starts]
    good = [each for each in tried if np.all(ready.room(each.x) > -1e-3) and np.isfinite(each.fun)]
    at = min(good, key=lambda each: each.fun).x if good else np.zeros(3)
    advice = _advice(*(bearing(ready.strung(each)).net_deg - ready.target for each in (np.zeros(3), at)))
    if advice is not PlateAdvice.SET:
        at = np.zeros(3)
    line = ready.strung(at)
    share, cap = _recapped(ready)
    front, rear = ready.bare_of(cap)
    return Best(
        up_mm=float(at[0]),
        tilt_x_mm_per_m=float(at[1]),
        tilt_y_mm_per_m=float(at[2]),
        supports=tuple(support.name for support in survey.board.plate.supports),
        move_mm=ready.moves(at),
        net_deg=bearing(line).net_deg,
        target_deg=ready.target,
        crown_left_mm=dict(zip(ready.names, ready.crown_left(line).tolist())),
        binding=ready.binding(at) if advice is PlateAdvice.SET else (),
        advice=advice,
        recap_net_deg=bearing(cap).net_deg,
        recap_share=share,
        recap_mm=(front + rear) / 2.0 - survey.bare.top_mm,
        recap_sure=share if not survey.unread else min(share, _surely(ready)),
        recap_held=() if share == 1.0 else ready.flat_ribs(cap),
        bands=_bands(ready, at, (front, rear)),
    )


def _surely(ready: _Ready) -> float:
    """How far a cap could go on the way to the targets, were the ribs that nobody read as far gone as may be."""
    wide = {rib.rib: rib.set_uncertainty_mm for rib in ready.survey.unread}
    gone = replace(ready, bare_rise=ready.bare_rise - np.array([wide.get(name, 0.0) for name in ready.names]))
    unread = np.array([name in wide for name in ready.names])
    if np.any(gone.crown_left(ready.strung(np.zeros(3)))[unread] <= 0.0):
        return 0.0
    return _recapped(gone)[0]


def _advice(now: Floats, then: Floats) -> PlateAdvice:
    """From the net bearing less its target now and with the best setting."""
    if not np.any(now < -NEAR_DEG):
        return PlateAdvice.LEAVE
    short_now, short_then = (float(np.sqrt(np.mean(np.minimum(each, 0.0) ** 2))) for each in (now, then))
    return PlateAdvice.SET if short_now - short_then > HELPS_DEG else PlateAdvice.NONE_HELPS


def _bands(ready: _Ready, at: Floats, cap_mm: tuple[Floats, Floats]) -> dict[str, Band]:
    """Of the bearing now, with the plate set so, and with a cap of these bare heights."""
    survey, lifts = ready.survey, ready.lifts(at)
    line, state = survey.board.needed_strings("A survey"), survey.board.measured_in

    def answer(sink: PredictedSink) -> dict[str, Floats]:
        bare = sink.bare(line, state)
        ways = {"now": bare, "best": plate_moved(bare, *lifts), "recap": topped(bare, *cap_mm)}
        return {f"net_deg_{way}": bearing(sink.moved(each, State.STRUNG)).net_deg for way, each in ways.items()}

    boards = Boards.of(survey.estimate)
    told, half = answer(boards.sink), boards.half_widths(answer)
    return {name: (told[name] - wide, told[name] + wide) for name, wide in half.items()}


@dataclass(frozen=True, kw_only=True, eq=False)
class _Ready:
    """Everything that the search asks again and again."""

    survey: Survey
    target: Floats
    names: tuple[str, ...]
    bare_rise: Floats
    held: np.ndarray
    ends: Ints
    _last: dict[bytes, StringLine] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, survey: Survey) -> _Ready:
        ends = np.cumsum([0, *(len(thread.points_mm) for thread in survey.threads)])
        surest, last, rises, names = survey.surest, [], [], []
        for k, thread in enumerate(survey.threads):
            rib = surest[thread.rib.name]
            if rib.state is thread.state and rib.date == thread.climate.date and rib.rib not in names:
                last.append(int(ends[k + 1]))
                rises.append(rib.read.rise_mm + rib.sink_mm)
                names.append(rib.rib)
        for k, guessed in enumerate(survey.unread):
            last.append(int(ends[-1]) + 3 * (k + 1))
            rises.append(guessed.as_made_mm - guessed.set_mm)
            names.append(guessed.rib)
        want = wanted(survey.bare, survey.board.targets, survey.sink.pull_N)
        ready = cls(
            survey=survey,
            target=want.net_deg,
            names=tuple(names),
            bare_rise=np.array(rises),
            held=np.ones(len(names), bool),
            ends=np.array(last, dtype=np.int64),
        )
        past = ready.crown_left(ready.strung(np.zeros(3))) <= 0.0
        return replace(ready, held=~past)

    def strung(self, at: Floats) -> StringLine:
        """The string line in balance with the plate moved; the last is kept, which is asked for again."""
        key = at.tobytes()
        if key not in self._last:
            self._last.clear()
            self._last[key] = self.survey.sink.model(plate_moved(self.survey.bare, *self.lifts(at))).settled().line
        return self._last[key]

    def lifts(self, at: Floats) -> tuple[Floats, Floats]:
        """How far the plate rises at each note's front and rear terminations."""
        plan, plate = self.survey.board.needed_plan("The plate"), _plate(at)
        return plate.lift_mm(plan.front_mm), plate.lift_mm(plan.rear_mm)

    def crown_left(self, strung: StringLine) -> Floats:
        """Rise of each rib under these strings."""
        sunk = self.survey.sink.panel_mm(strung, State.STRUNG)
        start, middle, end = (sunk[self.ends - k] for k in (3, 2, 1))
        return np.asarray(self.bare_rise - (middle - (start + end) / 2.0))

    def bare_of(self, strung: StringLine) -> tuple[Floats, Floats]:
        """Heights of the bridge top at front and rear pins once the forces of a strung line are off."""
        force = np.concatenate(pin_forces_N(strung, self.survey.sink.pull_N))
        front, rear = np.split(self.survey.sink.response.place_sink_mm(force), 2)
        return strung.bridge_front_mm + front, strung.bridge_rear_mm + rear

    def flat_ribs(self, strung: StringLine) -> tuple[str, ...]:
        """Held ribs that these strings press flat."""
        left = self.crown_left(strung)
        return tuple(name for name, held, rise in zip(self.names, self.held, left) if held and rise < FLAT_MM)

    def moves(self, at: Floats) -> Floats:
        """Move of each support."""
        return _plate(at).lift_mm(self.survey.board.plate.support_places_mm)

    def room(self, at: Floats) -> Floats:
        """What is left of every limit, mm: crown of the held ribs, and travel of the supports both ways."""
        supports, move = self.survey.board.plate.supports, self.moves(at)
        low = move - np.array([support.lowest_move_mm for support in supports])
        high = np.array([support.highest_move_mm for support in supports]) - move
        return np.concatenate([self.crown_left(self.strung(at))[self.held], low, high])

    def binding(self, at: Floats) -> tuple[str, ...]:
        """Names of the limits that are reached."""
        supports = self.survey.board.plate.supports
        names = [
            *(f"rib {name}" for name, held in zip(self.names, self.held) if held),
            *(f"support {support.name}, lowest" for support in supports),
            *(f"support {support.name}, highest" for support in supports),
        ]
        return tuple(name for name, room in zip(names, self.room(at)) if room < FLAT_MM)


def _plate(at: Floats) -> PlateMove:
    return PlateMove(up_mm=float(at[0]), tilt_x_mm_per_m=float(at[1]), tilt_y_mm_per_m=float(at[2]))


def _recapped(ready: _Ready) -> tuple[float, StringLine]:
    """The strung line with a cap planed to the targets, or as far on the way there as the held ribs allow."""
    survey = ready.survey
    now = ready.strung(np.zeros(3))
    want = wanted(survey.bare, survey.board.targets, survey.sink.pull_N)

    def at(share: float) -> StringLine:
        front = (1.0 - share) * now.bridge_front_mm + share * want.front_mm
        rear = (1.0 - share) * now.bridge_rear_mm + share * want.rear_mm
        return topped(now, front, rear)

    def fits(share: float) -> bool:
        left = ready.crown_left(at(share))[ready.held]
        return bool(np.all(left >= -1e-6))

    low, high = 0.0, 1.0
    if fits(1.0):
        return 1.0, at(1.0)
    for _ in range(30):
        middle = (low + high) / 2.0
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low, at(low)
