"""What could still be got: the plate lowered, or the bridge recapped, the board's further sink followed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats, Ints
from bellywork.board.plate import LEVER_MM, PlateMove
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.geometry.string_line import bearing, pin_forces_N, plate_moved, topped
from bellywork.survey.loss import Survey

FREE_MM = 6.0  # how far a plate without described supports may be moved, and tilted per metre, either way
NEAR_DEG = 0.05  # net this near the target is reached


@dataclass(frozen=True, kw_only=True, eq=False)
class Best(PlateMove):
    """The best that a plate setting and that a new cap can give; arrays have one entry per note, strung.

    supports, move_mm                         move at each support
    net_deg, target_deg                       net bearing then, and what is wanted
    crown_left_mm                             of each rib that was read, then; ribs that are past flat now are not held
    binding                                   ribs and supports that hold the plate where it is
    stayed                                    True where no setting within the limits was found and the plate stays
    recap_net_deg                             net bearing with a new cap planed to the targets, or as near as no rib is
                                              driven past flat
    recap_share                               share of the way from now to the targets that the ribs allow
    recap_mm                                  height that the cap must gain, midway between the pins, negative: lose
    """

    supports: tuple[str, ...]
    move_mm: Floats
    net_deg: Floats
    target_deg: Floats
    crown_left_mm: dict[str, float]
    binding: tuple[str, ...]
    stayed: bool
    recap_net_deg: Floats
    recap_share: float
    recap_mm: Floats

    @property
    def unreached(self) -> tuple[int, ...]:
        """Places of the notes that the plate alone brings no nearer than NEAR_DEG to their target from below."""
        return tuple(np.flatnonzero(self.net_deg < self.target_deg - NEAR_DEG).tolist())


def short_now(survey: Survey, got: Best) -> tuple[int, ...]:
    """Places of the notes that are below their target as the plate stands, by more than NEAR_DEG."""
    return tuple(np.flatnonzero(survey.net_deg < got.target_deg - NEAR_DEG).tolist())


def best(survey: Survey) -> Best:
    """The best plate setting within its supports, and the best new cap, neither driving a rib past flat.

    The plate is a rigid body (height and two tilts); the setting sought misses the targets least, counted from below
    twice as much as from above. Ribs are held by their crown as it was read, led to the strung board; a rib that is
    past flat now cannot be helped and is named, not held. Ribs that were not read are taken as the model expects them.

    Raises SolveError where no balance is found.
    """
    from scipy.optimize import minimize

    ready = _Ready.of(survey)

    def missed(at: Floats) -> float:
        less = bearing(ready.strung(at)).net_deg - ready.target
        return float(np.mean(np.where(less < 0.0, 2.0, 1.0) * less**2))

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
    line = ready.strung(at)
    share, cap = _recapped(ready)
    return Best(
        up_mm=float(at[0]),
        tilt_x_mm_per_m=float(at[1]),
        tilt_y_mm_per_m=float(at[2]),
        supports=tuple(support.name for support in survey.board.plate.supports),
        move_mm=ready.moves(at),
        net_deg=bearing(line).net_deg,
        target_deg=ready.target,
        crown_left_mm=dict(zip(ready.names, ready.crown_left(line).tolist())),
        binding=ready.binding(at),
        stayed=not good,
        recap_net_deg=bearing(cap).net_deg,
        recap_share=share,
        recap_mm=cap.top_mm + ready.sink_of(cap) - survey.bare.top_mm,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Ready:
    """Everything that the search asks again and again."""

    survey: Survey
    target: Floats
    names: tuple[str, ...]
    bare_rise: Floats
    held: np.ndarray
    ends: Ints

    @classmethod
    def of(cls, survey: Survey) -> _Ready:
        ends = np.cumsum([0, *(len(thread.points_mm) for thread in survey.threads)])
        surest, last, rises, names = survey.surest, [], [], []
        for k, thread in enumerate(survey.threads):
            rib = surest[thread.rib.name]
            if rib.state is thread.state and rib.date == thread.climate.date and rib.rib not in names:
                last.append(int(ends[k + 1]))
                rises.append(rib.fit.rise_mm + rib.sink_mm)
                names.append(rib.rib)
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
        """The string line in balance with the plate moved."""
        plan, plate = self.survey.board.needed_plan("The plate"), _plate(at)
        moved = plate_moved(self.survey.bare, plate.lift_mm(plan.front_mm), plate.lift_mm(plan.rear_mm))
        return self.survey.sink.model(moved).settled().line

    def crown_left(self, strung: StringLine) -> Floats:
        """Rise of each rib under these strings."""
        sunk = self.survey.sink.panel_mm(strung, State.STRUNG)
        start, middle, end = (sunk[self.ends - k] for k in (3, 2, 1))
        return np.asarray(self.bare_rise - (middle - (start + end) / 2.0))

    def sink_of(self, strung: StringLine) -> Floats:
        """Sink of the bridge top midway between the pins under the forces of a strung line."""
        sunk = self.survey.sink.response.place_sink_mm(np.concatenate(pin_forces_N(strung, self.survey.sink.pull_N)))
        n = len(sunk) // 2
        return np.asarray((sunk[:n] + sunk[n:]) / 2.0)

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
        return tuple(name for name, room in zip(names, self.room(at)) if room < 0.02)


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
