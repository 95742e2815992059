"""Wood cannot be added: what mends a note whose bridge is too low, and caps that planing leaves too thin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.strings import StringLine
from bellywork.board.targets import PlaningRules
from bellywork.findings import Finding, Place
from bellywork.geometry.naming import notes_in_words
from bellywork.review.bearing_review import by_section


@dataclass(frozen=True, kw_only=True)
class Cure:
    """What would mend the short notes of one section; one of the three.

    notes           the short notes
    short_mm        wood lacking at the worst of them; a cap so much thicker than the present one would do
    cap_mm          thickness of that cap before planing, at the worst note; NaN where the present cap is not known
    plate_down_mm   lowering the plate by so much, all over, would do too
    reachable_deg   net bearing, strung, that the worst note reaches as it is
    worst_note      the note that lacks most
    """

    section: str
    notes: tuple[int, ...]
    short_mm: float
    cap_mm: float
    plate_down_mm: float
    reachable_deg: float
    worst_note: int

    def __str__(self) -> str:
        cap = "" if np.isnan(self.cap_mm) else f" ({self.cap_mm:.1f} mm in all)"
        return (
            f"{notes_in_words(self.notes)}: {self.short_mm:.2f} mm short. "
            f"A cap thicker by {self.short_mm:.2f} mm{cap}, or the plate lower by {self.plate_down_mm:.2f} mm, "
            f"or a target of {self.reachable_deg:.2f}° there."
        )


def cures(line: StringLine, depth: tuple[Floats, Floats], short: Bools, reached_deg: Floats) -> tuple[Cure, ...]:
    """A cure for each section with short notes.

    depth         depth to plane at front and rear pins, mm; negative where short
    reached_deg   net bearing, strung, with the short notes left unplaned
    """
    lacking = np.maximum(-np.minimum(*depth), 0.0)
    found = []
    for section in dict.fromkeys(line.section):
        at = np.flatnonzero(short & np.array([name == section for name in line.section]))
        if not len(at):
            continue
        worst = at[np.argmax(lacking[at])]
        found.append(
            Cure(
                section=section,
                notes=tuple(line.note[at].tolist()),
                short_mm=float(lacking[worst]),
                cap_mm=float(line.cap_mm[worst] + lacking[worst]),
                plate_down_mm=float(lacking[worst]),
                reachable_deg=float(reached_deg[worst]),
                worst_note=int(line.note[worst]),
            )
        )
    return tuple(found)


def planing_findings(line: StringLine, cap_left_mm: Floats, rules: PlaningRules) -> tuple[Finding, ...]:
    """A finding for each section whose cap planing and notching leave thinner than the rules allow."""
    return tuple(
        by_section(
            line,
            cap_left_mm < rules.cap_least_mm,
            lambda at, words: Finding(
                code="cap-too-thin",
                place=Place(note=int(line.note[at[np.argmin(cap_left_mm[at])]])),
                found=f"{cap_left_mm[at].min():.2f} mm of cap left under the notches at {words}",
                expected=f"{rules.cap_least_mm:.2f} mm or more",
                remedy="Raise the plate, or plan a new cap there.",
            ),
        )
    )
