"""Frequencies of plates: clamped and simply supported isotropic ones, and orthotropic boards."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from cases import Case, Source, agrees, check
from plates import CLAMPED, HINGED, THIN_D, THIN_MM, THIN_SHORT, isotropic, plate, rectangle
from test_orthotropic_series import CONCERT, SITKA

from bellywork.mechanics.model import assembled
from bellywork.mechanics.modes import modes

DENSITY = 450.0


@cache
def isotropic_lambdas(ratio: float, hinged: bool) -> np.ndarray:
    """ω a² √(ρh/D) of the lowest modes of a rectangle with sides a and ratio · a."""
    body = plate(rectangle(THIN_SHORT * ratio, THIN_SHORT), HINGED if hinged else CLAMPED, isotropic(), THIN_MM)
    found = modes(assembled(body, cell_mm=THIN_SHORT / 30.0), count=6).frequencies_Hz
    return 2.0 * np.pi * found * THIN_SHORT**2 * np.sqrt(DENSITY * 1e-12 * THIN_MM / THIN_D)


@cache
def board_hz(a: float, b: float, h: float, it: object, density: float) -> np.ndarray:
    wood = replace(it, density_kg_m3=density)
    return modes(assembled(plate(rectangle(a, b), HINGED, wood, h), cell_mm=b / 50.0), count=6).frequencies_Hz


def concert(k: int) -> float:
    return float(board_hz(*CONCERT, 380.0)[k])


def sitka(k: int) -> float:
    return float(board_hz(*SITKA, 448.0)[k])


SOURCE = Source(
    title="Frequencies of plates",
    cite="Leissa, Vibration of Plates, NASA SP-160 (from memory); Navier's modes in Huber's equation: Timoshenko and "
    "Woinowsky-Krieger, art. 85 (from memory, exact)",
    about="Isotropic: ω a² √(ρh/D). Orthotropic, simply supported: Hz of the boards of the series above, 380 and "
    "448 kg/m³. The board's own mass matrix, rotary inertia in it.",
    why="0.2 %: edges are held by springs ten thousand times stiffer than a cell, and a hinge leaves the edge free to "
    "shear along itself. Wood made a thousand times stiffer in shear wants cells of a fiftieth of a side.",
    cases=(
        Case("clamped square, 1st", "–", 35.985, "from memory", lambda: isotropic_lambdas(1.0, False)[0], 0.2),
        Case("clamped square, 2nd", "–", 73.39, "from memory", lambda: isotropic_lambdas(1.0, False)[1], 0.2),
        Case("clamped square, 4th", "–", 108.2, "from memory", lambda: isotropic_lambdas(1.0, False)[3], 0.2),
        Case("clamped 1.5 : 1, 1st", "–", 27.005, "computed", lambda: isotropic_lambdas(1.5, False)[0], 0.2),
        Case("clamped 2 : 1, 1st", "–", 24.578, "computed", lambda: isotropic_lambdas(2.0, False)[0], 0.2),
        Case("hinged square, 1st", "–", 19.739, "from memory", lambda: isotropic_lambdas(1.0, True)[0], 0.2),
        *(
            Case(f"1400 × 900 board, mode {k + 1}", "Hz", hz, "computed", lambda k=k: concert(k), 0.2)
            for k, hz in enumerate((15.870, 33.949, 48.874, 63.479, 66.314, 92.240))
        ),
        *(
            Case(f"Sitka square, {name}", "Hz", hz, "computed", lambda k=k: sitka(k), 0.2)
            for k, name, hz in ((0, "(1,1)", 23.746), (1, "(1,2)", 37.653), (2, "(1,3)", 64.088), (3, "(2,1)", 83.852))
        ),
    ),
)


@check(SOURCE)
def test_frequencies_of_plates(case):
    agrees(case)
