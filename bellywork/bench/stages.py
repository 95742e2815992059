"""What the stages of the work tell beside reading and planing: the commands' own answers, made ready for a page."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from bellywork.answers.answer import CAUTION, Answer, View
from bellywork.answers.answer_table import grid
from bellywork.answers.bearing_answer import bearing_answer
from bellywork.answers.history_answer import history_answer
from bellywork.answers.sureness import Sureness, sureness_of
from bellywork.answers.where_answer import where_answer
from bellywork.balance.bearing_table import BearingTable, bearing
from bellywork.balance.rim_range import rim_range
from bellywork.balance.sink import SinkSource, predicted_sink
from bellywork.bench.answered import Answered
from bellywork.bench.read_next import MOST, later
from bellywork.bench.rows import LATER_KINDS, board_table, heads_of
from bellywork.board.state import WHOLE, State
from bellywork.board.strings import StringLine
from bellywork.conventions import note_name
from bellywork.errors import MissingLayer
from bellywork.estimate.bands import bearing_bands
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.where import Advice, where_to_read
from bellywork.files.columns import TABLES
from bellywork.instrument import Instrument
from bellywork.measures import Units
from bellywork.quantities import said
from bellywork.seasons.life import life_of
from bellywork.seasons.stages import stages


def stage_told(stage: str, answer: Answered, folder: Path, units: Units) -> dict[str, Any]:
    """What a stage tells, one of `STAGES`: title, headline, tables and what to look at, every number as the command
    prints it; and what its form needs.

    Raises MissingLayer where nothing is answered yet or the stage lacks what it stands on, and as its command does.
    """
    if answer.described is None or answer.ready is None:
        raise MissingLayer(" ".join((*answer.headline, *answer.findings)) or "Nothing is answered yet.")
    return STAGES[stage](answer.described, answer.ready, folder, units)


def estimate_of(described: Instrument) -> Estimate:
    """The estimate that every command starts from: as learned where loads were pressed."""
    return estimated(described, as_described=not described.board.can_be_learned)


def _press(described: Instrument, _: Instrument, folder: Path, units: Units) -> dict[str, Any]:
    """Where to press and read next, and the trials so far."""
    table = board_table(folder, "trials", units)
    heads, estimate = heads_of(table, "trials"), estimate_of(described)
    advice = where_to_read(estimate)
    trials: dict[str, list[str]] = {}
    for row in table.rows:
        told = [
            f"{row[head]} {_suffix('trials', stem, heads)}".strip()
            for stem, head in heads.items()
            if _tells(stem, row[head])
        ]
        trials.setdefault(row.get(heads.get("trial", ""), ""), []).append(", ".join(told))
    return {
        **page_of(where_answer(described.board.name, estimate, advice, units=units)),
        "next": [
            {"name": advice.candidates.name[k], "why": f"then ±{said('where.band_deg', float(after))}"}
            for k, after in list(zip(advice.chosen, advice.band_deg[1:]))[:MOST]
        ],
        "places": [_place(advice, k, described, heads) for k in advice.chosen],
        "units": {stem: _suffix("trials", stem, heads) for stem in ("force", "sink")},
        "trials": [{"name": name, "told": "; ".join(rows)} for name, rows in trials.items() if name],
    }


def _place(advice: Advice, k: int, described: Instrument, heads: dict[str, str]) -> dict[str, Any]:
    """A place as a row of trials.csv names it, with the load that is advised, in the table's own units."""
    found, line, plan = advice.candidates, described.board.needed_strings("A place"), described.board.plan
    note = None if plan is None else _note_at(plan.middle_mm.tolist(), found.place_mm[k].tolist(), line)
    cells = (
        {"at_x": _outside("at_x", found.place_mm[k, 0], heads), "at_y": _outside("at_y", found.place_mm[k, 1], heads)}
        if note is None or "at" not in heads
        else {"at": note}
    )
    return {"name": found.name[k], "cells": cells, "force": _outside("force", found.force_N[k], heads)}


def _note_at(middles_mm: list[list[float]], place_mm: list[float], line: StringLine) -> str | None:
    return note_name(int(line.note[middles_mm.index(place_mm)])) if place_mm in middles_mm else None


def _outside(stem: str, inside: float, heads: dict[str, str]) -> str:
    """A number in the unit of its column."""
    column = next(each for each in TABLES["trials"].columns if each.stem == stem)
    return f"{column.units[heads.get(stem, column.usual)].outside(float(inside)):.5g}"


def _suffix(table: str, stem: str, heads: dict[str, str]) -> str:
    column = next(each for each in TABLES[table].columns if each.stem == stem)
    return column.units[heads.get(stem, column.usual)].suffix


def _tells(stem: str, text: str) -> bool:
    """Whether a cell of a trial is told: its name stands before it, and the dial stands at the load."""
    return bool(text) and stem != "trial" and not stem.startswith("read")


def _bearing(state: State, described: Instrument, ready: Instrument, _: Path, units: Units) -> dict[str, Any]:
    """The bearing expected in a state: with its band where the board was learned, else with its range over the rim."""
    table = bearing(ready, state=state)
    sureness = _sure(described, table)
    ranged = _led(table, ready) and state is State.STRUNG and not described.board.can_be_learned
    spread = rim_range(ready, table) if ranged else None
    told = page_of(bearing_answer(described.board, table, spread=spread, units=units, sureness=sureness))
    return {**told, "next": [each.told() for each in later(described.board, table, sureness)]}


def _led(table: BearingTable, ready: Instrument) -> bool:
    """Whether the state of a table is predicted, not the measured one."""
    return table.sink_source is SinkSource.PREDICTED and table.state is not ready.board.measured_in


def _sure(described: Instrument, table: BearingTable) -> Sureness | None:
    """How sure the bearing in a predicted state is; None where nothing was learned."""
    if not (described.board.can_be_learned and _led(table, described)):
        return None
    return sureness_of(estimate_of(described), partial(bearing_bands, table=table, state=table.state))


def _again(described: Instrument, ready: Instrument, folder: Path, units: Units) -> dict[str, Any]:
    """What was read at each stage against its prediction, and what can be read now."""
    heads = heads_of(board_table(folder, "readings", units), "readings")
    form = {
        "kinds": {kind: _suffix("readings", stem, heads) for kind, stem in LATER_KINDS.items()},
        "columns": LATER_KINDS,
        "states": [state.value for state in WHOLE],
        "notes": [[note, note_name(note)] for note in described.board.needed_strings("A reading").note.tolist()],
    }
    next_ = _next_strung(described, ready)
    try:
        read = stages(ready)
    except MissingLayer as missing:  # the form is there to mend that
        empty = {"title": "Looking again", "headline": [str(missing)], "blocks": [], "look": [], "caution": CAUTION}
        return {**empty, "later": form, "next": next_}
    assumed = [*ready.assumptions, *predicted_sink(ready).assumptions]
    if any(each.days for each in read):
        assumed += life_of(ready.board, days=max(each.days for each in read)).assumptions
    told = history_answer(described.board.name, read, assumptions=assumed, units=units)
    return {**page_of(told), "later": form, "next": next_}


def _next_strung(described: Instrument, ready: Instrument) -> list[dict[str, Any]]:
    """What to read on the strung board; nothing where it cannot be led there."""
    try:
        table = bearing(ready, state=State.STRUNG)
    except MissingLayer:
        return []
    return [each.told() for each in later(described.board, table, _sure(described, table))]


STAGES: dict[str, Callable[[Instrument, Instrument, Path, Units], dict[str, Any]]] = {
    "press": _press,
    "preload": partial(_bearing, State.PRELOADED),
    "string": partial(_bearing, State.STRUNG),
    "again": _again,
}


def page_of(answer: Answer) -> dict[str, Any]:
    """An answer for a page: each cell as the terminal prints it."""
    return {
        "title": answer.title,
        "headline": list(answer.headline),
        "blocks": [
            _shown(each, answer.units) if isinstance(each, View) else {"text": each} for each in answer.body if each
        ],
        "look": [*answer.to_look_at, *map(str, answer.findings)],
        "caution": CAUTION,
    }


def _shown(view: View, units: Units) -> dict[str, Any]:
    """A table with every row, group by group; those that the command prints are the few to be seen first."""
    rows = range(len(view.table))
    few = set(rows if view.rows is None else view.rows)
    heads, suffixes, *lines = grid(view.table, rows, units)
    used = [k for k, column in enumerate(view.table.columns) if column.label or any(line[k] for line in lines)]
    groups = {"": rows} if view.groups is None else view.groups
    note = next((column.values for column in view.table.columns if column.quantity == "note"), None)
    return {
        "title": view.title,
        "heads": [f"{heads[k]}, {suffixes[k]}" if suffixes[k] else heads[k] for k in used],
        "meanings": [view.table.columns[k].registered.meaning for k in used],
        "groups": [
            {
                "title": title,
                "rows": [
                    {
                        "cells": [lines[row][k] for k in used],
                        "few": row in few,
                        "note": None if note is None else int(note[row]),
                    }
                    for row in places
                ],
            }
            for title, places in groups.items()
        ],
    }
