"""The scale: what the strings weigh, how hard they pull, and how near their wire is to breaking."""

from __future__ import annotations

import numpy as np

from bellywork.board._frozen import Floats
from bellywork.board.strings import Scale
from bellywork.board.wires import steel_density_kg_m3, tensile_strength_MPa, wrap_density_kg_m3
from bellywork.conventions import note_frequency_Hz


def linear_mass_kg_m(scale: Scale) -> Floats:
    """Mass of one string of each note per length, in kg/m: μ = ρ_s π d²/4 + ρ_w (π²/16)(D² − d²).

    The second term is a wrap of round wire, wound close: a wire of diameter w at mean diameter d + w takes
    π(d + w) of wire for each w of string, so π² w (d + w)/4 = (π²/16)(D² − d²) of metal with D = d + 2w. Further
    layers add up to the same formula with the outermost D. The pitch of the helix is left out (below 0.1 %).

    Copper of 0.5 mm on a core of 1.0 mm:

    >>> from bellywork.board import Scale
    >>> wound = Scale(note=[20], unisons=[2], wire_mm=[1.0], outer_mm=[2.0], wrap=("copper",))
    >>> print(f"{linear_mass_kg_m(wound)[0]:.5f}")
    0.02275
    """
    steel = steel_density_kg_m3() * np.pi / 4.0 * scale.wire_mm**2
    density = np.array([wrap_density_kg_m3(wrap) if wrap else 0.0 for wrap in scale.wrap])
    wrap = density * np.pi**2 / 16.0 * (scale.outer_mm**2 - scale.wire_mm**2)
    return (steel + wrap) * 1e-6  # mm² · kg/m³ = 1e-6 kg/m


def tension_N(scale: Scale, speaking_mm: Floats) -> Floats:
    """Tension of one string of each note at pitch, in N: T = 4 L² f² μ (Mersenne–Taylor).

    speaking_mm   speaking length of each note of the scale, in mm

    A plain wire of 1 mm sounding 261.6 Hz on 630 mm:

    >>> from bellywork.board import Scale
    >>> plain = Scale(note=[40], unisons=[3], wire_mm=[1.0], outer_mm=[1.0], wrap=('',))
    >>> print(round(float(tension_N(plain, np.array([630.0]))[0])))
    670
    """
    frequency = np.array([note_frequency_Hz(int(note), scale.pitch_Hz) for note in scale.note])
    tension: Floats = 4.0 * (speaking_mm / 1000.0) ** 2 * frequency**2 * linear_mass_kg_m(scale)
    return tension


def strength_share(scale: Scale, tension: Floats) -> Floats:
    """Tension of one string over the breaking load of its core wire (least strength, ASTM A228); 1 is breaking.

    Raises BoardError for a wire outside the range of the strength table.
    """
    strength = {wire: tensile_strength_MPa(wire) for wire in set(scale.wire_mm.tolist())}
    breaking = np.array([strength[wire] * np.pi / 4.0 * wire**2 for wire in scale.wire_mm.tolist()])
    share: Floats = tension / breaking
    return share


def pull_N(scale: Scale, speaking_mm: Floats) -> Floats:
    """Tension of all the strings of each note together, in N."""
    return np.multiply(scale.unisons, tension_N(scale, speaking_mm))
