"""Music wire: ASTM A228 in Shigley's fit, EN 10270-1, and the gauge in inches."""

from __future__ import annotations

from functools import partial

from cases import Case, Source, agrees, check

from bellywork.board.wires import gauge_sizes_mm, spring_wire_strength_MPa, tensile_strength_MPa

COPY = "second-hand copy"
A228 = {0.80: 2284, 0.90: 2245, 1.00: 2211, 1.10: 2181, 1.20: 2153, 1.40: 2106, 1.60: 2065}
SM = {0.8: (2050, 2300), 1.0: (1980, 2250), 1.2: (1920, 2160), 1.6: (1830, 2050)}
GAUGE_IN_MM = {12: 0.737, 13: 0.787, 14: 0.838, 16: 0.940, 18: 1.041, 20: 1.143, 22: 1.245, 24: 1.397, 26: 1.600}

SOURCE = Source(
    title="Wire standards",
    cite="ASTM A228 as fitted in Shigley's Mechanical Engineering Design, Table 10-4; EN 10270-1 grade SM; "
    "Machinery's Handbook, music wire gauge",
    about="Least tensile strength of music wire, and the diameters behind the gauge numbers.",
    why="Tables that are printed in whole N/mm² and 0.001 mm: ours must round to them.",
    cases=(
        *(
            Case(f"A228, {size:g} mm", "N/mm²", strength, COPY, partial(tensile_strength_MPa, size), 0.025)
            for size, strength in A228.items()
        ),
        *(
            Case(
                f"EN 10270-1 SM, {size:g} mm, {word}",
                "N/mm²",
                bounds[i],
                "read",
                lambda size=size, i=i: spring_wire_strength_MPa(size)[i],
                0.0,
            )
            for size, bounds in SM.items()
            for i, word in enumerate(("least", "greatest"))
        ),
        *(
            Case(f"music wire no. {number}", "mm", size, "read", lambda n=number: gauge_sizes_mm("inch")[n], 0.07)
            for number, size in GAUGE_IN_MM.items()
        ),
    ),
)


@check(SOURCE)
def test_wire_standards(case):
    agrees(case)
