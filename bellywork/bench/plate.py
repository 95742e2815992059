"""What if the plate stood otherwise: bearing and schedule of the board on the bench, and the move at each support."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bellywork.answers.plane_answer import plane_answer, setting_words
from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import SinkSource, sink_of
from bellywork.balance.what_if import with_plate_moved
from bellywork.bench.answered import Answered
from bellywork.board.piano_kind import PianoKind
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.errors import BoardError, MissingLayer
from bellywork.instrument import Instrument
from bellywork.measures import Units
from bellywork.quantities import QUANTITIES, said

MOVES = ("up_mm", "tilt_x_mm_per_m", "tilt_y_mm_per_m")
MOST_MM, MOST_MM_PER_M = 20.0, 20.0  # no plate is moved by more; common practice, no source


def move_typed(typed: Mapping[str, Any]) -> PlateMove:
    """The move of the plate that a page asks for, in mm and mm per m. Raises BoardError for anything else."""
    values = [typed.get(name, 0.0) for name in MOVES]
    if not all(isinstance(each, (int, float)) and np.isfinite(each) for each in values):
        raise BoardError("The plate is moved by three numbers: up in mm, and two tilts in mm per m.")
    up, along, across = (float(each) for each in values)
    if abs(up) > MOST_MM or max(abs(along), abs(across)) > MOST_MM_PER_M:
        raise BoardError(f"The plate is moved by at most {MOST_MM:g} mm, and {MOST_MM_PER_M:g} mm per m.")
    return PlateMove(up_mm=up, tilt_x_mm_per_m=along, tilt_y_mm_per_m=across)


def move_units(units: Units, kind: PianoKind) -> dict[str, dict[str, Any]]:
    """How a page shows each number of a move: its words, unit, decimals, and how much of that unit 1 mm or 1 mm per m
    is.
    """
    names = "up", "rising towards the treble", f"rising towards the {kind.far}"
    return {
        name: {
            "words": words,
            "unit": QUANTITIES[name].unit(units),
            "digits": units.of(QUANTITIES[name].measure)[1],
            "one": QUANTITIES[name].measure.outside(1.0, units),
        }
        for name, words in zip(MOVES, names)
    }


def plate_moved(answer: Answered, move: PlateMove, units: Units) -> dict[str, Any]:
    """Net bearing at every note with the plate so moved, as `bearing --plate-up --tilt` tells it, what planing then
    gets, and the move at each support.

    Raises MissingLayer where nothing is answered yet or a tilt lacks the plan, SolveError where no balance is found.
    """
    ready = _ready(answer)
    sink = sink_of(ready)
    state = ready.board.measured_in if sink.source is SinkSource.NONE else State.STRUNG
    moved = with_plate_moved(ready, move, sink)
    before, after = (bearing(each, state=state, sink=sink) for each in (ready, moved))
    schedule = plane_answer(ready.board, plane(moved, sink=sink), spread=None, units=units)
    too_far = set(ready.board.plate.beyond(move))
    lifts = move.lift_mm(ready.board.plate.support_places_mm).tolist() if ready.board.plate.supports else []
    return {
        "state": state.value,
        "headline": list(schedule.headline),
        "notes": {
            int(note): [said("net_deg", float(one)), said("net_deg", float(other)), said("target_net_deg", float(want))]
            for note, one, other, want in zip(after.note, before.net_deg, after.net_deg, after.target_net_deg)
        },
        "supports": [
            [support.name, said("move_mm", lift, units), support.name in too_far]
            for support, lift in zip(ready.board.plate.supports, lifts)
        ],
    }


def best_setting(answer: Answered, units: Units) -> dict[str, Any]:
    """The setting of the plate that `plane --plate-first` finds. Raises as `plate_moved`."""
    ready = _ready(answer)
    setting = plane(ready, sink=sink_of(ready), plate_first=True).plate
    assert setting is not None
    return {"words": setting_words(setting, units), **{name: float(getattr(setting, name)) for name in MOVES}}


def _ready(answer: Answered) -> Instrument:
    if answer.ready is None or answer.table is None:
        raise MissingLayer("There is no answer yet that the plate could be moved in.")
    return answer.ready
