"""Tables and numbers as a bench can read them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from bellywork.conventions import UNITS

MISSING = "–"


@dataclass(frozen=True, kw_only=True)
class Units:
    """The units that a table is printed in."""

    length: str
    length_digits: int
    force: str
    force_digits: int

    def length_text(self, mm: float, *, signed: bool = False) -> str:
        """A length, for example '1.25' in mm or '0.049' in inches."""
        return number(UNITS[self.length].outside(mm), self.length_digits, signed=signed)

    def sink_text(self, mm: float) -> str:
        """A sink under a trial load: one digit more than a height, as it is small."""
        return number(UNITS[self.length].outside(mm), self.length_digits + 1)

    def force_text(self, newtons: float) -> str:
        """A force in this unit."""
        return number(UNITS[self.force].outside(newtons), self.force_digits)


UNIT_SETS = {
    "mm": Units(length="mm", length_digits=2, force="N", force_digits=1),
    "in": Units(length="in", length_digits=3, force="lb", force_digits=2),
}


def number(value: float, digits: int, *, signed: bool = False) -> str:
    """A number with fixed decimals; no '-0.00', and a dash for what is not known.

    >>> number(-0.001, 2), number(1.5, 1, signed=True), number(float("nan"), 2)
    ('0.00', '+1.5', '–')
    """
    if math.isnan(value):
        return MISSING
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if signed and rounded else ''}.{digits}f}"


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a table: what stands over it (words, then unit) and the text for a row."""

    head: str
    unit: str
    text: Callable[[int], str]
    left: bool = False


def table(columns: Sequence[Column], rows: Iterable[int]) -> str:
    """A table of text: two header lines (word, unit), then the rows by their index."""
    grid = [[c.head for c in columns], [c.unit for c in columns], *[[c.text(i) for c in columns] for i in rows]]
    widths = [max(len(line[k]) for line in grid) for k in range(len(columns))]
    pads = [str.ljust if c.left else str.rjust for c in columns]
    return "\n".join("  ".join(p(cell, w) for p, cell, w in zip(pads, line, widths)).rstrip() for line in grid)


def paragraph(title: str, sentences: Iterable[str]) -> str:
    """A titled list of sentences, one per line; empty where there are none."""
    lines = [f"  · {sentence}" for sentence in sentences]
    return "\n".join([title, *lines]) if lines else ""
