"""Roark's Formulas for Stress and Strain, Table 11.4, case 1: rectangles simply supported all round."""

from __future__ import annotations

from functools import partial

from cases import Case, Source, agrees, check
from plates import THIN_MM, THIN_NU, THIN_SHORT, rectangle_alphas, rectangle_betas

EVEN = {1.0: 0.0444, 1.2: 0.0616, 1.6: 0.0906, 2.0: 0.1110, 3.0: 0.1335}  # y = α q b⁴/(E t³), b the short side
FORCE = {1.0: 0.1267, 1.2: 0.1478, 1.6: 0.1715, 2.0: 0.1805}  # y = α W b²/(E t³)
STRESS = {1.0: 0.2874, 1.2: 0.3762, 1.6: 0.5172, 2.0: 0.6102, 3.0: 0.7134}  # σ = β q b²/t², even load
STIFFER = 12.0 * (1.0 - THIN_NU**2)  # E t³/D


def stress_beta(ratio: float) -> float:
    return rectangle_betas(ratio, True)[0]


SOURCE = Source(
    title="Plate formulas",
    cite="Roark's Formulas for Stress and Strain, Table 11.4, case 1 (ν = 0.3)",
    about=f"Sink and stress of the centre of hinged rectangles, short side {THIN_SHORT:g} mm, {THIN_MM:g} mm thick.",
    why="0.5 %, as for the plate tables; Roark prints three or four digits.",
    cases=(
        *(
            Case(
                f"a/b {ratio:g}, even load, α",
                "–",
                alpha,
                "read",
                lambda ratio=ratio: rectangle_alphas(ratio, True)[0] * STIFFER,
                0.5,
            )
            for ratio, alpha in EVEN.items()
        ),
        *(
            Case(
                f"a/b {ratio:g}, force at the centre, α",
                "–",
                alpha,
                "read",
                lambda ratio=ratio: rectangle_alphas(ratio, True)[1] * STIFFER,
                0.5,
            )
            for ratio, alpha in FORCE.items()
        ),
        *(
            Case(f"a/b {ratio:g}, stress at the centre, β", "–", beta, "read", partial(stress_beta, ratio), 0.5)
            for ratio, beta in STRESS.items()
        ),
    ),
)


@check(SOURCE)
def test_roark(case):
    agrees(case)
