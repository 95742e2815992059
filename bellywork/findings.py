"""What is wrong with the input, and how to mend it: findings are gathered, never raised one by one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

# Control characters (a terminal obeys them, a workbook refuses them), halves of letters, and marks that turn the
# direction of writing, behind which a name can hide what it says
_UNPRINTABLE = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")


def printable(text: str) -> str:
    r"""A text with a mark for each letter that no terminal, table or sheet may be handed; white space is a blank.

    >>> printable("a\x1b[31mb\tc")
    'a�[31mb c'
    """
    return _UNPRINTABLE.sub(lambda match: " " if match[0] in "\t\n\r\v\f" else "\N{REPLACEMENT CHARACTER}", text)


class Level(Enum):
    """How grave a finding is. UNUSABLE: nothing can be computed. WRONG: must be mended. ADVICE: look at it."""

    UNUSABLE = "unusable"
    WRONG = "wrong"
    ADVICE = "advice"


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a finding stands: a file of the board folder, and row, column and note as far as they apply.

    Rows count as a spreadsheet counts them: the header is row 1.
    """

    file: str = ""
    row: int | None = None
    column: str = ""
    note: int | None = None

    def __str__(self) -> str:
        parts = [self.file] if self.file else []
        if self.row is not None:
            parts.append(f"row {self.row}")
        if self.column:
            parts.append(f"column {self.column}")
        if self.note is not None:
            parts.append(f"note {self.note}")
        return ", ".join(parts)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing found: a stable code, where, what was found, what was expected, and how to mend it.

    >>> print(Finding(code="length-not-positive", place=Place(file="notes.csv", row=4, column="speaking_mm"),
    ...               found="-52 mm", expected="a length above 0 mm", remedy="Measure the speaking length again."))
    notes.csv, row 4, column speaking_mm: found -52 mm, expected a length above 0 mm. Measure the speaking length again.
    """

    code: str
    place: Place
    found: str
    expected: str
    remedy: str
    level: Level = Level.WRONG

    def __str__(self) -> str:
        where = f"{self.place}: " if str(self.place) else ""
        return f"{where}found {self.found}, expected {self.expected}. {self.remedy}"


def to_mend(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Those that are more than advice."""
    return tuple(finding for finding in findings if finding.level is not Level.ADVICE)
