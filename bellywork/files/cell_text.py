"""What a cell says: numbers as shops write them, notes by number or name, dates."""

from __future__ import annotations

import datetime
import math
import re

from bellywork.conventions import FIRST_NOTE, LAST_NOTE, note_name

_FRACTION = re.compile(r"^([+-]?)(?:(\d{1,6})[ -])?(\d{1,6})/(\d{1,6})$")
_NOTES = {note_name(number): number for number in range(FIRST_NOTE, LAST_NOTE + 1)}


def number_in(text: str) -> float | None:
    """The number in a cell: decimal point or comma, or a whole and a fraction; None where it is none.

    >>> [number_in(t) for t in ("12.5", "12,5", "20 1/16", "-3/8", "1e3", "nan", "12mm")]
    [12.5, 12.5, 20.0625, -0.375, 1000.0, None, None]
    """
    text = text.strip().replace("\N{MINUS SIGN}", "-")
    if match := _FRACTION.match(text):
        sign, whole, top, bottom = match.groups()
        if int(bottom) == 0:
            return None
        value = int(whole or 0) + int(top) / int(bottom)
        return -value if sign == "-" else value
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    if "_" in text:
        return None
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def note_in(text: str) -> int | None:
    """The note in a cell, by number 1 to 88 or by name; None where it is none.

    >>> [note_in(t) for t in ("88", "C8", "c#4", "C♯4", "Bb3", "49.0", "89")]
    [88, 88, 41, 41, 38, 49, None]
    """
    text = text.strip()
    value = number_in(text)
    if value is not None:
        return int(value) if value == int(value) and FIRST_NOTE <= value <= LAST_NOTE else None
    match = re.fullmatch(r"([A-Ga-g])([#♯b♭]?)(\d)", text)
    if not match:
        return None
    letter, sign, octave = match.groups()
    if sign in ("b", "♭"):
        natural = _NOTES.get(f"{letter.upper()}{octave}")
        flat = None if natural is None else natural - 1
        return flat if flat is not None and flat >= FIRST_NOTE else None
    return _NOTES.get(f"{letter.upper()}{'♯' if sign else ''}{octave}")


def notes_in(text: str) -> tuple[int, ...] | None:
    """Notes in ranges, ascending; None where a part is none, or runs downwards.

    >>> notes_in("87-88, A0 to C1, 40"), notes_in("44-1"), notes_in("1-"), notes_in("")
    ((1, 2, 3, 4, 40, 87, 88), None, None, None)
    """
    found: set[int] = set()
    for part in re.split(r"[,;]", text):
        first, _, last = (each.strip() for each in re.sub(r"\s+to\s+|–", "-", part).partition("-"))
        ends = note_in(first), note_in(last if "-" in part or "–" in part or " to " in part else first)
        if ends[0] is None or ends[1] is None or ends[0] > ends[1]:
            return None
        found.update(range(ends[0], ends[1] + 1))
    return tuple(sorted(found))


def date_in(text: str) -> str | None:
    """The date in a cell, year-month-day (ISO 8601); None where it is none.

    >>> [date_in(t) for t in ("2026-05-01", "1.5.2026")]
    ['2026-05-01', None]
    """
    try:
        return datetime.date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        return None


def could_be_thousands(text: str, mark: str) -> bool:
    """Whether a comma or point in a number may just as well part the thousands: one mark, three digits behind it.

    >>> [could_be_thousands(t, ",") for t in ("1,250", "0,925", "12,5", "1250")]
    [True, False, False, False]
    """
    return re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}\{mark}\d{{3}}", text.strip()) is not None
