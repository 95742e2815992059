"""How far the bridge sinks from one state to another: predicted by the mechanics, entered by hand, or left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Protocol

import numpy as np

from bellywork.balance.rim import body_now, rim_words
from bellywork.balance.small_model import SmallModel
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import MeasuredSink, Push, State
from bellywork.board.strings import StringLine
from bellywork.errors import MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import pin_forces_N, sunk


class SinkSource(Enum):
    """Where the sink comes from: the mechanics of the board, the user's sink.csv, or nowhere (a rigid board)."""

    PREDICTED = "predicted"
    MEASURED = "measured"
    NONE = "none"


class Sink(Protocol):
    """The board between its states. Lines keep their plate; only the bridge top moves."""

    @property
    def source(self) -> SinkSource:
        """Where the sink comes from."""

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What it stands on, in sentences."""

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights of a line whose heights are those of `state`; raises MissingLayer where unknown."""

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a bare line takes in `state`; raises MissingLayer where unknown."""


@dataclass(frozen=True, kw_only=True, eq=False)
class EnteredSink:
    """Sink per note from the bare state, mm, down positive, alike at both pin rows; None where a state is unknown."""

    source: SinkSource
    preloaded_mm: Floats | None
    strung_mm: Floats | None
    assumptions: tuple[str, ...]

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights of a line whose heights are those of `state`."""
        sink = self._sink(state)
        return sunk(line, -sink, -sink)

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a bare line takes in `state`."""
        sink = self._sink(state)
        return sunk(bare, sink, sink)

    def _sink(self, state: State) -> Floats:
        if state is State.BARE:
            return np.zeros(1)
        sink = self.preloaded_mm if state is State.PRELOADED else self.strung_mm
        if sink is None:
            raise MissingLayer(f"The sink in the {state.value} state is not known: fill {state.value}_mm in sink.csv.")
        return sink


@dataclass(frozen=True, kw_only=True, eq=False)
class PanelSink:
    """Sink at points of the panel, down positive.

    mm_N         for 1 N at every pin row, shape (points, 2N), front pins first
    preload_mm   under what presses on the preloaded board (points,); None: no such pushes are described
    """

    mm_N: Floats
    preload_mm: Floats | None


@dataclass(frozen=True, kw_only=True, eq=False)
class PredictedSink:
    """Sink by the mechanics of the board, with the strings' forces in exact balance.

    pull_N            tension of all the strings of each note together, in N
    compliance_mm_N   shape (2N, 2N), front pins first, as in `SmallModel`
    preload_mm        sink at the pins, in the same order, under what presses on the preloaded board; None: nothing does
    panel             the sink of the panel, where it was asked for
    """

    pull_N: Floats
    compliance_mm_N: Floats
    preload_mm: Floats | None
    assumptions: tuple[str, ...]
    panel: PanelSink | None = None
    source: SinkSource = SinkSource.PREDICTED

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights of a line whose heights are those of `state`: its own forces tell how far it has sunk."""
        if state is State.STRUNG:
            return self._sunk(line, -self.compliance_mm_N @ np.concatenate(pin_forces_N(line, self.pull_N)))
        return line if state is State.BARE else self._sunk(line, -self._preload())

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a bare line takes in `state`; raises SolveError where no balance is found."""
        if state is State.STRUNG:
            return self.model(bare).settled().line
        return bare if state is State.BARE else self._sunk(bare, self._preload())

    def model(self, bare: StringLine) -> SmallModel:
        """The small model of this board with the bridge at these bare heights."""
        return SmallModel(bare=bare, pull_N=self.pull_N, compliance_mm_N=self.compliance_mm_N)

    def _preload(self) -> Floats:
        if self.preload_mm is None:
            raise MissingLayer("The preloaded state needs what presses on the board, in preload.csv.")
        return self.preload_mm

    def _sunk(self, line: StringLine, sink: Floats) -> StringLine:
        n = len(line.note)
        return sunk(line, sink[:n], sink[n:])


def sink_of(board: Board, source: Sink | SinkSource | None = None) -> Sink:
    """The sink of a board whose notes are complete (see `geometry.completed`); a sink given comes back as it is.

    Without a `source`: predicted where the body, plan and scale are described, else measured where sink.csv holds
    anything, else none. Raises MissingLayer where the source asked for lacks its layers.
    """
    if source is None:
        described = board.body is not None and board.plan is not None and board.scale is not None
        source = SinkSource.PREDICTED if described else SinkSource.MEASURED if board.sinks else SinkSource.NONE
    if not isinstance(source, SinkSource):
        return source
    if source is SinkSource.PREDICTED:
        return predicted_sink(board)
    if source is SinkSource.MEASURED:
        return measured_sink(board)
    none = np.zeros(len(board.needed_strings("Sink").note))
    said = (
        "No sink is known: the bridge is taken to stay where it is when the board is strung, so bearing will be lost."
    )
    return EnteredSink(source=source, preloaded_mm=none, strung_mm=none, assumptions=(said,))


def measured_sink(board: Board) -> EnteredSink:
    """The user's own sink, straight over the note numbers along each bridge, and as at the nearest note beyond."""
    line = board.needed_strings("Measured sink")
    if not board.sinks:
        raise MissingLayer("Measured sink needs the sink at one note or more, in sink.csv.")
    return EnteredSink(
        source=SinkSource.MEASURED,
        preloaded_mm=_along(line, board.sinks, State.PRELOADED),
        strung_mm=_along(line, board.sinks, State.STRUNG),
        assumptions=(
            "The sink is the user's, from sink.csv, alike at both pin rows; it belongs to the forces of its reading.",
        ),
    )


def predicted_sink(board: Board, *, cell_mm: float | None = None, panel_mm: Floats | None = None) -> PredictedSink:
    """The sink by the mechanics: compliance at all front and rear pins, and the sink under the preload.

    panel_mm   points (points, 2) of the panel whose sink is wanted too

    Without a preload.csv, the preloaded state is the one whose sink the user measured, if he did.
    """
    from bellywork.mechanics.model import DEFAULT_CELL_MM, assembled

    what = "Predicted sink"
    line, scale, plan = board.needed_strings(what), board.needed_scale(what), board.needed_plan(what)
    body, climate_said = body_now(board, what)
    pins = plan.pins_mm
    places = np.array([push.place_mm for push in board.preload]).reshape(-1, 2)
    model = assembled(body, cell_mm=cell_mm or DEFAULT_CELL_MM)
    whole = model.compliance(np.vstack([pins, places]))
    n, every = len(pins), np.vstack([pins, places])
    said = [
        f"The sink is predicted; the rim holds the panel as '{rim_words(body)}'.",
        climate_said,
        "The bridge top follows the panel under each pin row; the strings run freely over their pins.",
    ]
    measured = _along(line, board.sinks, State.PRELOADED)
    preload = None if measured is None else np.tile(measured, 2)
    pushes = push_forces_N(whole[n:, n:], board.preload) if board.preload else None
    if pushes is not None:
        preload = whole[:n, n:] @ pushes
    elif measured is not None:
        said.append("The sink of the preloaded board is the user's, from sink.csv.")
    return PredictedSink(
        pull_N=pull_N(scale, line),
        compliance_mm_N=whole[:n, :n],
        preload_mm=preload,
        assumptions=tuple(said),
        panel=None if panel_mm is None else _panel_sink(model.influence(every, panel_mm), n, pushes),
    )


def _panel_sink(influence: Floats, pins: int, pushes: Floats | None) -> PanelSink:
    """From the influence of all pins and pushes."""
    return PanelSink(mm_N=influence[:, :pins], preload_mm=None if pushes is None else influence[:, pins:] @ pushes)


def push_forces_N(compliance_mm_N: Floats, pushes: Sequence[Push]) -> Floats:
    """Force of every push in N: as given, or so great that its place sinks by its `sink_mm` while all press at once.

    compliance_mm_N   sink in mm at every push for 1 N at every push, shape (pushes, pushes)
    """
    force = np.array([push.force_N or 0.0 for push in pushes])
    forced = np.array([push.force_N is None for push in pushes])
    if np.any(forced):
        sink = np.array([push.sink_mm or 0.0 for push in pushes])
        lacking = (sink - compliance_mm_N @ force)[forced]
        force[forced] = np.linalg.solve(compliance_mm_N[np.ix_(forced, forced)], lacking)
    return force


def _along(line: StringLine, sinks: Sequence[MeasuredSink], state: State) -> Floats | None:
    """Sink at every note of the line in one state, or None where it was nowhere read."""
    read = {sink.note: getattr(sink, f"{state.value}_mm") for sink in sinks}
    known = {note: float(value) for note, value in sorted(read.items()) if value is not None}
    if not known:
        return None
    bridge = dict(zip(line.note.tolist(), line.bridge))
    along = np.zeros(len(line.note))
    for name, here in line.bridges.items():
        notes = [note for note in known if bridge.get(note) == name]
        if not notes:
            raise MissingLayer(f"sink.csv holds no {state.value} sink at any note of the bridge {name!r}.")
        along[here] = np.interp(line.note[here], notes, [known[note] for note in notes])
    return along
