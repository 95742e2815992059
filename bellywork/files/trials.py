"""Press trials: loads pressed on the board, and the dials read beside them."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.board.state import Climate, PressTrial, State
from bellywork.board.strings import StringPlan
from bellywork.files.bodies import point
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row, Table

SAME_PLACE_MM = 30.0  # a dial so near to a load stands under it


def trials(table: Table, plan: StringPlan | None, body: Body | None, gathered: Gathered) -> tuple[PressTrial, ...]:
    """The trials of a table; everything that is wrong with them is said."""
    groups: dict[str, list[Row]] = {}
    for row in table:
        groups.setdefault(row.word("trial"), []).append(row)
    made = (_trial(name, rows, plan, body, gathered) for name, rows in groups.items())
    return tuple(trial for trial in made if trial is not None)


def _trial(
    name: str, rows: list[Row], plan: StringPlan | None, body: Body | None, gathered: Gathered
) -> PressTrial | None:
    """One trial: its loads, each once however often its rows name it, and its dials."""
    before, first = gathered.grave, rows[0]
    loads: dict[tuple[float, float], float] = {}
    dials: list[tuple[Floats, Row]] = []
    for row in rows:
        if _day(row) != _day(first):
            _form(gathered, row, "state", f"trial {name} in two states or on two days", "one for each trial",
                  "Give what was read on another day another name.")  # fmt: skip
        place = _place(row, "at", "force", plan, body, gathered)
        if place is not None:
            there = (float(place[0]), float(place[1]))
            if loads.setdefault(there, row.value("force")) != row.value("force"):
                _form(gathered, row, "force", f"two loads at one place in trial {name}", "one load for each place",
                      "Write their sum, or make two trials of it.")  # fmt: skip
        dial = _place(row, "read", "sink", plan, body, gathered)
        if dial is not None:
            dials.append((dial, row))
    if gathered.grave == before and not (loads and dials):
        lacking = "no load" if not loads else "no dial"
        _form(gathered, first, "trial", f"{lacking} in trial {name}", "a load and a dial",
              "Give the place and force of every load, and the place and reading of every dial.")  # fmt: skip
    for dial, row in dials:
        _check_sinks(dial, row, loads, gathered)
    if gathered.grave > before:
        return None
    return PressTrial(
        name=name,
        places_mm=np.array(list(loads)),
        forces_N=np.array(list(loads.values())),
        read_mm=np.array([dial for dial, _ in dials]),
        sink_mm=np.array([row.value("sink") for _, row in dials]),
        uncertainty_mm=np.array([row.value("uncertainty") for _, row in dials]),
        rows=tuple(row.number for _, row in dials),
        state=State(first.word("state", State.BARE.value)),
        climate=Climate(rh_percent=first.maybe("rh"), date=first.word("date")),
    )


def _day(row: Row) -> tuple[str, str, float | None]:
    return row.word("state", State.BARE.value), row.word("date"), row.maybe("rh")


def _place(
    row: Row, stem: str, value: str, plan: StringPlan | None, body: Body | None, gathered: Gathered
) -> Floats | None:
    """Where a load presses or a dial stands; None where the row has none, or where what it has is wrong."""
    note, xy = row.cells.get(stem), (row.cells.get(f"{stem}_x"), row.cells.get(f"{stem}_y"))
    what = "load" if stem == "at" else "dial"
    if (note is not None) + (None not in xy) != (row.maybe(value) is not None) or (xy.count(None) == 1):
        _form(gathered, row, value, f"a {what} without its place, with half of one or with two, or a place without it",
              f"{value} with a note in {stem}, or with {stem}_x and {stem}_y", "Fill what is missing.")  # fmt: skip
        return None
    if note is None and None in xy:
        return None
    if note is None:
        place = point(row, f"{stem}_")
    elif plan is None or int(note) not in plan.note:
        gathered.add("note-without-place", row.place(stem, int(note)), f"a {what} at note {int(note)}",
                     "a note that stands in string_plan.csv", "Give x and y instead.")  # fmt: skip
        return None
    else:
        place = plan.middle_mm[int(np.searchsorted(plan.note, int(note)))]
    if body is not None and not body.outline.holds(place[None])[0]:
        cell = row.place(stem if note is not None else f"{stem}_x")
        gathered.add("trial-outside", cell, f"a {what} at {place[0]:g}, {place[1]:g} mm, off the board",
                     "a place on the panel", "Check x and y.")  # fmt: skip
        return None
    return np.asarray(place)


def _check_sinks(dial: Floats, row: Row, loads: dict[tuple[float, float], float], gathered: Gathered) -> None:
    near = any(force > 0.0 and np.hypot(*(dial - place)) <= SAME_PLACE_MM for place, force in loads.items())
    if near and row.value("sink") < 0.0:
        gathered.add("trial-rises", row.place("sink"), f"a rise of {-row.value('sink'):g} mm right under a load",
                     "a sink: down is positive", "Turn the sign, or read the dial again.")  # fmt: skip


def _form(gathered: Gathered, row: Row, stem: str, found: str, expected: str, remedy: str) -> None:
    gathered.add("trial-form", row.place(stem), found, expected, remedy)
