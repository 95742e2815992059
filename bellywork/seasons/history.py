"""The air around a board through the years, and the moisture that its wood took from it.

Air is a year that returns (a sine, a table by month) or a measured log; a history follows it from one day to another in
steps that are fine after something was changed and grow to weeks and months.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints, floats, keep
from bellywork.errors import BoardError
from bellywork.seasons.rheology import Shift
from bellywork.seasons.sorption import Sorption

YEAR_DAYS = 365.25
DAMPEST_DAY = 212.0  # since the first of January, on the northern half of the earth: 1 August, common practice
FIRST_DAYS = 1.0 / 24.0
GROWTH = 0.5  # a step is at most this share of the time since the last change
LONGEST_DAYS = 36.0  # with BENT_PERCENT it follows a year's stress to 1 %: tests/seasons/test_rheology_invariants.py
BENT_PERCENT = 0.1  # a step ends where moisture has gone so far from the straight line over the step
TURN_PERCENT = 0.1  # moisture has turned where it came back by more than this
DRIEST_RH_PERCENT = 1.0  # no air that people breathe is drier: such a number is a share that was meant in %
WETTEST_PERCENT = 20.0  # beyond it no creep was measured that these laws hold for


@dataclass(frozen=True, kw_only=True, eq=False)
class Air:
    """Relative humidity in % at days, ascending, a straight line between them; `returns`: the same every year."""

    name: str
    days: Floats
    rh_percent: Floats
    returns: bool

    def __post_init__(self) -> None:
        days = floats(self.days, (-1,), "days")
        keep(self, days=days, rh_percent=floats(self.rh_percent, days.shape, "rh_percent"))
        if not (np.all(np.diff(days) > 0.0) and np.all((self.rh_percent >= 0.0) & (self.rh_percent <= 100.0))):
            raise BoardError("Air needs days in order and relative humidities from 0 to 100 %.")

    def at(self, days: Floats) -> Floats:
        """Relative humidity in % at days, since the first of January or since the log began."""
        if self.returns:
            return np.interp(days, self.days, self.rh_percent, period=YEAR_DAYS)
        if days.min() < self.days[0] or days.max() > self.days[-1]:
            raise BoardError(
                f"{self.name} tells of {self.days[-1] - self.days[0]:.0f} days; the history asks for those from day "
                f"{days.min():.0f} to {days.max():.0f}."
            )
        return np.interp(days, self.days, self.rh_percent)

    def since(self, day: float) -> Callable[[Floats], Floats]:
        """Relative humidity in % at days since one of its days."""
        return lambda days: self.at(day + days)


def sine_air(*, low_percent: float, high_percent: float, dampest_day: float = DAMPEST_DAY) -> Air:
    """A year between two humidities in %, dampest on a day of the year."""
    days = np.arange(0.0, 365.0)
    middle, half = (high_percent + low_percent) / 2.0, (high_percent - low_percent) / 2.0
    rh = middle + half * np.cos(2.0 * np.pi * (days - dampest_day) / YEAR_DAYS)
    return Air(name=_sine_named(low_percent, high_percent, dampest_day), days=days, rh_percent=rh, returns=True)


def _sine_named(low: float, high: float, dampest_day: float) -> str:
    day = datetime.date(2001, 1, 1) + datetime.timedelta(days=round(dampest_day))
    return f"{low:g} to {high:g} % RH, as a sine dampest on {day.day} {day:%B}"


def monthly_air(rh_percent: Sequence[float]) -> Air:
    """A year by the mean humidity of its twelve months, in %, each at its middle.

    Raises BoardError where there are not twelve, or one is outside 0 to 100 %.
    """
    if len(rh_percent) != 12:
        raise BoardError(f"A year has twelve months; {len(rh_percent)} humidities were given.")
    days = np.linspace(0.0, YEAR_DAYS, 12, endpoint=False) + YEAR_DAYS / 24.0
    name = f"{min(rh_percent):g} to {max(rh_percent):g} % RH by month"
    return Air(name=name, days=days, rh_percent=np.asarray(rh_percent, dtype=float), returns=True)


def still_air(rh_percent: float) -> Air:
    """Air that never changes."""
    return Air(
        name=f"{rh_percent:g} % RH all year", days=np.array([0.0]), rh_percent=np.array([rh_percent]), returns=True
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class History:
    """What the air did to the wood. Days count from the beginning of the history.

    day, rh_percent, moisture_percent   of the air and of the wood, finely
    stops                               places among them at which the board's steps begin and end; the first is 0
    """

    day: Floats
    rh_percent: Floats
    moisture_percent: Floats
    stops: Ints

    @property
    def stop_day(self) -> Floats:
        """The day of each stop."""
        return self.day[self.stops]

    @property
    def stop_moisture_percent(self) -> Floats:
        """Moisture of the wood at each stop, %."""
        return self.moisture_percent[self.stops]

    @property
    def travelled(self) -> Floats:
        """Moisture travelled within each step, up and down together, as a fraction: (stops − 1,)."""
        moved = np.abs(np.diff(self.moisture_percent, prepend=self.moisture_percent[0])) / 100.0
        return np.diff(np.cumsum(moved)[self.stops])

    def aged_days(self, shift: Shift) -> Floats:
        """Days within each step, as wood feels them whose time runs faster when damp: (stops − 1,)."""
        speed = shift.speed(self.moisture_percent)
        aged = np.append(0.0, np.cumsum((speed[1:] + speed[:-1]) / 2.0 * np.diff(self.day)))
        return np.diff(aged[self.stops])


def history(
    rh_at: Callable[[Floats], Floats],
    sorption: Sorption,
    *,
    days: float,
    start_percent: float,
    changes: Sequence[float] = (),
    asked: Sequence[float] = (),
    longest_days: float = LONGEST_DAYS,
    finer: float = 1.0,
) -> History:
    """The history of wood from one day on, for so many days.

    rh_at           relative humidity in % of the air at days since the beginning (`Air.at`, `Life.rh_percent`)
    start_percent   moisture of the wood at the beginning, at rest
    changes         days of the history at which something is put on or taken off: steps are fine after each, and there
                    is a stop just there; the beginning is one
    asked           days at which an answer is wanted
    longest_days    longest step; bends of moisture are followed the nearer the shorter it is
    finer           every step so many times shorter

    Raises BoardError where the air tells of fewer days than are asked for, and where wood would come to more than
    WETTEST_PERCENT moisture.
    """
    if not days > 0.0:
        raise BoardError(f"A history needs more than 0 days; got {days:g}.")
    marks = np.unique(np.clip([0.0, *changes, *asked, days], 0.0, days))
    begins = np.unique(np.clip([0.0, *changes], 0.0, days))
    tried = np.unique(np.concatenate([np.arange(0.0, days, 1.0), marks, _grown(begins, days, longest_days, finer)]))
    fine = tried[np.append(True, np.diff(tried) > 1e-9)]
    rh = rh_at(fine)
    moisture = sorption.followed(fine, rh, start_percent)
    if moisture.max() > WETTEST_PERCENT:
        first = int(np.argmax(moisture > WETTEST_PERCENT))
        raise BoardError(
            f"The wood would come to {moisture.max():.1f} % moisture; beyond {WETTEST_PERCENT:g} % nothing is known of "
            f"how it creeps. It passes that {fine[first]:.0f} days after it was glued in, in air of {rh[first]:.0f} % "
            "RH: correct that humidity if it was read wrong."
        )
    turns = fine[_turns(moisture)]
    stops = _grown(begins, days, longest_days, finer, np.union1d(marks, turns))
    bent = BENT_PERCENT * (longest_days / LONGEST_DAYS / finer) ** 2
    straight = _straight(fine, moisture, _nearest(fine, stops), bent)
    return History(day=fine, rh_percent=rh, moisture_percent=moisture, stops=straight)


def _grown(begins: Floats, days: float, longest: float, finer: float, marks: Floats | None = None) -> Floats:
    """Days of stops: steps that grow from each beginning on, and end at every mark."""
    ends = np.unique(np.append(begins if marks is None else np.union1d(begins, marks), days))
    out, last, day = [0.0], 0.0, 0.0
    for end in ends[ends > 0.0]:
        while day < end:
            step = min(max(FIRST_DAYS, GROWTH * (day - last)), longest) / finer
            left = end - day
            day = end if left <= 1.25 * step else day + step if left >= 2.0 * step else day + left / 2.0
            out.append(float(day))
        if end in begins:
            last = float(end)
    return np.array(out)


def _turns(moisture: Floats) -> Ints:
    """Places at which moisture turned and then came back by more than TURN_PERCENT."""
    out, best, way = [], 0, 0
    for k, here in enumerate(moisture):
        back = here - moisture[best]
        if way == 0 and abs(back) > TURN_PERCENT:
            way, best = (1, k) if back > 0.0 else (-1, k)
        elif way * back > 0.0:
            best = k
        elif way * back < -TURN_PERCENT:
            out.append(best)
            best, way = k, -way
    return np.array(out, dtype=np.int64)


def _straight(day: Floats, moisture: Floats, stops: Ints, bent_percent: float) -> Ints:
    """Places of stops, with more of them wherever moisture goes farther than this from the straight line between two:
    at the farthest, and so on (Ramer 1972; Douglas and Peucker 1973).
    """
    out, left = stops.tolist(), list(zip(stops[:-1].tolist(), stops[1:].tolist()))
    while left:
        a, b = left.pop()
        line = np.interp(day[a : b + 1], day[[a, b]], moisture[[a, b]])
        off = np.abs(moisture[a : b + 1] - line)
        k = a + int(np.argmax(off))
        if off[k - a] > bent_percent:
            out.append(k)
            left += [(a, k), (k, b)]
    return np.unique(out)


def _nearest(fine: Floats, days: Floats) -> Ints:
    """Places of the fine days nearest to others, each once."""
    right = np.clip(np.searchsorted(fine, days), 1, len(fine) - 1)
    return np.unique(np.where(days - fine[right - 1] < fine[right] - days, right - 1, right))
