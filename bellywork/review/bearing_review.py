"""What to look at in a bearing: lifted strings, tilted bridge tops, overstressed wire; one finding per section."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.findings import Finding, Level, Place
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.string_line import Bearing

TILT_TOLERANCE_DEG = 0.005  # what rounding to a hundredth of a degree hides is no tilt


def bearing_findings(line: StringLine, turned: Bearing, state: State, strength_share: Floats) -> tuple[Finding, ...]:
    """Findings on a bearing, section by section.

    state            the one that the heights are of
    strength_share   tension over breaking load per note; NaN where the scale is not known
    """
    return (*_lifted(line, turned, state), *_tilted(line, turned, state), *_overstressed(line, strength_share))


def _lifted(line: StringLine, turned: Bearing, state: State) -> list[Finding]:
    return by_section(
        line,
        turned.lifted,
        lambda at, words: Finding(
            code="lift-off",
            place=Place(file="notes.csv", note=int(line.note[at[0]])),
            found=f"{turned.net_deg[at].min():.2f}° net on the {state.value} board, at {words}",
            expected="a net bearing above 0°",
            remedy="Read it again first. If it is so, these strings do not press on the bridge: raise its top with a "
            "new cap, or lower the plate.",
            level=Level.ADVICE,
        ),
    )


def _tilted(line: StringLine, turned: Bearing, state: State) -> list[Finding]:
    weaker = np.minimum(turned.front_deg, turned.rear_deg)
    side = np.where(turned.front_deg < turned.rear_deg, "front", "rear")
    return by_section(
        line,
        turned.tilted & (weaker < -TILT_TOLERANCE_DEG),
        lambda at, words: Finding(
            code="tilted-top",
            place=Place(file="notes.csv", note=int(line.note[at[0]])),
            found=f"{weaker[at].min():.2f}° on the {state.value} board, at the "
            f"{' and '.join(sorted(set(side[at].tolist())))} pins of {words}",
            expected="front and rear bearing of 0° or more",
            remedy="Read it again first. If it is so, the bridge top is tilted: correct its slope. Only the slant of "
            "the pins holds the strings there.",
            level=Level.ADVICE,
        ),
    )


def _overstressed(line: StringLine, strength_share: Floats) -> list[Finding]:
    return by_section(
        line,
        strength_share >= 1.0,
        lambda at, words: Finding(
            code="wire-over-strength",
            place=Place(file="scale.csv", note=int(line.note[at[0]])),
            found=f"{100.0 * strength_share[at].max():.0f} % of the breaking load at {words}",
            expected="less than 100 %",
            remedy="Check speaking length and wire; do not bring such a wire to pitch.",
        ),
    )


def by_section(line: StringLine, here: Bools, finding: Callable[[Ints, str], Finding]) -> list[Finding]:
    """One finding for each section that has marked notes; `finding` gets their indices and their names in words."""
    found = []
    for places in line.sections.values():
        at = places[here[places]]
        if len(at):
            found.append(finding(at, notes_in_words(line.note[at].tolist())))
    return found
