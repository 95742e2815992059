"""What the bridge's movement alone does to pitch. No gauge of crown: see docs/theory-time.md.

A string of fixed mass m sounds at f = ½ √(T/(m L)), so that its pitch goes up by half of ΔT/T less half of ΔL/L. Where
the bridge pins hold, only the speaking length feels the bridge: it is stretched by the bridge's rise, on its slant, and
by the bridge's movement along the string. Where the string slips freely over its pins, speaking and back length are
one: movement along the string then changes nothing, and the rise stretches both. Real pins are between the two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import Scale, StringLine
from bellywork.board.wires import steel_E_MPa
from bellywork.geometry.string_line import slant_mm

CENTS = 1200.0 / np.log(2.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class PitchChange:
    """Cents by which each note goes up, with pins that hold and with strings that slip freely over them."""

    held_cents: Floats
    slipping_cents: Floats


def pitch_change(
    scale: Scale, tension_N: Floats, *, before: StringLine, after: StringLine, along_mm: Floats
) -> PitchChange:
    """What the bridge's way from one line to another does to the pitch of each note, untouched by the tuner.

    tension_N   of one string, before
    along_mm    how far the bridge top moved along each string, away from the speaking length's front end, mm
    """
    wire, lengths = wire_N(scale), slant_mm(before)
    longer = slant_mm(after) - lengths
    return PitchChange(
        held_cents=_cents(wire, tension_N, longer[0] + along_mm, lengths[0]),
        slipping_cents=_cents(wire, tension_N, longer.sum(axis=0), lengths.sum(axis=0)),
    )


def held_along_mm(
    free_mm: Floats, compliance_mm_N: Floats, scale: Scale, *, before: StringLine, after: StringLine
) -> Floats:
    """How far the bridge top moves along each string where its pins hold, away from the front end, mm.

    free_mm           how far it would without the strings' hold, (notes,)
    compliance_mm_N   how far it moves along each string under a unit force along each, (notes, notes)

    All strings of a note stretch with the bridge in front and behind, and pull it back: with the stiffness k = E A / L
    of each run, the stretch r of each from the rise, and C the compliance,
    a = a_free − C [k_front (a + r_front) + k_back (a − r_back)].
    """
    front, _, back = scale.unisons * wire_N(scale) / slant_mm(before)
    risen = slant_mm(after) - slant_mm(before)
    pulled = compliance_mm_N @ (back * risen[2] - front * risen[0])
    return np.asarray(np.linalg.solve(np.eye(len(free_mm)) + compliance_mm_N * (front + back), free_mm + pulled))


def wire_N(scale: Scale) -> Floats:
    """E A of one string of each note, N: what stretches alone is its steel, a wrap does not."""
    return np.asarray(steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2)


def _cents(wire_N: Floats, tension_N: Floats, longer_mm: Floats, length_mm: Floats) -> Floats:
    strain = longer_mm / length_mm
    return np.asarray(CENTS * 0.5 * (np.log1p(wire_N * strain / tension_N) - np.log1p(strain)))
