"""What comes back when the load is taken off: ribs and bridge read under it and bare.

The board as it stands, its set and its crown drop out of the difference of two readings of one place. What is left is
the the load's sink u, which the wood makes larger while it rests, and what the air did between the two days:

    read = u(s (1 + a)) + d (1 + w)

s is what ribs settle, or recover, in so many days by published creep, over the elastic sink: in balance with its
strings the board is softer by as much. d is what the humidities are reckoned to do. a and w are unknowns of their own,
so that neither days nor weather are taken for softness.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.state import Climate, Reading, State
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import Day, LoadedBoard, bow_mm
from bellywork.estimate.places import FINE_OVER_COARSE, Places
from bellywork.estimate.rib_fit import rib_fit
from bellywork.estimate.sensitivity import Sensitivity
from bellywork.estimate.threads import RibThread
from bellywork.estimate.unknowns import Unknown
from bellywork.instrument import Instrument
from bellywork.seasons.spruce import settled_share

USUAL_HEIGHT_MM = 0.2  # 95 % half width of a height read by a depth gauge (common practice)
USUAL_DAYS = (
    7.0  # between two readings whose dates do not tell (common practice: a piano is let down and read in a week)
)
SAME_SPAN_MM, SAME_PLACE_MM, FEWEST = 20.0, 5.0, 4  # of two threads; of two readings; how many of them make a shape
NONE = np.zeros(0)
STEP = 0.3  # of an unknown's own scatter
# One standard deviation of what another air adds to a sink, as a share of that: how far it lifts the bridge is left as
# on the board described, and softer ribs are lifted further (tests/estimate/test_spring_back.py)
AIRED_SHARE = 0.1


@dataclass(frozen=True, kw_only=True, eq=False)
class Pair:
    """One place read under a load and bare.

    name                    of the place
    read_mm, scatter_mm     how far it rose when the load was taken off, and one standard deviation of that
    damp_mm                 what the humidities of the two days are reckoned to have added to that
    day                     state and humidity under the load, and what the wood is reckoned to settle in between
    threads                 bare and loaded, by their places among the threads; None: a bridge height was read
    gain                    change of read_mm for 1 mm more of each reading of the bare thread, and of the loaded one
    note                    place in the string line of the note at which a bridge height was read
    """

    name: str
    read_mm: float
    scatter_mm: float
    damp_mm: float
    day: Day
    threads: tuple[int, int] | None = None
    gain: tuple[Floats, Floats] = (NONE, NONE)
    note: int = 0


@dataclass(frozen=True, kw_only=True, eq=False)
class SpringBack:
    """All places read under a load and bare.

    pairs      they
    model      the board as described
    ratio      fine over coarse cells, (places, pins): pins, then start, middle and end of each thread's span
    rows       where these places stand among the points of the estimate
    sigma      one standard deviation of each unknown before anything was read
    days, weather   which unknowns are a and w
    """

    pairs: tuple[Pair, ...]
    model: LoadedBoard
    ratio: Floats
    rows: Ints
    sigma: Floats
    days: int
    weather: int

    @classmethod
    def of(
        cls,
        pairs: tuple[Pair, ...],
        model: LoadedBoard,
        places: Places,
        unknowns: tuple[Unknown, ...],
        slopes: Sensitivity,
    ) -> SpringBack:
        """Pairs on a board whose compliance is known at places, with its slopes there."""
        rows = np.concatenate([np.arange(places.pins), places.rows(model.points_mm[model.ends.ravel()])])
        fine = model.sink.response.small_mm_N[model.places]
        coarse = slopes.compliance_mm_N[np.ix_(rows, rows[: places.pins])]
        keys = [unknown.key for unknown in unknowns]
        return cls(
            pairs=pairs,
            model=model,
            ratio=np.clip(fine / coarse, *FINE_OVER_COARSE),
            rows=rows,
            sigma=np.array([unknown.sigma for unknown in unknowns]),
            days=keys.index("days"),
            weather=keys.index("weather"),
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Where each came back."""
        return tuple(each.name for each in self.pairs)

    @property
    def read_mm(self) -> Floats:
        """How far each rose when the load was taken off."""
        return np.array([each.read_mm for each in self.pairs])

    @property
    def scatter_mm(self) -> Floats:
        """One standard deviation of that."""
        return np.array([each.scatter_mm for each in self.pairs])

    @property
    def damp_mm(self) -> Floats:
        """What the humidities are reckoned to have added."""
        return np.array([each.damp_mm for each in self.pairs])

    @property
    def depends_on(self) -> tuple[object, ...]:
        """What a kept estimate hangs on."""
        days = [(each.day[0].value, *each.day[1:], each.threads, each.note) for each in self.pairs]
        return (self.read_mm, self.scatter_mm, self.damp_mm, days, self.rows)

    def aired_mm(self, values: Floats) -> Floats:
        """What the humidities added, (readings,)."""
        return np.asarray(self.damp_mm * (1.0 + values[self.weather]))

    def predicted_mm(self, moved_mm_N: Floats, values: Floats) -> Floats:
        """What would have come back with the points' compliance so much other than described."""
        return self._sink_mm(moved_mm_N, float(values[self.days])) + self.aired_mm(values)

    def slopes_mm(self, moved_mm_N: Floats, slope_mm_N: Floats, values: Floats) -> Floats:
        """Change of that for each unit of an unknown, (readings, unknowns); slopes are (unknowns, points, points)."""
        settling = float(values[self.days])
        here, steps = self._sink_mm(moved_mm_N, settling), STEP * self.sigma
        out = np.zeros((len(self.pairs), len(slope_mm_N)))
        for k, slope in enumerate(slope_mm_N):
            if slope.any():
                out[:, k] = (self._sink_mm(moved_mm_N + steps[k] * slope, settling) - here) / steps[k]
        step = steps[self.days]
        out[:, self.days] = (self._sink_mm(moved_mm_N, settling + step) - here) / step
        out[:, self.weather] = self.damp_mm
        return out

    def _sink_mm(self, moved_mm_N: Floats, settling: float) -> Floats:
        """The load's sink of each place, (readings,); `settling` is a."""
        change = self.ratio * moved_mm_N[np.ix_(self.rows, self.rows[: self.pins])]
        sunk = self.model.on([each.day for each in self.pairs], change, settling=1.0 + settling)
        ends = np.arange(3 * len(self.model.threads)).reshape(-1, 3)  # with a change the panel is told there alone
        return np.array(
            [
                sunk[each.day].top_mm[each.note]
                if each.threads is None
                else bow_mm(sunk[each.day].panel_mm[ends[each.threads[1]]])
                for each in self.pairs
            ]
        )

    @property
    def pins(self) -> int:
        """How many of the places are pins."""
        return int(self.ratio.shape[1])


def spring_back_of(
    ready: Instrument,
    threads: tuple[RibThread, ...],
    places: Places,
    unknowns: tuple[Unknown, ...],
    slopes: Sensitivity,
) -> SpringBack | None:
    """What came back of an instrument's board whose strings are described; None where no place was read under a load
    and bare.

    Raises SolveError where no balance is found.
    """
    model = LoadedBoard.of(ready, threads)
    pairs = (*_at_ribs(model), *_at_bridge(model))
    return SpringBack.of(pairs, model, places, unknowns, slopes) if pairs else None


def _at_ribs(model: LoadedBoard) -> list[Pair]:
    """Threads of one rib and span, bare and under a load."""
    threads, settled = model.threads, settled_by(model)
    found = [
        (a, b)
        for a, bare in enumerate(threads)
        for b, loaded in enumerate(threads)
        if _alike(bare, loaded) and bare.state is State.BARE and loaded.state is not State.BARE
    ]
    days, sunk, damp = model.days(settled), model.sunk_mm(settled), model.damp_mm()
    still = model.on([_at_home(day) for day in days])
    # the load bends a rib otherwise than in an arc: the shape is fitted to what was read and what it had sunk together
    free = [thread.height_mm + freed_by(thread, gone) for thread, gone in zip(threads, sunk)]
    # the error of a thread that stands in several pairs counts in each as often
    often = [sum(k in each for each in found) for k in range(len(threads))]
    out = []
    for a, b in found:
        rise, wide, gain = _rose(threads[a], threads[b], free[a], free[b], (often[a], often[b]))
        aired = bow_mm(sunk[b]) - bow_mm(still[_at_home(days[b])].panel_mm[model.ends[b]])
        out.append(
            Pair(
                name=f"rib {threads[a].rib.name}",
                read_mm=rise + bow_mm(sunk[b]),
                scatter_mm=_scatter_mm(wide, aired),
                damp_mm=float(damp[a] - damp[b]),
                day=days[b],
                threads=(a, b),
                gain=gain,
            )
        )
    return out


def _rose(
    bare: RibThread, loaded: RibThread, bare_mm: Floats, loaded_mm: Floats, often: tuple[int, int]
) -> tuple[float, float, tuple[Floats, Floats]]:
    """By how much a rib's middle stands higher in one thread than in the other, its 95 % half width, and its change for
    each reading of the two; `often` is how many times each thread's variance counts.

    Where both were read at the same places their difference is fitted: whatever shape the rib is in drops out, and what
    was misread once shows.
    """
    apart = np.abs(bare.position_mm[:, None] - loaded.position_mm)
    one, other = np.arange(len(apart)), np.argmin(apart, axis=1)
    same = apart[one, other] < SAME_PLACE_MM
    one, other = one[same], other[same]
    gains = np.zeros(len(bare_mm)), np.zeros(len(loaded_mm))
    if len(one) >= FEWEST and len(set(other.tolist())) == len(other):
        scatter = bare.uncertainty_mm[one] * often[0] ** 0.5, loaded.uncertainty_mm[other] * often[1] ** 0.5
        wide = np.hypot(*scatter)
        fit = rib_fit(bare.position_mm[one], bare_mm[one] - loaded_mm[other], span_mm=bare.span_mm, uncertainty_mm=wide)
        gains[0][one], gains[1][other] = fit.gain, -fit.gain
        return fit.rise_mm, fit.rise_uncertainty_mm, gains
    fits = [
        rib_fit(thread.position_mm, height, span_mm=thread.span_mm, uncertainty_mm=thread.uncertainty_mm * many**0.5)
        for thread, height, many in zip((bare, loaded), (bare_mm, loaded_mm), often)
    ]
    wide_mm = float(np.hypot(fits[0].rise_uncertainty_mm, fits[1].rise_uncertainty_mm))
    return fits[0].rise_mm - fits[1].rise_mm, wide_mm, (fits[0].gain, -fits[1].gain)


def settled_by(model: LoadedBoard) -> list[float]:
    """What the wood is reckoned to have settled under each thread that was read under a load, over the elastic sink:
    until that rib was read bare; one that never was, `USUAL_DAYS`. Nothing under the bare ones.
    """
    out = []
    for loaded in model.threads:
        if loaded.state is State.BARE:
            out.append(0.0)
            continue
        bare = [each for each in model.threads if each.state is State.BARE and _alike(each, loaded)]
        days = min((_days(model, loaded.climate, each.climate) for each in bare), default=USUAL_DAYS)
        out.append(settled_share(days))
    return out


def _alike(one: RibThread, other: RibThread) -> bool:
    """Whether two threads were of one rib and span."""
    return one.rib.name == other.rib.name and abs(one.span_mm - other.span_mm) < SAME_SPAN_MM


def freed_by(thread: RibThread, sunk_mm: Floats) -> Floats:
    """What a thread's readings lack for the sink of its points, (readings,): its ends go down with the panel."""
    start, _, end = sunk_mm[-3:]
    share = thread.position_mm / thread.span_mm
    return np.asarray(sunk_mm[:-3] - start - share * (end - start))


def _at_bridge(model: LoadedBoard) -> list[Pair]:
    """Notes whose bridge height over the rim was read bare and under a load."""
    board = model.ready.board
    line = board.needed_strings("A survey")
    read = [
        (each, k)
        for each in board.readings
        if each.kind == "bridge_height" and each.note is not None and board.knows(each.state)
        if (k := line.place_of(each.note)) is not None
    ]
    found = [
        (bare, loaded, k)
        for bare, k in read
        for loaded, m in read
        if k == m and bare.state is State.BARE and loaded.state is not State.BARE
    ]

    def wide_mm(reading: Reading) -> float:
        often = sum(reading is each for bare, loaded, _ in found for each in (bare, loaded))
        return (reading.uncertainty or USUAL_HEIGHT_MM) * float(often**0.5)

    out = []
    for bare, loaded, k in found:
        day = (loaded.state, loaded.climate.rh_percent, settled_share(_days(model, loaded.climate, bare.climate)))
        sunk = model.on((day, _at_home(day)))
        wide = float(np.hypot(wide_mm(bare), wide_mm(loaded)))
        out.append(
            Pair(
                name=f"bridge at note {bare.note}",
                read_mm=bare.value - loaded.value,
                scatter_mm=_scatter_mm(wide, sunk[day].top_mm[k] - sunk[_at_home(day)].top_mm[k]),
                damp_mm=model.lifted_mm(bare.climate, k) - model.lifted_mm(loaded.climate, k),
                day=day,
                note=k,
            )
        )
    return out


def _at_home(day: Day) -> Day:
    """The same day in the air of the description."""
    return (day[0], None, day[2])


def _scatter_mm(wide_mm: float, aired_mm: float) -> float:
    """One standard deviation of a reading of this 95 % half width, under a load to which another air added so much."""
    return float(np.hypot(wide_mm / SIGMAS, AIRED_SHARE * aired_mm))


def _days(model: LoadedBoard, loaded: Climate, bare: Climate) -> float:
    every = model.ready.board.readings
    return days_between(
        loaded,
        bare,
        loaded_days=[each.climate for each in every if each.state is not State.BARE],
        bare_days=[each.climate for each in every if each.state is State.BARE],
    )


def days_between(
    loaded: Climate, bare: Climate, *, loaded_days: Sequence[Climate], bare_days: Sequence[Climate]
) -> float:
    """Days for which the wood settled under its load, or came back without it, by the later of two readings.

    It cannot have begun before the last reading of the other state, of all that were made (`loaded_days`, `bare_days`).
    `USUAL_DAYS` where a date is not noted.
    """
    if not (loaded.date and bare.date):
        return USUAL_DAYS
    under, free = (datetime.date.fromisoformat(each.date) for each in (loaded, bare))
    later, before = (free, loaded_days) if free > under else (under, bare_days)
    known = (datetime.date.fromisoformat(each.date) for each in before if each.date)
    return float(min((later - each).days for each in known if each <= later))
