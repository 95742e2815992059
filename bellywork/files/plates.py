"""Tables of the plate and of what presses on the board: supports, struts, preload."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.plate import Plate, PlateSupport, Strut
from bellywork.board.state import Push
from bellywork.board.strings import StringPlan
from bellywork.files.bodies import names_once, point
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row, Table

STRUT_CLEARANCE_MM = 3.0  # common practice, no source: room for a bridge pin's head and a duster


def plate(tables: dict[str, Table], gathered: Gathered) -> Plate:
    """Supports and struts of the plate."""
    names_once(tables.get("supports"), "support", gathered)
    names_once(tables.get("struts"), "strut", gathered)
    supports = []
    for row in tables.get("supports", ()):
        low, high = row.value("lowest_move"), row.value("highest_move")
        if not low <= 0.0 <= high:
            gathered.add("limits-reversed", row.place("lowest_move"), f"moves from {low:g} to {high:g} mm",
                         "a lowest move of 0 or less and a highest of 0 or more",
                         "Check that the two columns have not changed places.")  # fmt: skip
            continue
        supports.append(
            PlateSupport(
                name=row.word("support"), place_mm=point(row), height_mm=row.value("height"),
                lowest_move_mm=low, highest_move_mm=high,
            )
        )  # fmt: skip
    struts = []
    for row in tables.get("struts", ()):
        start, end = point(row, "start_"), point(row, "end_")
        if np.array_equal(start, end):
            gathered.add("strut-without-length", row.place("end_x"), "both ends at one point", "two different ends",
                         "Give the two ends of the strut's centre line.")  # fmt: skip
            continue
        struts.append(
            Strut(
                name=row.word("strut"), start_mm=start, end_mm=end, width_mm=row.value("width"),
                underside_mm=row.value("underside"), clearance_mm=row.value("clearance", STRUT_CLEARANCE_MM),
            )
        )  # fmt: skip
    return Plate(supports=tuple(supports), struts=tuple(struts))


def preload(table: Table, plan: StringPlan | None, gathered: Gathered) -> tuple[Push, ...]:
    """What presses on the preloaded board; a push at a note presses midway between its pin rows."""
    pushes = []
    for row in table:
        force, sink = row.maybe("force"), row.maybe("sink")
        if (force is None) == (sink is None):
            found = "a force and a sink" if force is not None else "neither a force nor a sink"
            gathered.add("push-form", row.place("force"), found, "one of the two", "Leave one cell filled.")
            continue
        by_note, by_point = row.cells.get("note") is not None, None not in (row.cells.get("x"), row.cells.get("y"))
        if by_note == by_point:
            gathered.add("push-place", row.place("x"), "a point and a note" if by_note else "no place",
                         "x and y, or a note", "Fill one of the two.")  # fmt: skip
            continue
        place = point(row) if by_point else _note_place(row, plan, gathered)
        if place is not None:
            pushes.append(Push(place_mm=place, force_N=force, sink_mm=sink))
    return tuple(pushes)


def _note_place(row: Row, plan: StringPlan | None, gathered: Gathered) -> Floats | None:
    """Midway between the pin rows of the row's note; None, which is said, where the plan has no such note."""
    if plan is None or row.note() not in plan.note:
        gathered.add("note-without-place", row.place("note", row.note()), f"a push at note {row.note()}",
                     "a note that stands in string_plan.csv", "Give x and y instead.")  # fmt: skip
        return None
    at = int(np.searchsorted(plan.note, row.note()))
    return np.asarray(plan.middle_mm[at])
