"""A ribbed panel 600 × 400 × 8 mm solved with 20-node solids, apart from this project."""

from __future__ import annotations

from functools import cache

import numpy as np
from cases import Case, Source, agrees, check
from plates import CLAMPED, plate, rectangle, sinks

from bellywork.board import Rib, Wood

# in N/mm²; ν_LT 0.44 and ν_RT 0.47 do not enter a panel whose thickness is T
PANEL = Wood(
    name="panel", E_L=11_000, E_R=850, E_T=470, G_LR=750, G_LT=720, G_RT=35, nu_LR=0.37, nu_LT=0.44, nu_RT=0.47,
    density_kg_m3=420,
)  # fmt: skip
RIB = Wood(
    name="rib", E_L=12_000, E_R=850, E_T=470, G_LR=750, G_LT=720, G_RT=35, nu_LR=0.37, nu_LT=0.44, nu_RT=0.47,
    density_kg_m3=420,
)  # fmt: skip
SOLID = {(225.0, 200.0): 0.0544, (300.0, 100.0): 0.0409, (150.0, 200.0): 0.01465, (375.0, 300.0): 0.0283}


@cache
def board_sinks() -> np.ndarray:
    """Sink at the four points."""
    ribs = tuple(
        Rib(
            name=f"{x:g}", wood=RIB, start_mm=(x, 0.0), end_mm=(x, 400.0), width_mm=25.0, height_mm=22.0,
            end_height_mm=(22.0, 22.0), feather_mm=(0.0, 0.0),
        )
        for x in (150.0, 300.0, 450.0)
    )  # fmt: skip
    body = plate(rectangle(600.0, 400.0), CLAMPED, PANEL, 8.0, ribs=ribs)
    return sinks(body, 20.0, [(300.0, 200.0)], [100.0], list(SOLID))


SOURCE = Source(
    title="Ribbed panel as a solid",
    cite="computed apart from this project with quadratic 20-node solids, 50 000 nodes",
    about="Panel 600 × 400 × 8 mm, three ribs 25 × 22 mm across the grain, edges held, 100 N in the middle.",
    why="2 %: first-order shear deformation against solids; converged, such a model is 0.4 to 0.7 % stiffer here. Thin "
    "plates with slender ribs would be 25 to 30 % too stiff.",
    cases=tuple(
        Case(f"sink at ({x:g}, {y:g})", "mm", sink, "computed", lambda i=i: board_sinks()[i], 2.0)
        for i, ((x, y), sink) in enumerate(SOLID.items())
    ),
)


@check(SOURCE)
def test_ribbed_panel(case):
    agrees(case)
