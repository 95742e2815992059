"""The bearing at every note, told."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import (
    INTERPOLATED,
    by_section,
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
    quantities, bands = form.part("notes").quantities, banded(sureness)
    if before is None:
        notes = notes_table(table, quantities, *bands, spread=spread)
    else:
        beside = _beside(table, before)
        compared = {"against_net_deg": beside, "net_change_deg": table.net_deg - beside}
        notes = notes_table(table, (*quantities, *compared), compared, *bands, spread=spread)
    worst = int(np.argmax(np.abs(table.deviation_deg)))
    rows = shown_places(every, table.reference, worst)
    columns = (*_told(table), *(() if before is None else ("against_net_deg", "net_change_deg")))
    shown = starred(notes).only(*columns, bands=("net_deg", "sink_mm"))
    view = View(table=shown, rows=rows, groups=by_section(table, units))
    sources = {"state": table.state.value, "sink_source": table.sink_source.value, "worst_note": table.worst_note}
    return Answer(
        schema=SCHEMA,
        title=f"{board.name}: bearing of the {state_words(table.state)}",
        headline=(*(() if before is None else (before.words,)), *_headline(board, table, spread, units, sureness)),
        body=(
            view,
            "" if every else "Shown are the reference notes and the worst; --all shows every note.",
            "" if table.measured.all() else INTERPOLATED,
        ),
        parts=filled(form, {**sources, "notes": notes, "totals": totals(table, sureness)}),
        table=notes,
        findings=table.findings,
        to_look_at=() if sureness is None else sureness.doubts,
        assumptions=table.assumptions,
        act=bool(table.findings),
        units=units,
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
    if table.findings:
        lines.append(f"{len(table.findings)} to look at, under the table.")
    return tuple(line for line in lines if line)
