"""How far the bridge sinks from one state to another: predicted by the mechanics, entered by hand, or left out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from typing import Protocol

import numpy as np

from bellywork.balance.led import Led
from bellywork.balance.small_model import SmallModel
from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.board import Board
from bellywork.board.state import MeasuredSink, State
from bellywork.board.strings import StringLine
from bellywork.errors import MissingLayer, SolveError
from bellywork.geometry.string_line import pin_forces_N, sunk
from bellywork.instrument import Instrument
from bellywork.mechanics.response import Response

NO_POINTS = np.zeros((0, 2))
# of the give without load: two balances were met at 7.9 times, one only at 3.2 (the compression-crowned sample)
NEAR_SNAP = 4.0
ONE_OF_THEM = "What is told is one of them: do not cut by it. Dry the board, or see to what takes its crown."
ANCHORS = 4
NEAR_ANCHOR = 0.03  # of the sink: what the response leaves out goes with the square of this
LEAST_FORCE_N = 1.0  # strings that press less in all do not bend a board


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
        if state is State.PART:
            raise MissingLayer(
                "The sink of a part-strung board follows from the board itself: describe panel, ribs and bridges, or "
                "give the heights of the bare or the strung board."
            )
        sink = self.preloaded_mm if state is State.PRELOADED else self.strung_mm
        if sink is None:
            raise MissingLayer(f"The sink in the {state.value} state is not known: fill {state.value}_mm in sink.csv.")
        return sink


@dataclass(frozen=True, kw_only=True, eq=False)
class PredictedSink:
    """Sink by the mechanics of the board, with the strings' forces in exact balance.

    pull_N       tension of all the strings of each note together, in N
    response     sink at all front pins, all rear pins and any points of the panel, for forces at the pins
    on           notes that are on in the part-strung state; None: that is not told
    preload      gives the sink at the same points under what presses on the preloaded board, when that is asked for:
                 it costs as much as the response; None: nothing presses there
    """

    pull_N: Floats
    response: Response
    assumptions: tuple[str, ...]
    preload: Callable[[], Floats] | None = None
    source: SinkSource = SinkSource.PREDICTED
    on: Bools | None = None

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights of a line whose heights are those of `state`: its own forces tell how far it has sunk."""
        if state.under_strings:
            force = np.concatenate(pin_forces_N(line, self.pull_in_N(state)))
            return self._sunk(line, -self.response.place_sink_mm(force))
        return line if state is State.BARE else self._sunk(line, -self._preload())

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a bare line takes in `state`; raises SolveError where no balance is found."""
        if state.under_strings:
            return self.model(bare, state).settled().line
        return bare if state is State.BARE else self._sunk(bare, self._preload())

    def at(self, points: Ints) -> PredictedSink:
        """The same at some of its points, told by their rows in the response; all pins stand first among them."""
        before = self.preload
        preload = None if before is None else lambda: before()[points]
        return replace(self, response=self.response.at(points), preload=preload)

    def changed(self, change_mm_N: Floats) -> PredictedSink:
        """The sink of a board whose compliance (points, pins) has changed by so much; what large deflection adds stays.

        What presses the board down for planing does so in proportion to the compliance at the pin itself; elsewhere in
        that of the pins' mean.
        """
        before, pins = self.preload, self.response.places
        factor = 1.0 + np.diag(change_mm_N[:pins]) / np.diag(self.response.small_mm_N[:pins])
        every = np.append(factor, np.full(len(change_mm_N) - pins, factor.mean()))
        preload = None if before is None else lambda: before() * every
        return replace(self, response=self.response.changed(change_mm_N), preload=preload)

    def softened(self, factor: float) -> PredictedSink:
        """The sink of a board so many times as soft all through."""
        before = self.preload
        preload = None if before is None else lambda: factor * before()
        return replace(self, response=self.response.softened(factor), preload=preload)

    def model(self, bare: StringLine, state: State = State.STRUNG) -> SmallModel:
        """The small model of this board with the bridge at these bare heights, under the strings that are then on."""
        return SmallModel(bare=bare, pull_N=self.pull_in_N(state), response=self.response)

    def pull_in_N(self, state: State) -> Floats:
        """Tension of the strings of each note in a state under strings. Raises MissingLayer where it is not told."""
        if state is State.STRUNG:
            return self.pull_N
        if self.on is None:
            raise MissingLayer("The part-strung state needs to know which notes are on: strung under [measured].")
        return np.where(self.on, self.pull_N, 0.0)

    def panel_mm(self, line: StringLine, state: State) -> Floats:
        """Sink of the panel at the points asked for, from the bare state to `state`, in which the line is."""
        pins = self.response.places
        if state is State.BARE:
            return np.zeros(len(self.response.small_mm_N) - pins)
        if state.under_strings:
            return self.response.sink_mm(np.concatenate(pin_forces_N(line, self.pull_in_N(state))))[pins:]
        return self._preload()[pins:]

    def _preload(self) -> Floats:
        if self.preload is None:
            raise MissingLayer("The preloaded state needs what presses on the board, in preload.csv.")
        return self.preload()

    def _sunk(self, line: StringLine, sink: Floats) -> StringLine:
        n = len(line.note)
        return sunk(line, sink[:n], sink[n : 2 * n])


def sink_of(ready: Instrument, source: Sink | SinkSource | None = None) -> Sink:
    """The sink of an instrument; a sink given comes back as it is.

    Without a `source`: predicted where the body, plan and scale are described, else measured where sink.csv holds
    anything, else none. Raises MissingLayer where the source asked for lacks its layers.
    """
    board = ready.board
    if source is None:
        source = SinkSource.PREDICTED if board.described else SinkSource.MEASURED if board.sinks else SinkSource.NONE
    if not isinstance(source, SinkSource):
        return source
    if source is SinkSource.PREDICTED:
        return predicted_sink(ready)
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


def predicted_sink(ready: Instrument, *, panel_mm: Floats | None = None) -> PredictedSink:
    """The sink by the mechanics, large deflection and the stress of the making in it.

    panel_mm   points (points, 2) of the panel whose sink is wanted too

    The response is exact at the forces of the strings as they are: those of the measured heights where these are
    strung, else those in balance on the measured bare board. Without a preload.csv, the preloaded state is the one
    whose sink the user measured, if he did. Raises MissingLayer where string line, scale, plan or body are lacking,
    SolveError where no balance is found.
    """
    panel = NO_POINTS if panel_mm is None else panel_mm
    return ready.kept(("sink", panel.tobytes()), lambda: _predicted_sink(ready, panel))


def _predicted_sink(ready: Instrument, panel_mm: Floats) -> PredictedSink:
    what, board = "Predicted sink", ready.board
    line = board.needed_strings(what)
    board.needed_plan(what)
    board.needed_scale(what)
    board.needed_body(what)
    said = [
        f"The sink is predicted; the rim holds the panel as '{ready.rim_words}'.",
        ready.climate_words,
        "The bridge top follows the panel under each pin row; the strings run freely over their pins.",
    ]
    if not board.preload and _along(line, board.sinks, State.PRELOADED) is not None:
        said.append("The sink of the preloaded board is the user's, from sink.csv.")
    preload = _preload(ready, panel_mm)
    arrays = ready.kept_on_disk("sink", panel_mm, lambda: _response(ready, panel_mm, preload).arrays)
    return PredictedSink(
        pull_N=ready.pull_N,
        response=Response.of(arrays),
        assumptions=tuple(said),
        preload=preload,
        on=part_strung(board),
    )


def part_strung(board: Board) -> Bools | None:
    """The notes of a board that are on in its part-strung state, (notes,); None where it is not told."""
    return np.isin(board.needed_strings("Strings").note, board.part_strung) if board.part_strung else None


def _preload(ready: Instrument, panel_mm: Floats) -> Callable[[], Floats] | None:
    """What gives the sink under the preload at pins and points of the panel; None where nothing is known of it."""
    board = ready.board
    line, pins = board.needed_strings("Predicted sink"), board.needed_plan("Predicted sink").pins_mm
    if board.preload:
        places = np.array([push.place_mm for push in board.preload])
        points = np.vstack([pins, panel_mm])

        def pressed() -> dict[str, Floats]:
            return {"sink_mm": ready.pushed_mm(places, ready.push_forces_N, points)}

        return lambda: ready.kept(
            ("preload", panel_mm.tobytes()), lambda: ready.kept_on_disk("preload", panel_mm, pressed)["sink_mm"]
        )
    measured = _along(line, board.sinks, State.PRELOADED)
    if measured is None:
        return None
    known = np.concatenate([measured, measured, np.full(len(panel_mm), np.nan)])
    return lambda: known


def _response(ready: Instrument, panel_mm: Floats, preload: Callable[[], Floats] | None) -> Response:
    """The response at pins and points of the panel."""
    board, here = ready.board, ready.moisture_percent
    line, pins = board.needed_strings("Predicted sink"), board.needed_plan("Predicted sink").pins_mm
    if len(panel_mm):  # what the pins do does not hang on what else is asked
        return ready.extended(predicted_sink(ready).response, pins, panel_mm, moisture_percent=here)
    response = ready.response(pins, moisture_percent=here)
    if board.measured_in is not State.STRUNG:
        sink = PredictedSink(
            pull_N=ready.pull_N, response=response, assumptions=(), preload=preload, on=part_strung(board)
        )
        return anchored(ready, sink.bare(line, board.measured_in), moisture_percent=here)
    force = np.concatenate(pin_forces_N(line, ready.pull_N))
    if force.sum() < LEAST_FORCE_N:
        return response
    return ready.response(pins, moisture_percent=here, anchor_N=force)


def anchored(ready: Instrument, bare: StringLine, *, moisture_percent: float) -> Response:
    """The board's response at the pins at a moisture, exact at the forces of the strings in balance there.

    bare   heights of the bare board at this moisture

    Raises SolveError where no balance is found.
    """
    pins = ready.board.needed_plan("The balance of strings and board").pins_mm
    small = response = ready.response(pins, moisture_percent=moisture_percent)
    for k in range(ANCHORS):
        force = _settled_N(ready, bare, response)
        if force.sum() < LEAST_FORCE_N or (k > 1 and response.near(force, NEAR_ANCHOR)):
            return response
        if k == 0:  # its sink alone, to find a better anchor
            response = ready.alike(small, pins, moisture_percent=moisture_percent, anchor_N=force)
        else:
            response = ready.response(pins, moisture_percent=moisture_percent, anchor_N=force)
    return response


def anchored_like(ready: Instrument, bare: StringLine, like: Response, *, moisture_percent: float) -> Response:
    """As `anchored`, led there from the response of nearly this board: exact at the forces of the strings in balance,
    and about them as there. Where that one leads astray it is `anchored` itself.
    """
    pins = ready.board.needed_plan("The balance of strings and board").pins_mm
    with suppress(SolveError):
        if _settled_N(ready, bare, like).sum() < LEAST_FORCE_N:
            return like
        return Led(ready, pins, like, partial(_settled_N, ready, bare), moisture_percent=moisture_percent).response()
    return anchored(ready, bare, moisture_percent=moisture_percent)


def near_snap(response: Response) -> str:
    """What is to be said of a board that the strings have brought near to snapping through; empty of others."""
    if response.softening < NEAR_SNAP:
        return ""
    return (
        f"gives {response.softening:.1f} times as much under its strings as without them: it is near to snapping "
        "through, and may rest in more than one balance"
    )


def _settled_N(ready: Instrument, bare: StringLine, response: Response) -> Floats:
    """Forces at all front and rear pins of the strings in balance on the board."""
    settled = SmallModel(bare=bare, pull_N=ready.pull_N, response=response).settled()
    return np.concatenate([settled.force_front_N, settled.force_rear_N])


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
