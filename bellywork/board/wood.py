"""Wood as data: nine elastic constants, density, shrinkage and strength, at one moisture content."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class WoodStrength:
    """Short-term strength of clear wood in N/mm² (means of small specimens); None where no figure is known.

    bending               modulus of rupture
    compression_parallel  crushing strength along the grain
    compression_across    proportional limit across the grain
    shear_parallel        along the grain
    tension_across        across the grain
    """

    bending: float | None = None
    compression_parallel: float | None = None
    compression_across: float | None = None
    shear_parallel: float | None = None
    tension_across: float | None = None


@dataclass(frozen=True, kw_only=True)
class Wood:
    """A wood at `moisture_percent`: moduli in N/mm², density in kg/m³ at that moisture, directions L, R, T.

    nu_LR is the contraction along R under stress along L; nu_RL = nu_LR · E_R / E_L follows and is not stored.
    Shrinkage is from green to oven-dry, in % of the green size, as handbooks print it.
    """

    name: str
    E_L: float
    E_R: float
    E_T: float
    G_LR: float
    G_LT: float
    G_RT: float
    nu_LR: float
    nu_LT: float
    nu_RT: float
    density_kg_m3: float
    moisture_percent: float = 12.0
    shrinkage_L_percent: float = 0.15
    shrinkage_R_percent: float | None = None
    shrinkage_T_percent: float | None = None
    strength: WoodStrength = WoodStrength()
    green: WoodStrength = WoodStrength()
    green_E_ratio: float | None = None
    intersection_percent: float = 25.0
    source: str = ""
