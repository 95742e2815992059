"""Strings: five of a concert grand, wave speeds of three more, and the pitches of ISO 16."""

from __future__ import annotations

from functools import partial

import numpy as np
from cases import Case, Source, agrees, check

from bellywork.board import Scale
from bellywork.board.wires import steel_density_kg_m3
from bellywork.conventions import note_frequency_Hz
from bellywork.geometry.one_string import one_string
from bellywork.geometry.scale import mass_per_length_kg_m, strength_share, tension_N

READ, COPY, MEMORY = "read", "second-hand copy", "from memory"
CENT_PERCENT = 100.0 * (2.0 ** (1.0 / 1200.0) - 1.0)

# name: note number, speaking length in mm, core in mm, mass factor of the wrap, tension in N, frequency in Hz
FIVE = {
    "D♯1": (7, 1945.0, 1.48, 5.73, 1781.0, 38.9),
    "C2": (16, 1600.0, 0.95, 3.55, 865.0, 65.4),
    "F3": (33, 961.0, 1.05, 1.0, 774.0, 174.6),
    "C♯5": (53, 326.0, 0.92, 1.0, 684.0, 555.6),
    "G6": (71, 124.0, 0.79, 1.0, 587.0, 1571.0),
}
# core stress in N/mm² from the published tension and core, and the frequency's distance from the listed one in cents
STRESS = {"D♯1": 1035.0, "C2": 1220.0, "F3": 894.0, "C♯5": 1029.0, "G6": 1198.0}


def scale_of(note: int, core: float, factor: float) -> Scale:
    """A scale of one string whose wrap gives the published mass factor: copper, of the diameter that it takes."""
    if factor == 1.0:
        return Scale(note=[note], unisons=[1], wire_mm=[core], outer_mm=[core], wrap=("",))
    steel = steel_density_kg_m3() * np.pi / 4.0 * core**2
    outer = np.sqrt(core**2 + steel * (factor - 1.0) / (8960.0 * np.pi**2 / 16.0))
    return Scale(note=[note], unisons=[1], wire_mm=[core], outer_mm=[outer], wrap=("copper",))


def frequency_at(name: str) -> float:
    """The frequency at which our law gives the published tension."""
    note, length, core, factor, tension, _ = FIVE[name]
    scale = scale_of(note, core, factor)
    return note_frequency_Hz(note) * float(
        np.sqrt(tension / tension_N(scale, one_string(speaking=length, note=note))[0])
    )


def stress_of(name: str) -> float:
    """Core stress in N/mm² from our share of the breaking strength."""
    note, _, core, factor, tension, _ = FIVE[name]
    share = strength_share(scale_of(note, core, factor), np.array([tension]))[0]
    return float(share) * 2211.0 / core**0.145


def wave_speed(note: int, length_mm: float) -> float:
    """√(T/μ) in m/s of a plain string at pitch."""
    tension = tension_N(scale_of(note, 1.0, 1.0), one_string(speaking=length_mm, note=note))[0]
    return float(np.sqrt(tension / mass_per_length_kg_m(1.0, 1.0, "")))


def plain_constant() -> float:
    """T/(f² L² d²) of plain wire in SI units."""
    tension = tension_N(scale_of(40, 1.0, 1.0), one_string(speaking=630.0, note=40))[0]
    return float(tension / (note_frequency_Hz(40) * 0.630 * 0.001) ** 2)


SOURCE = Source(
    title="Strings",
    cite="Chabassier, Chaigne and Joly, Modeling and simulation of a grand piano, J. Acoust. Soc. Am. 134:648 (five "
    "strings); Bensa et al., J. Acoust. Soc. Am. 114:1095, Table I (wave speeds); ISO 16 (pitch)",
    about="Mersenne–Taylor with the mass of the wrap, core stress, and the frequencies of the notes.",
    why="The five strings hold within 10 cents, which is what their printed three figures allow; stresses were "
    "computed from the table by hand; the wave speeds are printed to four figures.",
    cases=(
        *(
            Case(
                f"frequency of {name} at its tension",
                "Hz",
                row[5],
                COPY,
                partial(frequency_at, name),
                10 * CENT_PERCENT,
            )
            for name, row in FIVE.items()
        ),
        *(
            Case(f"core stress of {name}", "N/mm²", stress, "computed", partial(stress_of, name), 0.1)
            for name, stress in STRESS.items()
        ),
        Case("wave speed of C2 on 1.23 m", "m/s", 160.9, COPY, partial(wave_speed, 16, 1230.0), 0.05),
        Case("wave speed of C4 on 0.63 m", "m/s", 329.6, COPY, partial(wave_speed, 40, 630.0), 0.05),
        Case("wave speed of C7 on 0.10 m", "m/s", 418.6, COPY, partial(wave_speed, 76, 100.0), 0.05),
        Case("T/(f²L²d²) of plain steel", "kg/m³", 24661.5, "computed", plain_constant, 0.001),
        Case("A4, ISO 16", "Hz", 440.0, MEMORY, partial(note_frequency_Hz, 49), 0.0),
        Case("A0, three octaves and one below", "Hz", 27.5, MEMORY, partial(note_frequency_Hz, 1), 1e-9),
        Case("C4", "Hz", 261.6256, MEMORY, partial(note_frequency_Hz, 40), 1e-4),
        Case("C8", "Hz", 4186.009, MEMORY, partial(note_frequency_Hz, 88), 1e-4),
    ),
)


@check(SOURCE)
def test_strings(case):
    agrees(case)
