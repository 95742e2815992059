"""What a push does to the board, told."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerTable, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.balance.pressing import Pressed
from bellywork.board.arrays import Floats
from bellywork.findings import Finding
from bellywork.measures import Units, counted
from bellywork.quantities import said

SCHEMA = "bellywork-press/2"


def press_answer(
    name: str, pressed: Pressed, at: Sequence[str], read_at: Sequence[str], *, units: Units, findings: Sequence[Finding]
) -> Answer:
    """The answer of `bellywork press`.

    at, read_at   the places of the pushes and of the points read, as they were asked
    findings      what to look at, such as a push beyond what a linear answer covers
    """
    form = FORMS[SCHEMA]
    rims = {f"sink_{rim}_mm": sink for rim, sink in pressed.sink_range_mm.items()}
    pushes = _table("pushes", at, pressed.places_mm, {"force_N": pressed.forces_N, "sink_mm": pressed.push_sink_mm})
    read = _table("read", read_at, pressed.read_mm, {"sink_mm": pressed.sink_mm, **rims})
    most = int(np.argmax(np.abs(pressed.sink_mm)))
    range_here = sorted(float(sink[most]) for sink in pressed.sink_range_mm.values())
    sink, *ends = (said("push.sink_mm", mm, units) for mm in (float(pressed.sink_mm[most]), *range_here))
    return Answer(
        schema=SCHEMA,
        title=f"{name}: sink under {counted(len(at), 'push')}, rim {pressed.rim}",
        headline=(
            f"{read_at[most]} sinks {sink}, the most of the points read (down positive); {' to '.join(ends)} were the "
            "rim clamped or hinged.",
        ),
        body=(View(table=pushes, legend=False), View(table=read)),
        parts=filled(form, {"pushes": pushes, "read": read}, pressed),
        findings=tuple(findings),
        assumptions=pressed.assumptions,
        act=bool(findings),
        units=units,
    )


def _table(key: str, at: Sequence[str], places_mm: Floats, values: dict[str, Floats]) -> AnswerTable:
    places = {"at": list(at), "x_mm": places_mm[:, 0], "y_mm": places_mm[:, 1]}
    return table_of(key, FORMS[SCHEMA].part(key).quantities, places, values)
