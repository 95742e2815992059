"""The scale: mass, tension and strength of the strings, and the force with which they press on the bridge."""

from __future__ import annotations

import numpy as np

from bellywork.board._frozen import Floats
from bellywork.board.strings import Scale, StringLine
from bellywork.board.wires import steel_density_kg_m3, tensile_strength_MPa, wrap_density_kg_m3
from bellywork.conventions import note_frequency_Hz
from bellywork.geometry.string_line import slopes


def mass_per_length_kg_m(wire_mm: float, outer_mm: float, wrap: str) -> float:
    """Mass per metre of one string: core of music wire, close-wound wrap up to the overall diameter.

    m = ρ_s π/4 d² + ρ_w (π/4) π/4 (D² − d²): round wire wound close fills π/4 of the ring between d and D, whatever
    the number of layers (geometry: one turn of wire e has π/4 e² · π(d + e) in the ring of e · π(d + e)).

    >>> round(1000 * mass_per_length_kg_m(1.0, 1.0, ""), 3)  # g/m
    6.165
    >>> round(1000 * mass_per_length_kg_m(1.5, 5.5, "copper"), 1)
    168.6
    """
    core = steel_density_kg_m3() * np.pi / 4.0 * wire_mm**2
    ring = wrap_density_kg_m3(wrap) * (np.pi / 4.0) ** 2 * (outer_mm**2 - wire_mm**2) if wrap else 0.0
    return float((core + ring) * 1e-6)


def string_tension_N(mass_kg_m: float, length_mm: float, frequency_Hz: float) -> float:
    """Tension of one string: T = 4 L² f² m (Mersenne–Taylor), flexible string fixed at both ends.

    >>> round(string_tension_N(mass_per_length_kg_m(0.9, 0.9, ""), 326.0, 554.37))  # plain 0.9 mm, C♯5
    652
    """
    return 4.0 * (length_mm / 1000.0) ** 2 * frequency_Hz**2 * mass_kg_m


def tension_N(scale: Scale, line: StringLine) -> Floats:
    """Tension of one string of each note, N; notes of scale and line must agree."""
    masses = (mass_per_length_kg_m(d, D, wrap) for d, D, wrap in zip(scale.wire_mm, scale.outer_mm, scale.wrap))
    return np.array(
        [
            string_tension_N(mass, length, note_frequency_Hz(int(note), scale.pitch_Hz))
            for mass, length, note in zip(masses, line.speaking_mm, scale.note)
        ]
    )


def strength_share(scale: Scale, tension: Floats) -> Floats:
    """Stress in the core wire as a share of its least tensile strength (ASTM A228, see `board.wires`)."""
    strength = np.array([tensile_strength_MPa(float(d)) for d in scale.wire_mm])
    return tension / (np.pi / 4.0 * scale.wire_mm**2) / strength


def downforce_N(line: StringLine, unison_tension_N: Floats) -> Floats:
    """Force of each note on the bridge, N, pressing positive: n T (sin atan s_f − sin atan s_r).

    `unison_tension_N` is the tension of all strings of the note together. Negative: the strings would lift off.

    >>> round(700 * float(np.sin(np.radians(1.0))), 3)  # 700 N bent by 1 degree on one side only
    12.217
    """
    front, _, rear = slopes(line)
    return unison_tension_N * (_sine(front) - _sine(rear))


def pin_forces_N(line: StringLine, unison_tension_N: Floats) -> tuple[Floats, Floats]:
    """The downforce of each note, split over the front and the rear pin row; their sum is `downforce_N`."""
    front, over, rear = (_sine(slope) for slope in slopes(line))
    return unison_tension_N * (front - over), unison_tension_N * (over - rear)


def _sine(slope: Floats) -> Floats:
    """Sine of the angle whose tangent is given."""
    return slope / np.hypot(1.0, slope)
