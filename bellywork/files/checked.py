"""Names and values held against their columns: the one checker for keys of TOML files and for cells of tables."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches

from bellywork.conventions import FIRST_NOTE, LAST_NOTE, UNITS, Unit, note_name
from bellywork.files.columns import Column, Kind
from bellywork.files.gather import Gathered, nearest
from bellywork.findings import Place

MOST_LETTERS = 300  # of a word: names stand in headings of sheets, sources in a line under them
LIKE_ENOUGH = 0.72  # a state that was not meant is worse than no hint: "part strung" is no "strung"
Value = float | int | str
Known = dict[str, tuple[Column, Unit]]

_NOT_OF_ITS_KIND = {
    Kind.NUMBER: ("not-a-number", "a number, as 12.5", "Write the number alone: its unit stands in its name."),
    Kind.NOTE: (
        "note-unknown",
        f"a note from {FIRST_NOTE} to {LAST_NOTE}, or {note_name(FIRST_NOTE)} to {note_name(LAST_NOTE)}",
        "Write the note's number or name.",
    ),
    Kind.DATE: ("date-unreadable", "a date, as 2026-05-01", "Write year-month-day."),
    Kind.WORD: ("not-a-word", "a word in quotes", 'Write it as "…".'),
}


def known_names(columns: Iterable[Column]) -> Known:
    """Column and unit by each name that may stand in a file."""
    return {name: (column, unit) for column in columns for name, unit in column.units.items()}


def meant_by(
    name: str, columns: Collection[Column], place: Place, gathered: Gathered, *, kind: str, more: Iterable[str] = ()
) -> str:
    """Say what is wrong with an unknown name; the stem that it was meant for, empty where that is not plain.

    kind   "column" or "key"
    more   names that may stand there beside those of the columns
    """
    for column in sorted(columns, key=lambda each: -len(each.stem)):
        before, _, unit = name.partition(column.stem)
        if column.kind is not Kind.NUMBER or before or (unit and not unit.startswith("_")):
            continue
        if not unit:
            gathered.add("unit-missing", place, f"'{name}' without a unit", " or ".join(column.units),
                         "Write the unit behind the name.")  # fmt: skip
            return column.stem
        if unit[1:] in UNITS or unit[1:].isalpha():
            gathered.add("unit-wrong", place, f"the unit '{unit[1:]}'", " or ".join(column.units),
                         "Convert the numbers, or correct the unit.")  # fmt: skip
            return column.stem
    names = {each: column.stem for column in columns for each in column.units} | dict.fromkeys(more, "")
    same = [each for each in names if each.lower() == name.lower()]
    near = same or get_close_matches(name, names, n=1)
    usual = [*(column.usual for column in columns), *more]
    gathered.add(f"{kind}-unknown", place, f"'{name}'", f"a {kind} that is known here",
                 nearest(name, names) if near else f"Known are: {', '.join(usual)}.")  # fmt: skip
    return names[near[0]] if near else ""


def checked(
    value: Value | None, shown: str, column: Column, unit: Unit, place: Place, gathered: Gathered
) -> Value | None:
    """A value that a column may hold, a number in bellywork's own unit; None, which is said, where it is none.

    value   as typed, None where it is nothing of the column's kind
    shown   the value as the finding shows it
    """
    if value is None:
        code, expected, remedy = _NOT_OF_ITS_KIND[column.kind]
        gathered.add(code, place, f"'{_short(shown)}'", expected, remedy)
        return None
    if column.kind is Kind.NUMBER:
        return _within(unit.inside(float(value)), _short(shown), column, unit, place, gathered)
    if isinstance(value, str) and len(value) > MOST_LETTERS:
        gathered.add("word-too-long", place, f"{len(value)} letters", f"at most {MOST_LETTERS}",
                     f"Write it shorter: {column.meaning}.")  # fmt: skip
        return None
    if column.choices and value not in column.choices:
        gathered.add("word-unknown", place, f"'{_short(shown)}'", " or ".join(column.choices),
                     nearest(str(value), column.choices, least=LIKE_ENOUGH))  # fmt: skip
        return None
    return value


def _within(value: float, shown: str, column: Column, unit: Unit, place: Place, gathered: Gathered) -> float | None:
    if column.least <= value <= column.most and not (column.whole and value != int(value)):
        return value
    low, high = f"{unit.outside(column.least):.4g}", f"{unit.outside(column.most):.4g}"
    gathered.add(
        "out-of-range",
        place,
        f"{shown} {unit.suffix}".strip(),
        f"{low} to {high} {unit.suffix}".strip() + (", whole" if column.whole else ""),
        f"Check the number and its unit: {column.meaning}.",
    )
    return None


def _short(text: str) -> str:
    """A text as a finding may carry it."""
    return text if len(text) <= 60 else f"{text[:60]}…"
