"""Tables of readings of crown and bearing."""

from __future__ import annotations

from bellywork.board.state import Climate, Reading, State
from bellywork.files.cell_text import note_in
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row, Table

_AT_NOTES = ("bridge_height", "front_deg", "rear_deg")


def readings(table: Table, gathered: Gathered, name: str) -> tuple[Reading, ...]:
    """Readings of crown and bearing from the table of this name; everything that is wrong with them is said."""
    return tuple(reading for row in table if (reading := _reading(row, gathered, name)) is not None)


def _reading(row: Row, gathered: Gathered, name: str) -> Reading | None:
    kind, before = row.word("kind"), gathered.grave
    stem, other = ("angle", "value") if kind.endswith("_deg") else ("value", "angle")
    if row.maybe(stem) is None or row.maybe(other) is not None:
        gathered.add("reading-form", row.place(stem), f"a reading of {kind} in the wrong cell, or in none",
                     f"the reading in the column {stem}, and none in {other}", "Move the number there.")  # fmt: skip
    place, note = row.word("place"), None
    if kind in _AT_NOTES:
        place, note = "", note_in(place)
    if kind in _AT_NOTES and note is None:
        gathered.add("note-unknown", row.place("place"), f"'{row.word('place')}'", f"the note at which {kind} was read",
                     "Write the note's number or name.")  # fmt: skip
    if gathered.grave > before:
        return None
    return Reading(
        kind=kind,
        place=place,
        note=note,
        value=row.value(stem),
        state=State(row.word("state")),
        climate=Climate(rh_percent=row.maybe("rh"), temperature_C=row.maybe("temperature"), date=row.word("date")),
        position_mm=row.maybe("position"),
        span_mm=row.maybe("span"),
        uncertainty=row.maybe("uncertainty"),
        table=name,
    )
