"""Roark's Formulas for Stress and Strain, Table 11.4, case 1: rectangles simply supported all round."""

from __future__ import annotations

from cases import Case, Source, agrees, check
from plates import THIN_MM, THIN_NU, THIN_SHORT, rectangle_alphas

EVEN = {1.0: 0.0444, 1.2: 0.0616, 1.6: 0.0906, 2.0: 0.1110, 3.0: 0.1335}  # y = α q b⁴/(E t³), b the short side
FORCE = {1.0: 0.1267, 1.2: 0.1478, 1.6: 0.1715, 2.0: 0.1805}  # y = α W b²/(E t³)
STIFFER = 12.0 * (1.0 - THIN_NU**2)  # E t³/D

SOURCE = Source(
    title="Plate formulas",
    cite="Roark's Formulas for Stress and Strain, Table 11.4, case 1 (ν = 0.3)",
    about=f"Sink of the centre of hinged rectangles, short side {THIN_SHORT:g} mm, {THIN_MM:g} mm thick.",
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
    ),
)


@check(SOURCE)
def test_roark(case):
    agrees(case)
