"""Findings gathered while a folder is read."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from difflib import get_close_matches
from typing import TypeVar

from bellywork.findings import Finding, Level, Place, printable

Made = TypeVar("Made")


class Gathered:
    """A list of findings, and how they are added."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.grave = 0  # how many of them are graver than advice

    def add(
        self,
        code: str,
        place: Place,
        found: str,
        expected: str,
        remedy: str,
        *,
        level: Level = Level.WRONG,
    ) -> None:
        """Add one finding; names and cells in it are made printable."""
        place = replace(place, file=printable(place.file), column=printable(place.column))
        found, expected, remedy = printable(found), printable(expected), printable(remedy)
        self.findings.append(
            Finding(code=code, place=place, found=found, expected=expected, remedy=remedy, level=level)
        )
        self.grave += level is not Level.ADVICE

    def clean(self, make: Callable[[], Made]) -> Made | None:
        """What `make` gives, or None where a grave finding was added on the way."""
        before = self.grave
        made = make()
        return made if self.grave == before else None


def nearest(word: str, known: Iterable[str], *, least: float = 0.6) -> str:
    """A hint at the known word nearest to this one, or at all of them; capitals make no difference.

    least   how like it the word must be, 0 to 1: high where a wrong hint would change what is meant

    >>> nearest("speeking_mm", ["speaking_mm", "back_mm"])
    'Did you mean speaking_mm?'
    >>> nearest("Speaking_MM", ["speaking_m", "speaking_mm"])
    'Did you mean speaking_mm?'
    >>> nearest("part strung", ["bare", "strung"], least=0.72)
    'Known are: bare, strung.'
    """
    names = list(known)
    same = [name for name in names if name.lower() == word.lower()]
    near = same or get_close_matches(word, names, n=1, cutoff=least)
    return f"Did you mean {near[0]}?" if near else f"Known are: {', '.join(names)}."
