"""Wood cannot be added: what mends a note whose bridge is too low, and caps that planing leaves too thin."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.wanted import Wanted
from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.plate import PlateSupport
from bellywork.board.strings import StringLine
from bellywork.board.targets import PlaningRules
from bellywork.findings import Finding, Place
from bellywork.geometry.string_line import heights_for, run_mm
from bellywork.review.bearing_review import by_section

SHORTEST_BACK_MM = 10.0  # a rear rest nearer to its pins than this is none; common practice, no source
HALVINGS = 30


@dataclass(frozen=True, kw_only=True)
class Cure:
    """What would mend the short notes of one section; one of these is enough. NaN: that does not mend it.

    notes           the short notes
    worst_note      the note that lacks most
    short_mm        wood lacking there; a cap so much thicker than the present one would do
    cap_mm          thickness of that cap before planing, at the worst note; NaN where the present cap is not known
    plate_down_mm   lowering the plate by so much, all over, would do; NaN where its supports do not allow it
    rest_down_mm    lowering the rear rests would do: by so much where it is most
    back_mm         a back length of so much at the worst note would do, the rear rest at its height moved nearer
    front_share     another share of the net at the front pins would do: both pin rows then have wood
    reachable_deg   net bearing that the worst note gets as it is; NaN where that is no bearing to aim at
    """

    section: str
    notes: tuple[int, ...]
    worst_note: int
    short_mm: float
    cap_mm: float
    plate_down_mm: float
    rest_down_mm: float
    back_mm: float
    front_share: float
    reachable_deg: float


EVEN_MM = 0.005  # less is lost in rounding


def short_of_wood(depth: tuple[Floats, Floats], degrees_per_mm: Floats, rules: PlaningRules) -> Bools:
    """Where wood is short at one of the pin rows by more than the bearing tolerance is worth in mm.

    depth            to plane at front and rear pins, mm, negative where wood is lacking
    degrees_per_mm   net bearing lost for each mm of height
    """
    lacking = -np.fmin(*depth)
    return np.asarray(lacking * degrees_per_mm > rules.bearing_tolerance_deg)


def cures(
    line: StringLine,
    want: Wanted,
    depth: tuple[Floats, Floats],
    short: Bools,
    got_deg: Floats,
    supports: tuple[PlateSupport, ...],
) -> tuple[Cure, ...]:
    """A cure for each section with short notes.

    line      heights of plate and bare bridge
    depth     depth to plane at front and rear pins, mm; negative where short
    got_deg   net bearing after cutting, with the short notes left as they are
    """
    lacking = np.maximum(-np.minimum(*depth), 0.0)
    lowest = min((-support.lowest_move_mm for support in supports), default=np.inf)
    rest, back = _rest_down(line, depth), _back_length(line, want, depth)
    found = []
    for section, here in line.sections.items():
        at = here[short[here]]
        if not len(at):
            continue
        worst = at[np.argmax(lacking[at])]
        need, got = float(lacking[worst]), float(got_deg[worst])
        found.append(
            Cure(
                section=section,
                notes=tuple(line.note[at].tolist()),
                worst_note=int(line.note[worst]),
                short_mm=need,
                cap_mm=float(line.cap_mm[worst] + need),
                plate_down_mm=need if need <= lowest else np.nan,
                rest_down_mm=float(np.max(rest[at])),
                back_mm=float(back[worst]),
                front_share=_share(line, want, depth, at),
                reachable_deg=got if got > 0.0 else np.nan,
            )
        )
    return tuple(found)


def _rest_down(line: StringLine, depth: tuple[Floats, Floats]) -> Floats:
    """How far the rear rest must come down for the wanted top to come down to the present one, in mm.

    The wanted top goes with the straight line from F to R: of what R comes down it follows by its share of the way.
    """
    reach = line.speaking_mm, line.speaking_mm + line.rows_mm
    return run_mm(line) * np.maximum(*(-row / far for row, far in zip(depth, reach)))


def _back_length(line: StringLine, want: Wanted, depth: tuple[Floats, Floats]) -> Floats:
    """The longest back length, R at its height moved nearer, at which the wanted top stands no higher than the present
    one; NaN where none does. The net stays, so do the force and the sink. By halving.
    """
    present = want.front_mm + depth[0], want.rear_mm + depth[1]

    def low_enough(back_mm: Floats) -> Bools:
        tops = heights_for(replace(line, back_mm=back_mm), want.net_deg, want.front_share)
        return np.asarray((tops[0] <= present[0]) & (tops[1] <= present[1]))

    near, far = np.full(len(line.note), SHORTEST_BACK_MM), line.back_mm
    some = low_enough(near)
    for _ in range(HALVINGS):
        middle = (near + far) / 2.0
        enough = low_enough(middle)
        near, far = np.where(enough, middle, near), np.where(enough, far, middle)
    return np.where(some, near, np.nan)


def _share(line: StringLine, want: Wanted, depth: tuple[Floats, Floats], at: Ints) -> float:
    """The share of the net at the front pins nearest to the wanted one at which all of these notes have wood; or NaN.

    The share turns the top about a point between the rows, so each depth runs straight from share 0 to share 1 (to a
    thousandth of a mm).
    """
    none, whole = (heights_for(line, want.net_deg, np.full(len(line.note), share)) for share in (0.0, 1.0))
    least, most = 0.0, 1.0
    for row, wanted_mm in enumerate((want.front_mm, want.rear_mm)):
        first = (depth[row] + wanted_mm - none[row])[at]
        last = (depth[row] + wanted_mm - whole[row])[at]
        if np.any((first < 0.0) & (last < 0.0)):
            return float("nan")
        turn = first / np.where(first == last, 1.0, first - last)
        least = max(least, *turn[first < 0.0], 0.0)
        most = min(most, *turn[last < 0.0], 1.0)
    wish = float(np.mean(want.front_share[at]))
    return min(max(wish, least), most) if least <= most else float("nan")


def planing_findings(line: StringLine, cap_left_mm: Floats, rules: PlaningRules) -> tuple[Finding, ...]:
    """A finding for each section whose cap planing and notching leave thinner than the rules allow."""
    return tuple(
        by_section(
            line,
            cap_left_mm < rules.cap_least_mm - EVEN_MM,
            lambda at, words: Finding(
                code="cap-too-thin",
                place=Place(file="notes.csv", column="cap", note=int(line.note[at[np.argmin(cap_left_mm[at])]])),
                found=f"{cap_left_mm[at].min():.2f} mm of cap left under the notches at {words}",
                expected=f"{rules.cap_least_mm:.2f} mm or more",
                remedy="Raise the plate, or plan a new cap there.",
            ),
        )
    )
