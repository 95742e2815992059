"""Music wire: gauge numbers, tensile strength and densities, from ``data/wires.toml`` with a source for each."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from bellywork.conventions import UNITS
from bellywork.errors import BoardError


@cache
def wire_table() -> dict[str, Any]:
    """The whole of ``data/wires.toml``: sources, gauges, steel, strength and wraps."""
    return tomllib.loads(files("bellywork.board.data").joinpath("wires.toml").read_text(encoding="utf-8"))


def gauge_sizes_mm(system: str) -> dict[float, float]:
    """Diameter in mm by gauge number, for the "inch" or the "metric" music wire gauge.

    The same number means two sizes: the systems differ by 1.6 % in diameter, 3.2 % in tension, so a number alone is
    never enough. Sources: Machinery's Handbook (second-hand copy) and, for the metric sizes, memory.

    Raises BoardError where the system is neither.

    >>> round(gauge_sizes_mm("inch")[16], 3), gauge_sizes_mm("metric")[16]
    (0.94, 0.925)
    """
    gauges = wire_table()["gauges"]
    if system not in gauges:
        raise BoardError(f"No wire gauge is called {system!r}; there are {' and '.join(gauges)}.")
    unit = UNITS[gauges[system]["unit"]]
    return {float(number): unit.inside(size) for number, size in gauges[system]["sizes"].items()}


def tensile_strength_MPa(diameter_mm: float) -> float:
    """Least tensile strength of music wire in N/mm²: A/d^m, ASTM A228 as fitted in Shigley, Table 10-4.

    Wire to EN 10270-1 grade SM is weaker by a tenth, see `spring_wire_strength_MPa`.

    Raises BoardError where the diameter in mm is outside the range of the fit, 0.10 to 6.5 mm.

    >>> round(tensile_strength_MPa(1.0))
    2211
    """
    fit = {name: value for name, (value, _) in wire_table()["strength"]["a228"].items()}
    _in_range(diameter_mm, fit["least_mm"], fit["most_mm"])
    return float(fit["A_MPa"] / diameter_mm ** fit["m"])


def spring_wire_strength_MPa(diameter_mm: float) -> tuple[float, float]:
    """Least and greatest tensile strength in N/mm² of spring wire to EN 10270-1, grade SM; straight between sizes.

    Raises BoardError where the diameter is outside the rows held, 0.8 to 1.6 mm.

    >>> spring_wire_strength_MPa(1.0)
    (1980.0, 2250.0)
    """
    rows = {float(size): bounds for size, bounds in wire_table()["strength"]["sm"]["rows"].items()}
    sizes = sorted(rows)
    _in_range(diameter_mm, sizes[0], sizes[-1])
    above = next(size for size in sizes if size >= diameter_mm)
    below = max(size for size in sizes if size <= diameter_mm)
    share = (diameter_mm - below) / (above - below) if above > below else 0.0
    least, greatest = (low + share * (high - low) for low, high in zip(rows[below], rows[above]))
    return float(least), float(greatest)


def steel_density_kg_m3() -> float:
    """Density of music wire, 7850 kg/m³ (EN 10270-1)."""
    return float(wire_table()["steel"]["density_kg_m3"][0])


def steel_E_MPa() -> float:
    """Modulus of elasticity of music wire, 206 000 N/mm² (EN 10270-1)."""
    return float(wire_table()["steel"]["E_MPa"][0])


def wrap_density_kg_m3(wrap: str) -> float:
    """Density of the solid metal that a string is wrapped with, in kg/m³: "copper", "iron" or "brass".

    Handbook values from memory. The air between the turns of a wrap is not taken off here.

    Raises BoardError for a metal that is not held.

    >>> wrap_density_kg_m3("copper")
    8960.0
    """
    wraps = wire_table()["wraps"]
    if wrap not in wraps:
        raise BoardError(f"No wrap is called {wrap!r}; held are {', '.join(wraps)}.")
    return float(wraps[wrap][0])


def _in_range(diameter_mm: float, least: float, most: float) -> None:
    if not least <= diameter_mm <= most:
        raise BoardError(f"A wire of {diameter_mm:g} mm is outside this strength table, {least:g} to {most:g} mm.")
