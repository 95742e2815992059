"""Strips with exact answers: a beam with shear, and a ribbed strip by its transformed section."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial

from cases import Case, Source, agrees, check
from plates import HINGED, UNHELD, even_load, plate, rectangle, sinks

from bellywork.board import Rib, RimSupport, Wood
from bellywork.board.woods import wood

SPAN, WIDE = 800.0, 100.0
STRIP = Wood(  # no contraction sideways, so that the strip is a beam and nothing else
    name="strip", E_L=11_000, E_R=850, E_T=470, G_LR=750, G_LT=720, G_RT=35, nu_LR=0.0, nu_LT=0.0, nu_RT=0.0,
    density_kg_m3=420,
)  # fmt: skip
# free to slide, but for a trace of stiffness that keeps the strip from floating away
ROLLERS = RimSupport(name="rollers", vertical_N_mm2=float("inf"), inplane_N_mm2=1e-4, rotation_N=0.0)


@cache
def strip_sink(thickness: float, across: bool) -> float:
    """Sink of the middle in mm of a strip 100 wide that spans 800 mm, along or across its grain, under 0.001 N/mm²."""
    sides = (UNHELD, HINGED, UNHELD, HINGED)
    body = plate(rectangle(SPAN, WIDE), sides, STRIP, thickness, grain_deg=90.0 if across else 0.0)
    return float(sinks(body, 20.0, *even_load(SPAN, WIDE, 1e-3), [(SPAN / 2.0, WIDE / 2.0)])[0])


def beam_sink(thickness: float, across: bool) -> float:
    """5 q L⁴/(384 EI) + q L²/(8 · 5/6 · GA), per mm of width."""
    E, G = (STRIP.E_R, STRIP.G_RT) if across else (STRIP.E_L, STRIP.G_LT)
    bending = 5.0 * 1e-3 * SPAN**4 / (384.0 * E * thickness**3 / 12.0)
    return bending + 1e-3 * SPAN**2 / (8.0 * 5.0 / 6.0 * G * thickness)


RIB_WIDE, RIB_HIGH, PANEL = 25.0, 22.0, 9.0
RIB_E = wood("sugar_pine").E_L


@cache
def ribbed_strip_sink() -> float:
    """Sink of the middle in mm of a panel strip across its grain on one rib under its middle line, 0.001 N/mm²."""
    stiff = {"G_LR": 7e4, "G_LT": 7e5, "G_RT": 7e5}  # the transformed section knows neither shear nor shear lag
    rib_wood = replace(STRIP, E_L=RIB_E, **stiff)
    rib = Rib(
        name="1", wood=rib_wood, start_mm=(0.0, WIDE / 2.0), end_mm=(SPAN, WIDE / 2.0), width_mm=RIB_WIDE,
        height_mm=RIB_HIGH, end_height_mm=(RIB_HIGH, RIB_HIGH), feather_mm=(0.0, 0.0),
    )  # fmt: skip
    sides = (UNHELD, ROLLERS, UNHELD, ROLLERS)
    body = plate(rectangle(SPAN, WIDE), sides, replace(STRIP, **stiff), PANEL, grain_deg=90.0, ribs=(rib,))
    return float(sinks(body, 12.5, *even_load(SPAN, WIDE, 1e-3), [(SPAN / 2.0, WIDE / 2.0)])[0])


def transformed_sink() -> float:
    """5 q b L⁴/(384 EI), EI = Σ E_i (I_i + A_i d_i²) about the centre of stiffness."""
    E = (STRIP.E_R, RIB_E)
    area = (WIDE * PANEL, RIB_WIDE * RIB_HIGH)
    at = (PANEL / 2.0, -RIB_HIGH / 2.0)
    own = (WIDE * PANEL**3 / 12.0, RIB_WIDE * RIB_HIGH**3 / 12.0)
    centre = sum(e * a * z for e, a, z in zip(E, area, at)) / sum(e * a for e, a in zip(E, area))
    EI = sum(e * (i + a * (z - centre) ** 2) for e, a, z, i in zip(E, area, at, own))
    return 5.0 * 1e-3 * WIDE * SPAN**4 / (384.0 * EI)


SOURCE = Source(
    title="Strips",
    cite="Timoshenko's beam, 5/6 of the section carrying shear, and the transformed section: textbook, exact",
    about="Strips 100 mm wide over 800 mm, hinged at the ends and free along the sides, even load, no contraction "
    "sideways: plain ones from thin to thick, along and across the grain, and one on a rib 25 × 22 mm.",
    why="0.5 %: the formulas are exact for the theory used here. From 8 to 80 mm of thickness the share of shear in "
    "the sink grows from 0.1 to 13 % along the grain and from 0.2 to 19 % across it: this checks the shear. Layered "
    "plates (Pagano 1970) are not modelled.",
    cases=(
        *(
            Case(
                f"{word} the grain, {thickness:g} mm thick",
                "mm",
                partial(beam_sink, thickness, across),
                "computed",
                partial(strip_sink, thickness, across),
                0.5,
            )
            for across, word in ((False, "along"), (True, "across"))
            for thickness in (8.0, 20.0, 40.0, 80.0)
        ),
        Case("on a rib, transformed section", "mm", transformed_sink, "computed", ribbed_strip_sink, 0.5),
    ),
)


@check(SOURCE)
def test_strips(case):
    agrees(case)
