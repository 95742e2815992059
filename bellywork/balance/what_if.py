"""What if: plate raised or tilted, bridge planed, other wire or pitch, sections unstrung, another target."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import PredictedSink, Sink, SinkSource, predicted_sink
from bellywork.balance.small_model import Settled, SmallModel
from bellywork.balance.wanted import Wanted, wanted
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.board.strings import Scale, StringLine
from bellywork.board.targets import Target
from bellywork.errors import BoardError, MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import Bearing, bearing, plate_moved, sunk
from bellywork.instrument import Instrument


@dataclass(frozen=True, kw_only=True, eq=False)
class Change:
    """What is changed; everything together. What is not named stays.

    plate                           how the plate is moved; a tilt needs the plan
    plane_front_mm, plane_rear_mm   depth to plane at the pins, one for all notes or one per note
    scale                           other strings or another pitch, for the same notes
    unstrung                        sections without strings
    targets                         other targets
    """

    plate: PlateMove = PlateMove()
    plane_front_mm: Floats | float = 0.0
    plane_rear_mm: Floats | float = 0.0
    scale: Scale | None = None
    unstrung: tuple[str, ...] = ()
    targets: tuple[Target, ...] | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Changed:
    """The strung board after a change; arrays have one entry per note.

    model           the small model after the change; further changes may start from its bare heights
    settled         heights, sinks and forces in balance
    bearing         the angles there
    wanted          the targets there
    deviation_deg   net bearing less target
    downforce_N     what each note's strings press on the bridge
    """

    model: SmallModel
    settled: Settled
    bearing: Bearing
    wanted: Wanted
    deviation_deg: Floats
    downforce_N: Floats


def what_if(ready: Instrument, change: Change, *, sink: PredictedSink | None = None) -> Changed:
    """The strung board after a change; once the mechanics are done, in milliseconds.

    sink   another than the predicted one

    Heights measured strung or preloaded are led back to the bare state first. Raises MissingLayer where string line,
    plan, scale or body are lacking or for a tilt without the plan, BoardError for a scale of other notes or a section
    that the board does not have, SolveError where no balance is found.
    """
    model = _changed_model(ready, sink or predicted_sink(ready), change)
    settled = model.settled()
    turned = bearing(settled.line)
    targets = ready.board.targets if change.targets is None else change.targets
    want = wanted(settled.line, targets, model.pull_N)
    return Changed(
        model=model,
        settled=settled,
        bearing=turned,
        wanted=want,
        deviation_deg=turned.net_deg - want.net_deg,
        downforce_N=settled.force_front_N + settled.force_rear_N,
    )


def with_plate_moved(ready: Instrument, move: PlateMove, sink: Sink) -> Instrument:
    """The instrument with its plate moved; its heights are then those of the bare board where they were read strung.

    sink   leads from the measured state to the bare one; the same sink goes on to hold after the move

    Raises MissingLayer without string line, for a tilt without the plan, or where strung heights cannot be led to the
    bare board.
    """
    board = ready.board
    line, state = board.needed_strings("Moving the plate"), board.measured_in
    if state.under_strings:
        if sink.source is SinkSource.NONE:
            raise MissingLayer(
                "A plate moved under strings changes what they press, so the sink is needed: body, string plan and "
                "scale for a prediction, or sink.csv."
            )
        line, state = sink.bare(line, state), State.BARE
    moved = changed_bare(board, line, Change(plate=move))
    return replace(ready, board=replace(board, strings=moved, measured_in=state), _kept={})


def with_strings(ready: Instrument, scale: Scale, sink: Sink) -> tuple[Instrument, Sink]:
    """The instrument with other strings for the same notes, and the sink under them; heights read strung are first led
    back to the bare board under the present ones.

    sink   of the instrument as it is; one that was entered by hand belongs to the present strings and stays as it is

    Raises BoardError for a scale of other notes, MissingLayer where strung heights cannot be led to the bare board.
    """
    board = ready.board
    line, state = board.needed_strings("Other strings"), board.measured_in
    if not np.array_equal(scale.note, line.note):
        raise BoardError("Another scale needs the same notes as the board.")
    if state.under_strings:
        line, state = sink.bare(line, state), State.BARE
    other = replace(ready, board=replace(board, scale=scale, strings=line, measured_in=state), _kept={})
    return other, replace(sink, pull_N=other.pull_N) if isinstance(sink, PredictedSink) else sink


def changed_bare(board: Board, bare: StringLine, change: Change) -> StringLine:
    """A bare string line, plate moved and bridge planed; raises MissingLayer for a tilt without the plan."""
    if change.plate.tilts:
        plan = board.needed_plan("Tilting the plate")
        bare = plate_moved(bare, change.plate.lift_mm(plan.front_mm), change.plate.lift_mm(plan.rear_mm))
    elif change.plate.up_mm:
        up = np.full(len(bare.note), change.plate.up_mm)
        bare = plate_moved(bare, up, up)
    return sunk(bare, np.asarray(change.plane_front_mm), np.asarray(change.plane_rear_mm))


def _changed_model(ready: Instrument, sink: PredictedSink, change: Change) -> SmallModel:
    board = ready.board
    bare = sink.bare(board.needed_strings("A what-if"), board.measured_in)
    bare, pull = changed_bare(board, bare, change), sink.pull_N
    if change.scale is not None:
        if not np.array_equal(change.scale.note, bare.note):
            raise BoardError("Another scale needs the same notes as the board.")
        pull = pull_N(change.scale, bare)
    if missing := set(change.unstrung) - set(bare.section):
        raise BoardError(f"The board has no section called {' or '.join(sorted(missing))}.")
    pull = np.where([name in change.unstrung for name in bare.section], 0.0, pull)
    return replace(sink.model(bare), pull_N=pull)
