"""What was read at each stage, told beside what was predicted for it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import rows_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.conventions import note_name
from bellywork.measures import Units
from bellywork.quantities import said
from bellywork.seasons.outlook import days_in_words
from bellywork.seasons.stages import StageReading

SCHEMA = "bellywork-history/2"
USUAL_MM, USUAL_DEG = 0.3, 0.3  # a height and a gauge are read no better (common practice): off by less says nothing


def history_answer(name: str, readings: Sequence[StageReading], *, assumptions: Sequence[str], units: Units) -> Answer:
    """The answer of `bellywork bearing --history`."""
    form = FORMS[SCHEMA]
    heights = rows_of(
        "heights", form.part("heights").quantities, [_row(each) for each in readings if not each.by_gauge]
    )
    angles = rows_of("angles", form.part("angles").quantities, [_row(each) for each in readings if each.by_gauge])
    views = [
        View(title=title, table=table)
        for title, table in (("Height of the bridge top", heights), ("Net bearing by gauge", angles))
        if len(table)
    ]
    return Answer(
        schema=SCHEMA,
        title=f"{name}: what was read at each stage, and what was predicted for it",
        headline=_headline(readings, units),
        body=tuple(views),
        parts=filled(form, {"heights": heights, "angles": angles}),
        table=heights if len(heights) else angles,
        assumptions=tuple(assumptions),
        units=units,
    )


def _row(reading: StageReading) -> dict[str, object]:
    own = {"read": reading.read, "predicted": reading.predicted, "off": reading.off}
    unit = "deg" if reading.by_gauge else "mm"
    return {
        "date": reading.date,
        "state": reading.state.value,
        "years.day": reading.days,
        "note": reading.note,
        "name": note_name(reading.note),
        **{f"history.{key}_{unit}": value for key, value in own.items()},
    }


def _headline(readings: Sequence[StageReading], units: Units) -> tuple[str, ...]:
    lines = []
    for by_gauge, quantity, usual, what in (
        (False, "history.off_mm", USUAL_MM, "bridge"),
        (True, "history.off_deg", USUAL_DEG, "net bearing"),
    ):
        stages = dict.fromkeys((each.date, each.state, each.days) for each in readings if each.by_gauge is by_gauge)
        for date, state, days in stages:
            here = [each for each in readings if (each.date, each.state, each.by_gauge) == (date, state, by_gauge)]
            off = np.array([each.off for each in here])
            worst = here[int(np.argmax(np.abs(off)))]
            when = f"{date or 'No date'}, {state.value}{f', {days_in_words(days)} after the stringing' if days else ''}"
            fits = " That is as well as it can be read." if np.abs(off).max() <= usual else ""
            lines.append(
                f"{when}: {what} on average {said(quantity, float(off.mean()), units)} against the prediction, most "
                f"{said(quantity, worst.off, units)} at {note_name(worst.note)}.{fits}"
            )
    return tuple(lines)
