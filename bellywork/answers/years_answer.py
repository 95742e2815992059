"""The years of a strung board, told: bearing, bridge, crown, stress and set at each time since it was strung."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerColumn, AnswerTable, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import note_words, shown_places
from bellywork.answers.sureness import TIME_BAND
from bellywork.board.arrays import Floats
from bellywork.conventions import note_name
from bellywork.measures import Units
from bellywork.quantities import said
from bellywork.seasons.outlook import Outlook, days_in_words

SCHEMA = "bellywork-years/2"
BEYOND = 2.0  # times the limit: past it no test stands behind the laws of set
SCALES = {"set_permille": ("set_strain", 1000.0)}  # what a person reads, of what the outlook holds


def years_answer(
    name: str, years: Outlook, *, units: Units, every: bool = False, against: tuple[str, Outlook] | None = None
) -> Answer:
    """The answer of `bellywork season --years`.

    every     show every note
    against   name of another board, and that through the same times
    """
    form, days = FORMS[SCHEMA], years.day.tolist()
    times = [days_in_words(day) for day in days]
    names = [note_name(note) for note in years.note]
    notes = _notes(years)
    each_rib = {"rib": years.rib, "span_mm": years.span_mm.tolist()}
    ribs = _long(years, "ribs", form.part("ribs").quantities, days, each_rib)
    board = _times(years)
    least, most = years.last_year()
    last = table_of(
        "last_year",
        form.part("last_year").quantities,
        {"note": years.note, "name": names, "net_least_deg": least, "net_most_deg": most},
    )
    weakest = int(np.argmin(least))
    rows, crushed = shown_places(every, years.reference, weakest), _crushed(years, units)
    named, in_a_year = last.only("note", "name"), last.only("net_least_deg", "net_most_deg")
    return Answer(
        schema=SCHEMA,
        title=f"{name}: {times[-1]} under the strings, in air of {years.life.air.name}",
        headline=(*_headline(years, names, weakest, times, units), *_beside(name, years, against, times, units)),
        body=(
            View(title="The board", table=board, rows=None),
            View(
                title=f"Net bearing under the strings, °; least and most within {_season_words(years)}",
                table=_wide(named, notes, "years.net_deg", times, in_a_year.columns),
                rows=rows,
                legend=False,
            ),
            View(
                title="Bridge top against the bare board on the day of stringing",
                table=_wide(named, notes, "years.height_mm", times),
                rows=rows,
                legend=False,
            ),
            View(
                title="Crown of each rib under the strings: rise of its middle over the line between its ends",
                table=_wide(table_of("ribs", ("rib", "span_mm"), each_rib), ribs, "years.rise_mm", times),
                legend=False,
            ),
            *_other_views(against, times, every),
        ),
        parts=filled(
            form, {"times": board, "notes": notes, "last_year": last, "ribs": ribs, "against": _other(against)}
        ),
        table=notes,
        assumptions=(*years.assumptions, *_other_assumed(years, against)),
        to_look_at=crushed,
        act=bool(least[weakest] <= 0.0 or crushed),
        below="1 to look at, under the tables." if crushed else "",
        left_out=""
        if every
        else "Shown are the reference notes and the one with least bearing; --all shows every note.",
        units=units,
    )


def _notes(years: Outlook) -> AnswerTable:
    names = [note_name(note) for note in years.note]
    quantities = FORMS[SCHEMA].part("notes").quantities
    return _long(years, "notes", quantities, years.day.tolist(), {"note": list(years.note), "name": names})


def _times(years: Outlook) -> AnswerTable:
    days = years.day.tolist()
    return _board(years, FORMS[SCHEMA].part("times").quantities, [days_in_words(day) for day in days], days)


def _other(against: tuple[str, Outlook] | None) -> dict[str, Any] | None:
    """The other board in JSON."""
    if against is None:
        return None
    return {"years.against": against[0], "times": _times(against[1]), "notes": _notes(against[1])}


def _other_views(against: tuple[str, Outlook] | None, times: Sequence[str], every: bool) -> tuple[View, ...]:
    """The other board's tables, in the same order."""
    if against is None:
        return ()
    name, years = against
    named = table_of("notes", ("note", "name"), {"note": years.note, "name": [note_name(note) for note in years.note]})
    rows = shown_places(every, years.reference, int(np.argmin(years.last_year()[0])))
    return (
        View(title=f"Beside it: {name}", table=_times(years), rows=None, legend=False),
        View(
            title=f"Net bearing of {name} under its strings",
            table=_wide(named, _notes(years), "years.net_deg", times),
            rows=rows,
            legend=False,
        ),
    )


def _other_assumed(years: Outlook, against: tuple[str, Outlook] | None) -> tuple[str, ...]:
    """What the other board stands on besides."""
    if against is None:
        return ()
    return tuple(f"{against[0]}: {line}" for line in against[1].assumptions if line not in years.assumptions)


def _beside(
    name: str, years: Outlook, against: tuple[str, Outlook] | None, times: Sequence[str], units: Units
) -> tuple[str, ...]:
    """How the other board differs, in sentences."""
    if against is None:
        return ()
    other, beside = against
    both = [note for note in years.note if note in beside.note]
    here, there = ([part.note.index(note) for note in both] for part in (years, beside))
    (net, ends), (net_beside, ends_beside) = (_at(part, "net_deg") for part in (years, beside))
    (force, _), (force_beside, _) = (_at(part, "downforce_N") for part in (years, beside))
    lines = []
    if both:
        gap = net[-1, here] - net_beside[-1, there]
        k = int(np.argmax(np.abs(gap)))
        told = [
            f"{said('net_deg', float(value[-1, at]))} ({said('net_deg', float(low[-1, at]))} to "
            f"{said('net_deg', float(high[-1, at]))}) on {whose}"
            for value, (low, high), at, whose in (
                (net, ends, here[k], name),
                (net_beside, ends_beside, there[k], other),
            )
        ]
        lines.append(f"After {times[-1]} the two differ most at {note_words(both[k])}: {told[0]}, {told[1]}.")
    kept = [100.0 * float(each[-1] / each[0]) for each in (force, force_beside)]
    lines.append(
        f"Of the downforce just strung {name} keeps {kept[0]:.0f} % and {other} {kept[1]:.0f} %: "
        f"{said('total.downforce_N', float(force[-1]), units)} and "
        f"{said('total.downforce_N', float(force_beside[-1]), units)}."
    )
    return tuple(lines)


def _crushed(years: Outlook, units: Units) -> tuple[str, ...]:
    """What is pressed across its grain beyond what its wood bears, said loudly."""
    day, share, pressed = years.most_pressed()
    if not share > 1.0:
        return ()
    far = (
        " So far beyond it these laws were never measured: do not build on these numbers."
        if share > BEYOND
        else " Its set is in these numbers."
    )
    when = "Just strung" if day < 0.5 else f"{days_in_words(round(day)).capitalize()} after the stringing"
    return (
        f"{when} the panel is pressed across its grain by {said('across_MPa', pressed, units, signed=False)} over more "
        f"than 2 % of it, {share:.1f} times the limit at which its wood begins to be crushed.{far}",
    )


def _season_words(years: Outlook) -> str:
    return "the last year" if years.day.max() > 365.0 else "this time"


def _at(years: Outlook, key: str) -> tuple[Floats, tuple[Floats, Floats]]:
    """A quantity at each time, and the ends of its band."""
    name, scale = SCALES.get(key, (key, 1.0))
    middle, low, high = (scale * part[name] for part in (years.middle, years.low, years.high))
    return middle, (low, high)


def _board(years: Outlook, quantities: Sequence[str], times: Sequence[str], days: Sequence[float]) -> AnswerTable:
    """One row for each time."""
    banded = {"years.downforce_N": "downforce_N", "across_MPa": "across_MPa", "set_permille": "set_permille"}
    told = {name: _at(years, key) for name, key in banded.items()}
    stops = [years.service.at(years.life.before_days + day) for day in days]
    values = {
        "years.time": times,
        "years.day": days,
        "years.moisture_percent": years.service.moisture_percent[stops],
        **{name: middle for name, (middle, _) in told.items()},
    }
    return table_of("times", quantities, values, bands={name: band for name, (_, band) in told.items()})


def _long(
    years: Outlook, key: str, quantities: Sequence[str], days: Sequence[float], things: dict[str, Sequence[object]]
) -> AnswerTable:
    """One row for each time and thing."""
    banded = {"years.net_deg": "net_deg", "years.height_mm": "height_mm", "years.rise_mm": "rib_rise_mm"}
    told = {name: _at(years, banded[name]) for name in quantities if name in banded}
    count = len(next(iter(things.values())))
    values = {
        "years.day": np.repeat(days, count),
        **{name: list(thing) * len(days) for name, thing in things.items()},
        **{name: middle.ravel() for name, (middle, _) in told.items()},
    }
    bands = {name: (low.ravel(), high.ravel()) for name, (_, (low, high)) in told.items()}
    return table_of(key, quantities, values, bands=bands)


def _wide(
    things: AnswerTable,
    long: AnswerTable,
    quantity: str,
    times: Sequence[str],
    after: Sequence[AnswerColumn] = (),
) -> AnswerTable:
    """Beside the things a column for each time, the last with its band, and what comes after."""
    column = long[quantity]
    assert column.band is not None
    values, low, high = (np.reshape(each, (len(times), -1)) for each in (column.values, *column.band))
    wide = [
        AnswerColumn(
            quantity=quantity,
            values=values[k],
            head=time,
            band=(low[k], high[k]) if k == len(times) - 1 else None,
        )
        for k, time in enumerate(times)
    ]
    return AnswerTable(key=long.key, columns=(*things.columns, *wide, *after))


def _headline(
    years: Outlook, names: Sequence[str], weakest: int, times: Sequence[str], units: Units
) -> tuple[str, ...]:
    net, (low, high) = _at(years, "net_deg")
    forces, (least, most) = _at(years, "downforce_N")
    fallen = int(np.argmax(net[0] - net[-1]))
    lowest = years.last_year()[0][weakest]

    def ends(quantity: str, below: float, above: float) -> str:
        return f"({said(quantity, below, units)} to {said(quantity, above, units)})"

    lines = [
        f"{names[fallen]} loses most: from {said('net_deg', float(net[0, fallen]))} just strung to "
        f"{said('net_deg', float(net[-1, fallen]))} "
        f"{ends('net_deg', float(low[-1, fallen]), float(high[-1, fallen]))} after {times[-1]}.",
        f"Downforce in all: from {said('total.downforce_N', float(forces[0]), units)} to "
        f"{said('total.downforce_N', float(forces[-1]), units)} "
        f"{ends('total.downforce_N', float(least[-1]), float(most[-1]))}.",
        f"Within {_season_words(years)} {note_words(years.note[weakest])} comes down to {said('net_deg', lowest)} net"
        + ("." if lowest > 0.0 else ": its bearing is lost for part of the year."),
        TIME_BAND,
    ]
    return tuple(lines)
