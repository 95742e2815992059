"""Timoshenko's strip of two layers, one of which grows: computed with the board solver on a narrow free strip."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from cases import Case, Source, agrees, check
from plates import plate, rectangle

from bellywork.board import Rib, RimSupport, Wood
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.large import LargeBoard

LENGTH = 600.0
GROWTH = 0.004
BENCH = RimSupport(name="bench", vertical_N_mm2=1e-5, inplane_N_mm2=1e-5, rotation_N=0.0)


def layer(E: float) -> Wood:
    """A material that does not contract sideways and hardly shears, as the theory's layers."""
    return Wood(
        name=f"E {E:g}", E_L=E, E_R=E, E_T=E, G_LR=100 * E, G_LT=100 * E, G_RT=100 * E, nu_LR=0.0, nu_LT=0.0, nu_RT=0.0,
        density_kg_m3=400.0,
    )  # fmt: skip


@cache
def curvature(
    panel_E: float, panel: tuple[float, float], rib_E: float, rib: tuple[float, float], share: float
) -> float:
    """Curvature per m of a free strip whose panel (width, thickness) grows along it on its rib (width, height)."""
    width, thickness = panel
    beam = Rib(
        name="1", wood=layer(rib_E), start_mm=(0.0, width / 2), end_mm=(LENGTH, width / 2), width_mm=rib[0],
        height_mm=rib[1], end_height_mm=(rib[1], rib[1]), feather_mm=(0.0, 0.0),
    )  # fmt: skip
    wooden = replace(layer(panel_E), G_LT=3e5, G_RT=3e5, G_LR=3e5)
    body = plate(rectangle(LENGTH, width), BENCH, wooden, thickness, grain_deg=90.0, ribs=(beam,))
    board = LargeBoard(discretised(body, 20.0))
    growth = np.zeros(8)
    growth[0] = share * GROWTH
    rest = board.at_rest()
    state = board.followed(None, load=(rest, rest), free=({}, {"panel": growth}))
    x = np.linspace(0.2, 0.8, 13) * LENGTH
    height = -board.sink_mm(state.fields, np.column_stack([x, np.full(13, width / 2)]))
    return float(abs(2.0 * np.polyfit(x, height, 2)[0]) * 1000.0)


def timoshenko(panel_Eb: float, t: float, rib_Eb: float, h: float, growth: float) -> float:
    """1/ρ per m of two layers of stiffness E b."""
    m, n, whole = t / h, panel_Eb / rib_Eb, t + h
    return 1000.0 * 6 * growth * (1 + m) ** 2 / (whole * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))))


SOURCE = Source(
    title="Two-layer strip that bends as one layer grows",
    cite="S. Timoshenko, J. Opt. Soc. Am. 11 (1925) 233 (formula from memory; worked values computed apart from this "
    "project)",
    about="Free strips 600 mm long: equal layers (κ = 1.5 Δε/h exactly), and a panel strip 120 × 9 mm of 650 N/mm² "
    "across its grain on a rib 25 × 25 mm of 11 000 N/mm²; growth of the panel 0.004 (0.001 for equal layers).",
    why="0.5 %: the strip's ends and its cells.",
    cases=(
        Case("equal layers 30 × 10 mm, curvature", "1/m", 1.5 * 0.001 / 20.0 * 1000.0, "exact",
             lambda: curvature(1000.0, (30.0, 10.0), 1000.0, (30.0, 10.0), 0.25), 0.5),
        Case("panel on rib, curvature", "1/m", 1000.0 / 12626.0, "computed",
             lambda: curvature(650.0, (120.0, 9.0), 11000.0, (25.0, 25.0), 1.0), 0.5),
        Case("the same by the formula", "1/m",
             lambda: timoshenko(650.0 * 120.0, 9.0, 11000.0 * 25.0, 25.0, GROWTH), "from memory",
             lambda: curvature(650.0, (120.0, 9.0), 11000.0, (25.0, 25.0), 1.0), 0.5),
    ),
)  # fmt: skip


@check(SOURCE)
def test_two_layer_strip(case):
    agrees(case)
