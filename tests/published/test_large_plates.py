"""Large deflection of clamped and hinged plates (von Kármán): circle after Way, square after Levy and others."""

from __future__ import annotations

from functools import cache

from cases import Case, Source, agrees, check
from large import sinks_along
from plates import CLAMPED, HINGED, circle, even_load, even_load_on_circle, isotropic, plate, rectangle

THICKNESS, RADIUS, SIDE = 3.0, 300.0, 600.0
# sink over thickness: load q a⁴/(E h⁴); Ritz series apart from this project, converged to the digits given
CIRCLE = {0.25: 1.515, 0.5: 3.333, 1.0: 9.146, 1.5: 20.181, 2.0: 39.435, 3.0: 114.46}
CLAMPED_SQUARE = {0.25: 18.69, 0.5: 40.99, 1.0: 111.5, 1.5: 244.3, 2.0: 475.0}
HINGED_SQUARE = {0.25: 6.137, 0.5: 15.35, 1.0: 56.94, 1.5: 156.7, 2.0: 349.6}
# Levy 1942 (NACA Report 740), ν = 0.316, from memory: load and sink over thickness
LEVY = {17.79: 0.237, 38.3: 0.471, 63.4: 0.695, 134.9: 1.121, 245.0: 1.521, 402.0: 1.902}


@cache
def circle_sinks() -> dict[float, float]:
    material = isotropic()
    unit = material.E_L * THICKNESS**4 / RADIUS**4
    body = plate(circle(RADIUS), CLAMPED, material, THICKNESS)
    found = sinks_along(body, 25.0, *even_load_on_circle(RADIUS, unit), list(CIRCLE.values()), (0.0, 0.0))
    return dict(zip(CIRCLE, (sink / THICKNESS for sink in found)))


@cache
def square_sinks(hinged: bool, nu: float, loads: tuple[float, ...]) -> dict[float, float]:
    material = isotropic(nu=nu)
    unit = material.E_L * THICKNESS**4 / SIDE**4
    body = plate(rectangle(SIDE, SIDE), HINGED if hinged else CLAMPED, material, THICKNESS)
    found = sinks_along(body, 30.0, *even_load(SIDE, SIDE, unit), loads, (SIDE / 2.0, SIDE / 2.0))
    return dict(zip(loads, (sink / THICKNESS for sink in found)))


SOURCE = Source(
    title="Large deflection of plates",
    cite="S. Way, Trans. ASME 56 (1934) 627 (clamped circle) and von Kármán squares: Ritz series solved apart from "
    "this project; S. Levy, NACA Report 740 (1942), clamped square, ν = 0.316, from memory",
    about="Circle of 300 mm radius and square of 600 mm, 3 mm thick, ν = 0.3, even load, edges immovable in the plane: "
    "sink of the middle over the thickness.",
    why="0.5 % against the series. 2.5 % against Levy, whose own series is about 2 % high at the top of its range, and "
    "whose edges may slide along themselves.",
    cases=(
        *(Case(f"clamped circle at {w:g} h", "h", w, "computed", lambda w=w: circle_sinks()[w], 0.5) for w in CIRCLE),
        *(
            Case(f"{word} square at {w:g} h", "h", w, "computed",
                 lambda hinged=hinged, q=q, table=table: square_sinks(hinged, 0.3, tuple(table.values()))[q], 0.5)
            for word, hinged, table in (("clamped", False, CLAMPED_SQUARE), ("hinged", True, HINGED_SQUARE))
            for w, q in table.items()
        ),
        *(
            Case(f"clamped square, load {q:g} E h⁴/a⁴", "h", w, "from memory",
                 lambda q=q: square_sinks(False, 0.316, tuple(LEVY))[q], 2.5)
            for q, w in LEVY.items()
        ),
    ),
)  # fmt: skip


@check(SOURCE)
def test_large_deflection_of_plates(case):
    agrees(case)
