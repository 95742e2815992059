"""The mechanics behind a survey: how far every thread's points have sunk, and each rib freed of its load."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import PredictedSink, predicted_sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.errors import MissingLayer
from bellywork.geometry.string_line import pin_forces_N, sunk
from bellywork.seasons.year import Year
from bellywork.survey.rib_fit import RibFit
from bellywork.survey.threads import RibThread

LEAST_RH_PERCENT = 0.5  # a smaller difference of humidity is none


@dataclass(frozen=True, kw_only=True, eq=False)
class LoadedBoard:
    """The board's mechanics, once: sink at the points of every thread for forces at the pins."""

    board: Board
    threads: tuple[RibThread, ...]
    sink: PredictedSink
    year: Year | None

    @classmethod
    def of(cls, board: Board, threads: tuple[RibThread, ...]) -> LoadedBoard:
        """The mechanics of a board for these threads, once; raises MissingLayer where layers are lacking."""
        points = np.concatenate([thread.points_mm for thread in threads])
        points = board.needed_body("A survey").outline.onto(points)
        year = None if board.making is None else Year.of(board, board.climate.temperature_C)
        return cls(board=board, threads=threads, sink=predicted_sink(board, panel_mm=points), year=year)

    def sink_by(self, factor: float) -> PredictedSink:
        """The sink of a board so many times as soft."""
        preload = None if self.sink.preload_mm is None else factor * self.sink.preload_mm
        return replace(self.sink, compliance_mm_N=factor * self.sink.compliance_mm_N, preload_mm=preload)

    def lines(self, factor: float, rh_percent: float | None = None) -> tuple[StringLine, StringLine]:
        """The string line bare and strung, at the humidity of the description or at another.

        Damp air lifts the bridge against a plate that stays: the strings then press harder, and sink the board more.
        """
        line, sink = self.board.needed_strings("A survey"), self.sink_by(factor)
        bare = sink.bare(line, self.board.measured_in)
        if self.year is not None and rh_percent is not None and self.differs(rh_percent):
            shift = self.year.shift(rh_percent)
            bare = sunk(bare, -shift.front_mm, -shift.rear_mm)
            return bare, sink.moved(bare, State.STRUNG)
        return bare, line if self.board.measured_in is State.STRUNG else sink.moved(bare, State.STRUNG)

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
        panel = self.sink.panel
        assert panel is not None
        if state is State.BARE:
            return np.zeros(len(panel.mm_N))
        if state is State.STRUNG:
            strung = self.lines(factor, rh_percent)[1]
            return factor * (panel.mm_N @ np.concatenate(pin_forces_N(strung, self.sink.pull_N)))
        if panel.preload_mm is None:
            raise MissingLayer("Readings of the preloaded board need what presses on it, in preload.csv.")
        return factor * panel.preload_mm


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
