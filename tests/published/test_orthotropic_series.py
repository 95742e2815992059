"""Orthotropic rectangles, simply supported: Navier's double series in Huber's equation."""

from __future__ import annotations

from functools import cache

import numpy as np
from cases import Case, Source, agrees, check
from plates import HINGED, even_load, plate, rectangle, sinks

from bellywork.board import Wood


def thin(E_L: float, E_R: float, G_LR: float, nu_LR: float) -> Wood:
    """A wood that is so stiff in shear through the thickness that only thin-plate bending is left."""
    return Wood(
        name="thin", E_L=E_L, E_R=E_R, E_T=E_R, G_LR=G_LR, G_LT=1e3 * G_LR, G_RT=1e3 * G_LR,
        nu_LR=nu_LR, nu_LT=nu_LR, nu_RT=0.3, density_kg_m3=400.0,
    )  # fmt: skip


CONCERT = (1400.0, 900.0, 9.0, thin(11_000.0, 650.0, 660.0, 0.26))
SITKA = (1000.0, 1000.0, 9.0, thin(10_800.0, 0.078 * 10_800, 0.064 * 10_800, 0.372))


def series(a: float, b: float, h: float, it: Wood, *, even: bool) -> float:
    """Sink of the centre in mm under 1 N/mm² or 1 N: Timoshenko and Woinowsky-Krieger, art. 85."""
    D_x = it.E_L * h**3 / (12.0 * (1.0 - it.nu_LR**2 * it.E_R / it.E_L))
    D_y = D_x * it.E_R / it.E_L
    H = it.nu_LR * D_y + it.G_LR * h**3 / 6.0
    m, n = np.meshgrid(np.arange(1, 400, 2), np.arange(1, 400, 2), indexing="ij")
    stiff = D_x * (m / a) ** 4 + 2.0 * H * (m * n / (a * b)) ** 2 + D_y * (n / b) ** 4
    if even:
        return float(16.0 / np.pi**6 * np.sum((-1.0) ** ((m + n) // 2 - 1) / (m * n * stiff)))
    return float(4.0 / (np.pi**4 * a * b) * np.sum(1.0 / stiff))


@cache
def board(a: float, b: float, h: float, it: Wood, even: bool, grain_deg: float = 0.0) -> float:
    """The same by the board: cells a fortieth of the shorter side, an eightieth where a force stands on the point."""
    body = plate(rectangle(a, b), HINGED, it, h, grain_deg=grain_deg)
    centre = [(a / 2.0, b / 2.0)]
    load = even_load(a, b, 1.0) if even else (centre, [1.0])
    return float(sinks(body, min(a, b) / (40.0 if even else 80.0), *load, centre)[0])


SOURCE = Source(
    title="Orthotropic plates",
    cite="Huber's equation with Navier's series: Timoshenko and Woinowsky-Krieger, art. 85 (from memory, exact)",
    about="Sink of the centre: a board 1400 × 900 × 9 mm, E 11 and 0.65 GPa, and a Sitka square 1000 × 1000 × 9 mm.",
    why="0.5 %: the series is exact for a thin plate. Shear through the thickness is made a thousand times stiffer "
    "than wood's, so that thin-plate theory is what is compared.",
    cases=(
        Case("1400 × 900, even load of 1 N/mm²", "mm", 46545.0, "computed", lambda: board(*CONCERT, True), 0.5),
        Case("1400 × 900, 1 N at the centre", "mm", 0.10550, "computed", lambda: board(*CONCERT, False), 0.5),
        Case("Sitka square, even load of 1 N/mm²", "mm", 17232.5, "computed", lambda: board(*SITKA, True), 0.5),
        Case("Sitka square, 1 N at the centre", "mm", 0.055006, "computed", lambda: board(*SITKA, False), 0.5),
        Case("Sitka square, grain turned by 90°", "mm", 0.055006, "computed", lambda: board(*SITKA, False, 90.0), 0.5),
    ),
)


@check(SOURCE)
def test_orthotropic_series(case):
    agrees(case)


def test_the_series_itself_gives_the_worked_values():
    """The worked values were computed apart from this file; the series here must come to the same digits."""
    for plate_case, even, worked in ((CONCERT, True, 46545.0), (CONCERT, False, 0.10550), (SITKA, False, 0.055006)):
        assert abs(series(*plate_case, even=even) / worked - 1.0) < 2e-4
