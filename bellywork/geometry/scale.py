"""The scale: what the strings weigh, how hard they pull, and how near their wire is to breaking."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import Scale, StringLine
from bellywork.board.wires import steel_density_kg_m3, tensile_strength_MPa, wrap_density_kg_m3
from bellywork.conventions import note_frequency_Hz


def mass_per_length_kg_m(wire_mm: float, outer_mm: float, wrap: str) -> float:
    """Mass of a string per length, in kg/m: μ = ρ_s π d²/4 + ρ_w (π²/16)(D² − d²).

    The second term is a wrap of round wire, wound close: a wire of diameter w at mean diameter d + w takes
    π(d + w) of wire for each w of string, so π² w (d + w)/4 = (π²/16)(D² − d²) of metal with D = d + 2w. Further
    layers add up to the same formula with the outermost D. The pitch of the helix is left out (0.3 to 1 %).

    Raises BoardError for a wrap whose density is not held.

    Copper of 0.5 mm on a core of 1.0 mm, in g/m:

    >>> round(1000.0 * mass_per_length_kg_m(1.0, 2.0, "copper"), 2)
    22.75
    """
    steel = steel_density_kg_m3() * np.pi / 4.0 * wire_mm**2
    metal = wrap_density_kg_m3(wrap) * np.pi**2 / 16.0 * (outer_mm**2 - wire_mm**2) if wrap else 0.0
    return float((steel + metal) * 1e-6)  # mm² · kg/m³ = 1e-6 kg/m


def tension_N(scale: Scale, line: StringLine) -> Floats:
    """Tension of one string of each note at pitch, in N: T = 4 L² f² μ (Mersenne–Taylor); notes as in both arguments.

    A plain wire of 1 mm sounding 261.6 Hz on 630 mm:

    >>> from bellywork.board import Scale
    >>> from bellywork.geometry.one_string import one_string
    >>> plain = Scale(note=[40], unisons=[3], wire_mm=[1.0], outer_mm=[1.0], wrap=('',))
    >>> print(round(float(tension_N(plain, one_string(speaking=630.0, note=40))[0])))
    670
    """
    strings = zip(scale.wire_mm.tolist(), scale.outer_mm.tolist(), scale.wrap)
    mass = np.array([mass_per_length_kg_m(*string) for string in strings])
    frequency = np.array([note_frequency_Hz(note, scale.pitch_Hz) for note in scale.note.tolist()])
    return np.asarray(4.0 * (line.speaking_mm / 1000.0 * frequency) ** 2 * mass)


def pull_N(scale: Scale, line: StringLine) -> Floats:
    """Tension of all the strings of each note together, in N; notes as in both arguments."""
    return np.multiply(scale.unisons, tension_N(scale, line))


def strength_share(scale: Scale, tension: Floats) -> Floats:
    """Tension of one string over the breaking load of its core wire (least strength, ASTM A228); 1 is breaking.

    Raises BoardError for a wire outside the range of the strength table.
    """
    strength = np.array([tensile_strength_MPa(wire) for wire in scale.wire_mm.tolist()])
    return np.asarray(tension / (strength * np.pi / 4.0 * scale.wire_mm**2))
