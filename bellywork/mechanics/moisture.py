"""Wood and the air around it: equilibrium moisture, shrinkage, and properties at another moisture content."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from bellywork.board.wood import Wood, WoodStrength
from bellywork.board.woods import wood_table
from bellywork.errors import BoardError

FIBRE_SATURATION_PERCENT = 30.0  # Wood Handbook, Eq. 4-9
TEMPERATURE_RANGE_C = (-1.0, 100.0)  # inside the range of the handbook's Table 4-2, 30 to 270 °F (from memory)


def equilibrium_moisture_percent(rh_percent: float, temperature_C: float) -> float:
    """Moisture content in % that wood comes to in air of this relative humidity in % and temperature in °C.

    EMC = 1800/W [Kh/(1 − Kh) + (K₁Kh + 2K₁K₂K²h²)/(1 + K₁Kh + K₁K₂K²h²)], h = rh/100; Wood Handbook (FPL-GTR-282),
    Eq. 4-5, in its °C form. A thick part takes weeks to follow the air; varnish slows it further.

    Raises BoardError outside 0 to 100 % RH and −1 to 100 °C.

    >>> round(equilibrium_moisture_percent(40, 21.1), 1)
    7.7
    """
    _check("A relative humidity", rh_percent, 0.0, 100.0, "%")
    W, K, first, second = _sorption(temperature_C)
    x = K * rh_percent / 100.0
    polymer = (first * x + 2.0 * second * x**2) / (1.0 + first * x + second * x**2)
    return 1800.0 / W * (x / (1.0 - x) + polymer)


def relative_humidity_percent(moisture_percent: float, temperature_C: float) -> float:
    """Relative humidity in % at which wood keeps this moisture content in % at this temperature in °C.

    The inverse of `equilibrium_moisture_percent`: cleared of its fractions that is a cubic in K·h, whose one root
    between dry and saturated air is taken.

    Raises BoardError outside −1 to 100 °C and for more moisture than air of 100 % RH gives.

    >>> round(relative_humidity_percent(7.7, 21.1))
    40
    """
    W, K, a, b = _sorption(temperature_C)
    wettest = equilibrium_moisture_percent(100.0, temperature_C)
    _check("A moisture content in equilibrium with air", moisture_percent, 0.0, wettest, "%")
    m = moisture_percent * W / 1800.0
    roots = np.roots([b * (1.0 - m), m * (b - a) - 2.0 * b, m * (a - 1.0) - 1.0 - a, m])
    real = roots.real[np.abs(roots.imag) < 1e-9]
    inside = real[(real > -1e-9) & (real < K * (1.0 + 1e-9))]
    return float(np.clip(100.0 * inside.min() / K, 0.0, 100.0))


@dataclass(frozen=True, kw_only=True)
class FreeStrain:
    """What a piece of wood would grow if nothing held it: strain along L, R and T, growing positive, no unit."""

    L: float
    R: float
    T: float


def free_strain(wood: Wood, *, from_percent: float, to_percent: float) -> FreeStrain:
    """Strain of free wood, per direction, from one moisture content in % to another, of its size at the first.

    Shrinkage from green at x % is S₀ (1 − x/30), Wood Handbook (FPL-GTR-282), Eq. 4-9, so the strain is
    (100 − S_to)/(100 − S_from) − 1. A straight line in x: good from about 5 to 25 %.

    Raises BoardError outside 0 to 30 %, and between two moistures where the wood's shrinkage across the grain is not
    known.

    >>> from bellywork.board.woods import wood
    >>> strain = free_strain(wood("sitka_spruce"), from_percent=8, to_percent=11)
    >>> round(1000 * strain.R, 2), round(1000 * strain.T, 2)  # mm on a metre of width, quarter-sawn and flat-sawn
    (4.44, 7.94)
    """
    for moisture in (from_percent, to_percent):
        _check_moisture(moisture)
    if from_percent == to_percent:
        return FreeStrain(L=0.0, R=0.0, T=0.0)
    if wood.shrinkage_R_percent is None or wood.shrinkage_T_percent is None:
        raise BoardError(f"The shrinkage of {wood.name} is not known: give its shrinkage along R and T, in %.")

    def strain(total: float) -> float:
        size = [100.0 - total * (1.0 - x / FIBRE_SATURATION_PERCENT) for x in (from_percent, to_percent)]
        return size[1] / size[0] - 1.0

    return FreeStrain(
        L=strain(wood.shrinkage_L_percent), R=strain(wood.shrinkage_R_percent), T=strain(wood.shrinkage_T_percent)
    )


def at_moisture(wood: Wood, moisture_percent: float) -> Wood:
    """The same wood at another moisture content, in %: moduli, strengths and density moved, Poisson's ratios kept.

    Where the green value is known, P(M) = P_g (P₀/P_g)^((M_p − M)/(M_p − M₀)), which is the Wood Handbook's Eq. 5-3
    (FPL-GTR-282) started from the wood's own moisture M₀ instead of 12 %; wetter than M_p, the intersection moisture
    content, the green value holds. Where it is not known (always for E_R, E_T and the shear moduli), the middle trends
    of the handbook's Table 5-14 between 6, 12 and 20 %, carried on at the same rate per % outside them, up to M_p.
    The handbook finds no trend for Poisson's ratios. Density: water added or lost, volume by Eq. 4-9 (unchanged where
    the shrinkage is not known). Below 6 % the equations reach beyond the tests behind them.

    Raises BoardError outside 0 to 30 %, and where the wood is given at or above its intersection moisture content,
    as nothing can be said of it dry.

    >>> from bellywork.board.woods import wood
    >>> round(at_moisture(wood("engelmann_spruce"), 8).E_L / 1.10)  # from 8 900 at 12 % and 7 100 green
    9541
    """
    _check_moisture(moisture_percent)
    start, stop = wood.moisture_percent, wood.intersection_percent
    if start >= stop:
        raise BoardError(f"{wood.name} is given at {start:g} % moisture, which is green; its dry values are not known.")
    share = (stop - min(moisture_percent, stop)) / (stop - start)

    def moved(name: str, value: float, green: float | None) -> float:
        if green is not None:
            return float(green * (value / green) ** share)
        return value * _trend(name, min(moisture_percent, stop)) / _trend(name, start)

    green_E = None if wood.green_E_ratio is None else wood.green_E_ratio * wood.E_L
    E_L = moved("E_L", wood.E_L, green_E)
    strength = {
        entry.name: None if value is None else moved(entry.name, value, getattr(wood.green, entry.name))
        for entry in fields(WoodStrength)
        for value in [getattr(wood.strength, entry.name)]
    }
    return replace(
        wood,
        moisture_percent=float(moisture_percent),
        E_L=E_L,
        E_R=moved("E_across", wood.E_R, None),
        E_T=moved("E_across", wood.E_T, None),
        G_LR=moved("G", wood.G_LR, None),
        G_LT=moved("G", wood.G_LT, None),
        G_RT=moved("G", wood.G_RT, None),
        density_kg_m3=_density(wood, moisture_percent),
        strength=WoodStrength(**strength),
        green_E_ratio=None if green_E is None else green_E / E_L,
    )


def _density(wood: Wood, moisture_percent: float) -> float:
    mass = (100.0 + moisture_percent) / (100.0 + wood.moisture_percent)
    if wood.shrinkage_R_percent is None or wood.shrinkage_T_percent is None:
        return wood.density_kg_m3 * mass
    grown = free_strain(wood, from_percent=wood.moisture_percent, to_percent=moisture_percent)
    return wood.density_kg_m3 * mass / ((1.0 + grown.L) * (1.0 + grown.R) * (1.0 + grown.T))


def _trend(name: str, moisture_percent: float) -> float:
    """A property at this moisture content over its value at 12 %, by the handbook's Table 5-14."""
    change = wood_table()["trend"][name]
    known, span = (change["at_6"][0], -6.0) if moisture_percent < 12.0 else (change["at_20"][0], 8.0)
    return float((1.0 + known / 100.0) ** ((moisture_percent - 12.0) / span))


def _sorption(temperature_C: float) -> tuple[float, float, float, float]:
    """W, K, K₁ and K₁K₂ of the sorption equation."""
    _check("A temperature", temperature_C, *TEMPERATURE_RANGE_C, "°C")
    T = temperature_C
    first = 6.27 - 0.00938 * T - 0.000303 * T**2
    second = 1.91 + 0.0407 * T - 0.000293 * T**2
    return 349.0 + 1.29 * T + 0.0135 * T**2, 0.805 + 0.000736 * T - 0.00000273 * T**2, first, first * second


def _check_moisture(moisture_percent: float) -> None:
    _check("A moisture content", moisture_percent, 0.0, FIBRE_SATURATION_PERCENT, "%, where the fibres are saturated")


def _check(what: str, value: float, least: float, most: float, unit: str) -> None:
    if not least <= value <= most:  # also catches nan
        raise BoardError(f"{what} of {value:g} is outside {least:g} to {most:.4g} {unit}.")
