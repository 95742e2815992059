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
from bellywork.geometry.string_line import pin_forces_N
from bellywork.seasons.year import Year
from bellywork.survey.rib_fit import RibFit
from bellywork.survey.threads import RibThread


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

    def lines(self, factor: float) -> tuple[StringLine, StringLine]:
        """The string line bare and strung."""
        line, sink = self.board.needed_strings("A survey"), self.sink_by(factor)
        bare = sink.bare(line, self.board.measured_in)
        return bare, line if self.board.measured_in is State.STRUNG else sink.moved(bare, State.STRUNG)

    def sunk_mm(self, factor: float) -> list[Floats]:
        """How far each thread's points had sunk in its state: its readings, then start, middle and end of the span."""
        by_state = {state: self._panel_mm(state, factor) for state in {thread.state for thread in self.threads}}
        ends = np.cumsum([0, *(len(thread.points_mm) for thread in self.threads)])
        return [by_state[each.state][ends[k] : ends[k + 1]] for k, each in enumerate(self.threads)]

    def _panel_mm(self, state: State, factor: float) -> Floats:
        panel = self.sink.panel
        assert panel is not None
        if state is State.BARE:
            return np.zeros(len(panel.mm_N))
        if state is State.STRUNG:
            return factor * (panel.mm_N @ np.concatenate(pin_forces_N(self.lines(factor)[1], self.sink.pull_N)))
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
    for thread, sunk in zip(model.threads, model.sunk_mm(factor)):
        start, middle, end = sunk[-3:]
        share = thread.position_mm / thread.span_mm
        out.append(
            Freed(
                fit=thread.fitted(sunk[:-3] - start - share * (end - start)),
                loss_mm=float(middle - (start + end) / 2.0),
            )
        )
    return out
