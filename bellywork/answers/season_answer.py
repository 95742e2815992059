"""The board through the year, told."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerColumn, AnswerTable, rows_of, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import note_words, shown_places
from bellywork.board.arrays import Bools, Floats
from bellywork.conventions import note_name
from bellywork.measures import Units
from bellywork.quantities import said
from bellywork.seasons.year import Season

SCHEMA = "bellywork-season/2"
ACROSS = ("height_change_mm", "net_bare_deg", "net_deg", "along_mm", "held_cents", "slipping_cents")
LONG = (
    "rh_percent", "note", "name", "height_change_mm", "net_bare_deg", "net_strung_deg", "along_mm", "held_cents",
    "slipping_cents",
)  # fmt: skip

PITCH = (
    "Pitch from the bridge's movement alone, twice: a real string lies between the two. It is no gauge of crown:\n"
    "0.01 mm of the bridge along the string does as much as 1 mm of rise, and caps that swell on their slanted pins\n"
    "are not reckoned."
)


def season_answer(name: str, year: Season, *, reference: Bools, units: Units, every: bool = False) -> Answer:
    """The answer of `bellywork season`.

    reference   the notes to be worked at      every   show every note
    """
    form = FORMS[SCHEMA]
    driest = int(np.argmin(year.net_deg.min(axis=0)))
    rows = shown_places(every, reference, driest)
    names = [note_name(note) for note in year.note]
    across = {key: getattr(year, key).T for key in ACROSS}
    notes = table_of("notes", form.part("notes").quantities, {**across, "name": names}, year)
    ribs = rows_of("ribs", form.part("ribs").quantities, year.ribs)

    def wide(title: str, table: AnswerTable, heads: str, quantity: str, shown: Sequence[int] | None) -> View:
        columns = _wide(table, heads.split(), quantity, year.rh_percent)
        return View(title=title, table=columns, rows=shown, legend=False)

    return Answer(
        schema=SCHEMA,
        title=f"{name}: the year, measured at {_rh(year.reference_rh_percent)}",
        headline=_headline(year, driest, units),
        body=(
            wide("Net bearing, strung", notes, "note name", "season.net_deg", rows),
            wide(
                "Height of the bridge, bare, against the measurement",
                notes,
                "note name",
                "season.height_change_mm",
                rows,
            ),
            PITCH,
            wide(
                "Pitch, were nobody to tune, in cents: pins hold",
                notes,
                "note name",
                "season.held_cents",
                rows,
            ),
            wide("The same: strings slip over their pins", notes, "note name", "season.slipping_cents", rows),
            wide(
                "Crown of each rib, bare: rise of its middle over the line between its ends",
                ribs,
                "rib span_mm",
                "season.rise_mm",
                None,
            ),
        ),
        parts=filled(form, {"notes": notes, "ribs": ribs, "totals": year, "first_lost": _lost(year)}, year),
        table=_long(year, names),
        to_look_at=year.warnings,
        assumptions=year.assumptions,
        act=bool(year.lost or year.warnings),
        below=f"{len(year.warnings)} to look at, under the tables." if year.warnings else "",
        left_out=""
        if every
        else "Shown are the reference notes and the one with least bearing; --all shows every note.",
        units=units,
    )


def _rh(percent: float) -> str:
    return f"{percent:.0f} % RH"


def _lost(year: Season) -> dict[str, float] | None:
    return None if year.lost is None else {"note": year.lost[0], "rh_percent": year.lost[1]}


def _headline(year: Season, driest: int, units: Units) -> tuple[str, ...]:
    at = int(year.net_deg[:, driest].argmin())
    least = said("net_deg", float(year.net_deg[at, driest]))
    lost = (
        "No note loses its bearing in this range."
        if year.lost is None
        else f"Bearing is lost first at {note_words(year.lost[0])}, at {_rh(year.lost[1])}."
    )
    forces = ", ".join(
        f"{said('total.downforce_N', float(force), units)} at {_rh(float(rh))}"
        for force, rh in zip(year.downforce_N, year.rh_percent)
    )
    return (
        f"Least bearing strung: {note_words(year.note[driest])}, {least} at {_rh(float(year.rh_percent[at]))}. {lost}",
        f"Downforce in all: {forces}.",
    )


def _wide(table: AnswerTable, heads: Sequence[str], quantity: str, rh_percent: Floats) -> AnswerTable:
    """A column for each humidity."""
    values = np.array(list(table[quantity].values))
    columns = tuple(
        AnswerColumn(quantity=quantity.removeprefix("season."), values=values[:, k], head=f"{rh:.0f} %")
        for k, rh in enumerate(rh_percent.tolist())
    )
    return AnswerTable(key=table.key, columns=(*table.only(*heads).columns, *columns))


def _long(year: Season, names: Sequence[str]) -> AnswerTable:
    """One row for each humidity and note."""
    times, notes = len(year.rh_percent), len(year.note)
    values = {
        "rh_percent": np.repeat(year.rh_percent, notes),
        "note": list(year.note) * times,
        "name": list(names) * times,
        "height_change_mm": year.height_change_mm.ravel(),
        "net_bare_deg": year.net_bare_deg.ravel(),
        "net_strung_deg": year.net_deg.ravel(),
        **{key: getattr(year, key).ravel() for key in ("along_mm", "held_cents", "slipping_cents")},
    }
    return table_of("notes", LONG, values)
