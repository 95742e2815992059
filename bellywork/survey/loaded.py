"""The mechanics behind a survey: how far every thread's points have sunk, and each rib freed of its load."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import PredictedSink, predicted_sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.instrument import Instrument
from bellywork.seasons.year import ClimateShift, Year
from bellywork.survey.rib_fit import RibFit
from bellywork.survey.threads import RibThread

LEAST_RH_PERCENT = 0.5  # a smaller difference of humidity is none


@dataclass(frozen=True, kw_only=True, eq=False)
class LoadedBoard:
    """The board's mechanics, once: sink at the points of every thread for forces at the pins."""

    board: Board
    threads: tuple[RibThread, ...]
    points_mm: Floats
    sink: PredictedSink
    year: Year | None

    @classmethod
    def of(cls, ready: Instrument, threads: tuple[RibThread, ...]) -> LoadedBoard:
        """The mechanics of a board for these threads, once; raises MissingLayer where layers are lacking."""
        points = np.concatenate([thread.points_mm for thread in threads])
        points = ready.board.needed_body("A survey").outline.onto(points)
        year = None if ready.board.making is None else Year.of(ready)
        return cls(
            board=ready.board, threads=threads, points_mm=points, sink=predicted_sink(ready, panel_mm=points), year=year
        )

    def sink_by(self, factor: float) -> PredictedSink:
        """The sink of a board so many times as soft."""
        return _softened(self.sink, factor)

    def lines(self, factor: float, rh_percent: float | None = None) -> tuple[StringLine, StringLine]:
        """The string line bare and strung, at the humidity of the description or at another.

        Damp air lifts the bridge against a plate that stays: the strings then press harder, and sink the board more.
        """
        line = self.board.needed_strings("A survey")
        bare = self.sink_by(factor).bare(line, self.board.measured_in)
        shift, sink = self._there(factor, rh_percent)
        if shift is None and self.board.measured_in is State.STRUNG:
            return bare, line
        bare = bare if shift is None else shift.bare(bare)
        return bare, sink.moved(bare, State.STRUNG)

    def _there(self, factor: float, rh_percent: float | None) -> tuple[ClimateShift | None, PredictedSink]:
        """What a humidity does to the board so soft; no shift at that of the description."""
        if self.year is None or rh_percent is None or not self.differs(rh_percent):
            return None, self.sink_by(factor)
        shift = self.year.shift(rh_percent, self.points_mm)
        return shift, _softened(shift.sink, factor)

    def differs(self, rh_percent: float) -> bool:
        """Whether a humidity is another than that of the description."""
        return self.year is not None and abs(rh_percent - self.year.reference_rh_percent) >= LEAST_RH_PERCENT

    def sunk_mm(self, factor: float) -> list[Floats]:
        """How far each thread's points had sunk in its state: its readings, then start, middle and end of the span."""
        days = [(thread.state, thread.climate.rh_percent) for thread in self.threads]
        on_day = {day: self._panel_mm(*day, factor) for day in set(days)}
        ends = np.cumsum([0, *(len(thread.points_mm) for thread in self.threads)])
        return [on_day[day][ends[k] : ends[k + 1]] for k, day in enumerate(days)]

    def _panel_mm(self, state: State, rh_percent: float | None, factor: float) -> Floats:
        return self._there(factor, rh_percent)[1].panel_mm(self.lines(factor, rh_percent)[1], state)


def _softened(sink: PredictedSink, factor: float) -> PredictedSink:
    before = sink.preload
    preload = None if before is None else lambda: factor * before()
    return replace(sink, response=sink.response.softened(factor), preload=preload)


@dataclass(frozen=True, kw_only=True, eq=False)
class Freed:
    """A thread's shape freed of its load: `fit` is of what was read and what it had sunk, `loss_mm` of the middle."""

    fit: RibFit
    loss_mm: float


def freed(model: LoadedBoard, factor: float) -> list[Freed]:
    """The threads freed of their load, which bends ribs otherwise than in an arc."""
    out = []
    for thread, gone in zip(model.threads, model.sunk_mm(factor)):
        start, middle, end = gone[-3:]
        share = thread.position_mm / thread.span_mm
        out.append(
            Freed(
                fit=thread.fitted(gone[:-3] - start - share * (end - start)),
                loss_mm=float(middle - (start + end) / 2.0),
            )
        )
    return out
