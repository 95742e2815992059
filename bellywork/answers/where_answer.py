"""Where to press and read next, told."""

from __future__ import annotations

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import rows_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.where import Advice
from bellywork.estimate.words import doubts, learned_words
from bellywork.measures import Units
from bellywork.quantities import said

SCHEMA = "bellywork-where/2"
FEW = 3


def where_answer(name: str, estimate: Estimate, advice: Advice, *, units: Units) -> Answer:
    """The answer of `bellywork press --where`."""
    found, band = advice.candidates, advice.band_deg
    places = [
        {
            "at": found.name[k],
            "x_mm": float(found.place_mm[k, 0]),
            "y_mm": float(found.place_mm[k, 1]),
            "force_N": float(found.force_N[k]),
            "where.sink_mm": float(found.sink_mm[k]),
            "where.band_deg": float(after),
        }
        for k, after in zip(advice.chosen, band[1:])
    ]
    form = FORMS[SCHEMA]
    table = rows_of("places", form.part("places").quantities, places)
    few = min(FEW, len(places))
    now, after, all_ = (said("where.band_deg", float(value)) for value in (band[0], band[few], band[-1]))
    learned = learned_words(estimate)
    return Answer(
        schema=SCHEMA,
        title=f"{name}: where to press the bare board and read a dial",
        headline=(
            *([learned] if learned else []),
            f"The net bearing that you plane for is known to ±{now} (95 %, root mean square over the notes). The first "
            f"{'place' if few == 1 else f'{few} places'} should bring ±{after}"
            f"{f', all {len(places)} ±{all_}' if len(places) > few else ''}.",
            "Set a dial to zero beside the place, lay the load on, read how far it sinks, take it off: the dial comes "
            "back to zero, or read again. Write each as a row of trials.csv; then ask again, for the list is renewed.",
        ),
        body=(View(table=table),),
        parts=filled(form, {"now_deg": float(band[0]), "places": table}),
        to_look_at=doubts(estimate),
        assumptions=(
            "A dial is taken to be good to 0.03 mm; the load sinks the place by about 0.6 mm, and is 250 N at most.",
            "How far each is expected to help does not hang on what it reads.",
        ),
        units=units,
    )
