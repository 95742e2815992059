"""A board under its load on the days that it was read: how far the bridge top and every thread's points had sunk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.balance.sink import PredictedSink, predicted_sink
from bellywork.board.arrays import Floats, Ints
from bellywork.board.state import Climate, State
from bellywork.board.strings import StringLine
from bellywork.estimate.threads import RibThread
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument
from bellywork.seasons.year import ClimateShift, Year

LEAST_RH_PERCENT = 0.5  # a smaller difference of humidity is none

Day = tuple[State, float | None, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Sunk:
    """Sink from the bare state, mm: of the bridge top midway between the pins (notes,); what it cost in net bearing, as
    the sink that costs as much (notes,); of points of the panel.
    """

    top_mm: Floats
    turned_mm: Floats
    panel_mm: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class LoadedBoard:
    """A board's mechanics at the pins and along every thread, once.

    points_mm   of all threads, one behind the other: each has its readings, then start, middle and end of its span;
                further points behind them
    sink        at the pins and these points

    A day is a state, a humidity in %, None: that of the description, and what the wood has settled under its load, as a
    share of the elastic sink: the board is then softer by as much, and the strings lose force to it. A `change` is what
    is added to the elastic sink for unit forces, mm/N, (places, pins): at the pins, then at start, middle and end of
    each thread's span (`places`).
    """

    ready: Instrument
    threads: tuple[RibThread, ...]
    points_mm: Floats
    sink: PredictedSink

    @classmethod
    def of(cls, ready: Instrument, threads: tuple[RibThread, ...], further_mm: Floats | None = None) -> LoadedBoard:
        """The mechanics of a board for these threads, and at further points (points, 2).

        Raises MissingLayer where layers are lacking.
        """
        further = np.zeros((0, 2)) if further_mm is None else further_mm
        points = np.concatenate([*(thread.points_mm for thread in threads), further])
        points = ready.board.needed_body("A survey").outline.onto(points)
        return cls(ready=ready, threads=threads, points_mm=points, sink=predicted_sink(ready, panel_mm=points))

    @cached_property
    def year(self) -> Year | None:
        """The board at other humidities; None where its making is not told."""
        return None if self.ready.board.making is None else Year.of(self.ready)

    @property
    def ends(self) -> Ints:
        """Start, middle and end of each thread's span among the points, (threads, 3)."""
        stop = np.cumsum([len(thread.points_mm) for thread in self.threads], dtype=np.int64)
        return np.asarray(stop[:, None] - [3, 2, 1])

    @property
    def places(self) -> Ints:
        """Rows of the response at which a change is told."""
        pins = self.sink.response.places
        return np.concatenate([np.arange(pins), pins + self.ends.ravel()])

    def on(self, days: Iterable[Day], change_mm_N: Floats | None = None, *, settling: float = 1.0) -> dict[Day, Sunk]:
        """The sink on each of these days; with a change, of the panel only at start, middle and end of each span.

        settling   how many times what it is reckoned to the wood has settled
        """
        return {day: self._sunk(day, change_mm_N, settling) for day in set(days)}

    def _sunk(self, day: Day, change_mm_N: Floats | None, settling: float) -> Sunk:
        state, rh_percent, settled = day
        bare, sink = self._bare(rh_percent, change_mm_N, 1.0 + settled * settling)
        now = sink.moved(bare, state)
        before, after = bearing(bare), bearing(now)
        return Sunk(
            top_mm=bare.top_mm - now.top_mm,
            turned_mm=(before.net_deg - after.net_deg) / before.degrees_per_mm,
            panel_mm=sink.panel_mm(now, state),
        )

    def lines(self) -> tuple[StringLine, StringLine]:
        """The string line bare and strung, at the humidity of the description."""
        bare, sink = self._bare(None, None, 1.0)
        return bare, sink.moved(bare, State.STRUNG)

    def _bare(
        self, rh_percent: float | None, change_mm_N: Floats | None, softer: float
    ) -> tuple[StringLine, PredictedSink]:
        """The bare heights at a humidity, and what loads do there.

        Damp air lifts the bridge against a plate that stays: the strings then press harder, and sink the board more.
        """
        shift, board = self._shift(rh_percent), self.ready.board

        def of(sink: PredictedSink) -> PredictedSink:
            changed = sink if change_mm_N is None else sink.at(self.places).changed(change_mm_N)
            return changed if softer == 1.0 else changed.softened(softer)

        bare = of(self.sink).bare(board.needed_strings("A survey"), board.measured_in)
        return (bare, of(self.sink)) if shift is None else (shift.bare(bare), of(shift.sink))

    def _shift(self, rh_percent: float | None) -> ClimateShift | None:
        """What a humidity does to the board; None at that of the description."""
        if self.year is None or rh_percent is None or not self.differs(rh_percent):
            return None
        return self.year.shift(rh_percent, self.points_mm)

    def _risen_mm(self, rh_percent: float | None, points_mm: Floats) -> Floats:
        """How far a humidity lifts points of the bare panel, against that of the description."""
        if self.year is None or rh_percent is None or not self.differs(rh_percent):
            return np.zeros(len(points_mm))
        return self.year.rise_mm(rh_percent, points_mm)

    def differs(self, rh_percent: float) -> bool:
        """Whether a humidity is another than that of the description."""
        return self.year is not None and abs(rh_percent - self.year.reference_rh_percent) >= LEAST_RH_PERCENT

    def days(self, settled: Sequence[float]) -> list[Day]:
        """The day of each thread, with what the wood had settled by then."""
        return [(thread.state, thread.climate.rh_percent, share) for thread, share in zip(self.threads, settled)]

    def sunk_mm(self, settled: Sequence[float], *, settling: float = 1.0) -> list[Floats]:
        """How far each thread's points had sunk in its state: its readings, then start, middle and end of the span."""
        days, first = self.days(settled), 0
        there, out = self.on(days, settling=settling), []
        for day, (*_, last) in zip(days, self.ends.tolist()):
            out.append(there[day].panel_mm[first : last + 1])
            first = last + 1
        return out

    def aired_mm(self) -> list[Floats]:
        """How far the humidity of each thread lifts its points, against that of the description."""
        return [self._risen_mm(each.climate.rh_percent, each.points_mm) for each in self.threads]

    def damp_mm(self) -> Floats:
        """What the humidity of each thread adds to its rise, against that of the description, (threads,)."""
        return np.array([bow_mm(each) for each in self.aired_mm()])

    def lifted_mm(self, climate: Climate, note: int) -> float:
        """What a humidity adds to the bridge's height at a note, by its place in the line, against the description's.

        The wood that stands between panel and top swells too, but the rim under the level does as well: left out.
        """
        place = self.ready.board.needed_plan("A survey").middle_mm[[note]]
        return float(self._risen_mm(climate.rh_percent, place)[0])


def bow_mm(points_mm: Floats) -> float:
    """Of values at points that end with start, middle and end of a span: the middle over the mean of its ends."""
    start, middle, end = points_mm[-3:]
    return float(middle - (start + end) / 2.0)
