"""The bearing at every note, told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerTable
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import (
    INTERPOLATED,
    by_section,
    note_words,
    notes_table,
    off_target,
    shown_places,
    starred,
    state_words,
    sure,
    totals,
)
from bellywork.answers.sureness import Sureness, banded
from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.rim_range import RimRange
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.geometry.unison import OuterStrings
from bellywork.measures import Units
from bellywork.quantities import said

SCHEMA = "bellywork-bearing/2"
SHOWN = (
    "note name front_deg rear_deg net_deg target_net_deg deviation_deg degrees_per_mm string_deflection_mm tension_N "
    "strength_share downforce_N sink_mm"
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Before:
    """What a bearing is compared with: its table, and what the difference is, in a sentence."""

    table: BearingTable
    words: str


def bearing_answer(
    board: Board,
    table: BearingTable,
    *,
    spread: RimRange | None,
    units: Units,
    every: bool = False,
    before: Before | None = None,
    sureness: Sureness | None = None,
) -> Answer:
    """The answer of `bellywork bearing`.

    spread   the net bearing over the rim's range, where the sink is predicted and the rim an assumption
    every    show every note, not only the reference notes and the worst
    before   what it is compared with; None: with nothing
    sureness bands of what is predicted; None: the answer carries none
    """
    form = FORMS[SCHEMA]
    outer = _outer(table.outer)
    more = outer
    if before is not None:
        beside = _beside(table, before)
        more = {**outer, "against_net_deg": beside, "net_change_deg": table.net_deg - beside}
    quantities = (*form.part("notes").quantities, *more)
    notes = notes_table(table, quantities, more, *banded(sureness), spread=spread)
    worst = int(np.argmax(np.abs(table.deviation_deg)))
    rows = shown_places(every, table.reference, worst)
    columns = (*_told(table), *(() if before is None else ("against_net_deg", "net_change_deg")))
    shown = starred(notes).only(*columns, bands=("net_deg", "sink_mm"))
    view = View(table=shown, rows=rows, groups=by_section(table, units))
    sources = {"state": table.state.value, "sink_source": table.sink_source.value, "worst_note": table.worst_note}
    return Answer(
        schema=SCHEMA,
        title=f"{board.name}: bearing of the {state_words(table.state)}",
        headline=(
            *(() if before is None else (before.words,)),
            *_headline(board, table, spread, units, sureness),
            *_widest_unison(table, units),
        ),
        body=(
            view,
            *_within_unisons(notes, outer, rows),
            "" if table.measured.all() else INTERPOLATED,
        ),
        parts=filled(form, {**sources, "notes": notes, "totals": totals(table, sureness)}),
        table=notes,
        findings=table.findings,
        to_look_at=() if sureness is None else sureness.doubts,
        assumptions=table.assumptions,
        act=bool(table.findings),
        below=f"{len(table.findings)} to look at, under the table." if table.findings else "",
        left_out="" if every else "Shown are the reference notes and the worst; --all shows every note.",
        units=units,
    )


def _outer(outer: OuterStrings | None) -> dict[str, Floats]:
    """Columns of the unisons' outer strings; none where they are not known."""
    if outer is None:
        return {}
    return {
        "left_front_deg": outer.left.front_deg,
        "left_rear_deg": outer.left.rear_deg,
        "right_front_deg": outer.right.front_deg,
        "right_rear_deg": outer.right.rear_deg,
    }


def _within_unisons(notes: AnswerTable, outer: dict[str, Floats], rows: Sequence[int]) -> tuple[View, ...]:
    """The outer strings of those notes shown that have two or three."""
    told = [row for row in rows if any(np.isfinite(values[row]) for values in outer.values())]
    if not told:
        return ()
    title = "Within the unisons: the outer strings, left on the side of the lower notes"
    return (View(table=starred(notes).only("note", "name", *outer), title=title, rows=told),)


def _widest_unison(table: BearingTable, units: Units) -> tuple[str, ...]:
    """Where the two outer strings of a note differ most in net bearing, in a sentence."""
    if table.outer is None:
        return ()
    left, right = table.outer.left.net_deg, table.outer.right.net_deg
    apart = np.abs(right - left)
    if not np.any(np.isfinite(apart)):
        return ()
    worst = int(np.nanargmax(apart))
    ends = [said("net_deg", float(net[worst]), units) for net in (left, right)]
    return (
        f"Within a unison the net bearing differs most at {note_words(int(table.note[worst]))}: {ends[0]} at its left "
        f"string, {ends[1]} at its right one, from the heights of the neighbouring notes.",
    )


def _beside(table: BearingTable, before: Before) -> Floats:
    """The net bearing before, at the notes of the table; NaN where the other has no such note."""
    net = dict(zip(before.table.note.tolist(), before.table.net_deg.tolist()))
    return np.array([net.get(note, np.nan) for note in table.note.tolist()])


def _told(table: BearingTable) -> tuple[str, ...]:
    """The columns shown: those of which anything is known."""
    return tuple(
        name
        for name in SHOWN.split()
        if name in ("note", "name") or np.any(np.isfinite(np.asarray(getattr(table, name))))
    )


def _headline(
    board: Board, table: BearingTable, spread: RimRange | None, units: Units, sureness: Sureness | None
) -> tuple[str, ...]:
    wanted = off_target(
        "net_deg", table.net_deg, table.target_net_deg, table.note.tolist(), board.rules.bearing_tolerance_deg
    )
    lines = [wanted]
    if table.state is not State.STRUNG:
        lines.append(
            "Targets hold under the strings: --state strung leads these heights there, plane says what to cut."
        )
    if np.isfinite(table.total_downforce_N):
        lines.append(f"Downforce in all: {said('total.downforce_N', table.total_downforce_N, units)}.")
    lines.append(sure(table.sink_source, spread))
    lines += [] if sureness is None else sureness.words("net_deg", table.name)
    return tuple(line for line in lines if line)
