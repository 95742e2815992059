"""Wood Handbook, Forest Products Laboratory, FPL-GTR-282 (2021) and FPL-GTR-190 (2010)."""

from __future__ import annotations

from functools import partial

from cases import Case, Source, agrees, check

from bellywork.board import Wood, WoodStrength
from bellywork.board.woods import wood
from bellywork.mechanics.moisture import at_moisture, equilibrium_moisture_percent, free_strain

# Table 4-2, the row of 21.1 °C (70 °F): equilibrium moisture content in % at these relative humidities
TABLE_4_2 = {
    5: 1.3, 10: 2.5, 20: 4.5, 25: 5.4, 30: 6.2, 35: 6.9, 40: 7.7, 45: 8.5, 50: 9.2,
    55: 10.1, 60: 11.0, 65: 12.0, 70: 13.1, 75: 14.4, 80: 16.0, 85: 17.9, 90: 20.5, 95: 23.9,
}  # fmt: skip
COPIED = {40, 65}  # the two entries that were read in a copy; the others are from memory

WHITE_ASH = Wood(
    name="white ash", E_L=12_000, E_R=1500, E_T=960, G_LR=1300, G_LT=920, G_RT=300, nu_LR=0.37, nu_LT=0.44, nu_RT=0.68,
    density_kg_m3=672, strength=WoodStrength(bending=103.0), green=WoodStrength(bending=66.0),
    intersection_percent=24.0,
)  # fmt: skip


def bending_E(name: str, moisture: float) -> float:
    return at_moisture(wood(name), moisture).E_L / 1.10


def shrinkage(name: str, direction: str) -> float:
    """Per % of moisture, in % of the green size: from green at 30 % to 29 %."""
    return -100.0 * getattr(free_strain(wood(name), from_percent=30, to_percent=29), direction)


SOURCE = Source(
    title="Wood Handbook",
    cite="Wood Handbook, FPL-GTR-282 (2021): Table 4-2, Eq. 4-5, 4-9, 4-14 and 5-3, with the worked example on p. 5-34",
    about="Moisture content that wood comes to in air, shrinkage, and properties at another moisture content.",
    why="Table 4-2 prints one decimal, and the equation in °C, used here, and in °F differ by up to 0.01: each row "
    "takes 0.06 % moisture, which is 4.6 % of the value at 5 % RH and 0.3 % at 95 %. The others are equations and must "
    "agree to the digits printed.",
    cases=(
        *(
            Case(
                f"equilibrium moisture at 21.1 °C and {rh} % RH",
                "%",
                printed,
                "second-hand copy" if rh in COPIED else "from memory",
                partial(equilibrium_moisture_percent, rh, 21.1),
                100.0 * 0.06 / printed,
            )
            for rh, printed in TABLE_4_2.items()
        ),
        Case(
            "white ash, bending strength at 8 % (worked example)",
            "MPa",
            119.5,
            "second-hand copy",
            lambda: at_moisture(WHITE_ASH, 8).strength.bending,
            0.05,
        ),
        Case("Engelmann spruce, E at 8 %", "MPa", 9541, "computed", partial(bending_E, "engelmann_spruce", 8), 0.01),
        Case("sugar maple, E at 8 %", "MPa", 13250, "computed", partial(bending_E, "sugar_maple", 8), 0.01),
        Case(
            "Sitka spruce, radial shrinkage per %", "%", 0.143, "computed", partial(shrinkage, "sitka_spruce", "R"), 0.4
        ),
        Case("Sitka spruce, tangential, per %", "%", 0.250, "computed", partial(shrinkage, "sitka_spruce", "T"), 0.4),
        Case(
            "Engelmann spruce, radial, per %", "%", 0.127, "computed", partial(shrinkage, "engelmann_spruce", "R"), 0.4
        ),
        Case("Engelmann spruce, tangential", "%", 0.237, "computed", partial(shrinkage, "engelmann_spruce", "T"), 0.4),
        Case(
            "Engelmann spruce, density at 12 %",
            "kg/m³",
            392,
            "computed",
            lambda: wood("engelmann_spruce").density_kg_m3,
            0.15,
        ),
        Case("sugar maple, density at 12 %", "kg/m³", 706, "computed", lambda: wood("sugar_maple").density_kg_m3, 0.15),
    ),
)


@check(SOURCE)
def test_the_handbook(case):
    agrees(case)
