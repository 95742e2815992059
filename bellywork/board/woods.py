"""The handbook's woods, read from ``data/woods.toml``, where every number stands beside its source."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from bellywork.board.wood import Wood, WoodStrength
from bellywork.errors import BoardError

_MODULI = ("E_R", "E_T", "G_LR", "G_LT", "G_RT")
_POISSON = ("nu_LR", "nu_LT", "nu_RT")


def wood_names() -> tuple[str, ...]:
    """Names of the woods that are built in, in the order of the alphabet.

    >>> "sitka_spruce" in wood_names()
    True
    """
    return tuple(sorted(wood_table()["woods"]))


@cache
def wood(name: str) -> Wood:
    """A built-in wood at 12 % moisture content, moduli in N/mm², density in kg/m³.

    E_L is 1.10 times the modulus from bending and the density 1120 kg/m³ times the specific gravity at 12 %, as the
    Wood Handbook (FPL-GTR-282, text to Table 5-1, and Eq. 4-14) says; the other constants follow from its ratios to
    E_L. Of each pair of Poisson's ratios only nu_LR, nu_LT and nu_RT are kept, for the printed pairs do not agree.
    `source` names every source used and how it was come by. Means of clear specimens: a board's own wood may well
    differ by 20 %.

    Raises BoardError where no such wood is built in.

    >>> spruce = wood("sitka_spruce")
    >>> round(spruce.E_L), round(spruce.E_R), round(spruce.density_kg_m3)
    (11880, 927, 448)
    """
    table = wood_table()
    if name not in table["woods"]:
        raise BoardError(f"No wood is called {name!r}. Built in are: {', '.join(wood_names())}.")
    row, general = table["woods"][name], table["general"]
    if "E_L_MPa" in row:
        E_L, density, green_ratio = row["E_L_MPa"][0], row["density_kg_m3"][0], None
        used = []
    else:
        E_L = general["E_L_over_E_bending"][0] * row["E_bending"][0]
        density = general["density_over_G12_kg_m3"][0] * row["G12"][0]
        green_ratio = row["E_bending_green"][0] / row["E_bending"][0]
        used = ["bending-memory", "density-copy"]
    elastic = table["woods"][row["ratios_of"][0]] if "ratios_of" in row else row
    borrowed = [pair[1] for key, pair in elastic.items() if key.startswith(("E_R", "E_T", "G_", "nu_"))]
    return Wood(
        name=name,
        E_L=float(E_L),
        density_kg_m3=float(density),
        **{modulus: _modulus(elastic, modulus, float(E_L)) for modulus in _MODULI},
        **{nu: float(elastic[nu][0]) for nu in _POISSON},
        shrinkage_L_percent=float(general["shrinkage_L_percent"][0]),
        shrinkage_R_percent=float(row["shrinkage_R_percent"][0]),
        shrinkage_T_percent=float(row["shrinkage_T_percent"][0]),
        strength=_strength(row.get("strength", {})),
        green=_strength(row.get("green", {})),
        green_E_ratio=green_ratio,
        intersection_percent=float(row["intersection_percent"][0]),
        source=_cited([*used, *_keys(row), *borrowed, general["shrinkage_L_percent"][1]]),
    )


@cache
def wood_table() -> dict[str, Any]:
    """The whole of ``data/woods.toml``: sources, general factors, moisture trends and woods."""
    return tomllib.loads(files("bellywork.board.data").joinpath("woods.toml").read_text(encoding="utf-8"))


def _modulus(row: dict[str, Any], name: str, E_L: float) -> float:
    if f"{name}_ratio" in row:
        return float(row[f"{name}_ratio"][0]) * E_L
    return float(row[f"{name}_MPa"][0]) / float(row["E_L_MPa"][0]) * E_L


def _strength(row: dict[str, Any]) -> WoodStrength:
    return WoodStrength(**{name: float(value) for name, (value, _) in row.items()})


def _keys(row: dict[str, Any]) -> list[str]:
    """Source keys of a row and of the tables inside it, in the order in which they stand."""
    found: list[str] = []
    for value in row.values():
        found += _keys(value) if isinstance(value, dict) else [value[1]] if isinstance(value, list) else []
    return found


def _cited(keys: list[str]) -> str:
    sources = wood_table()["sources"]
    return "; ".join(f"{sources[key]['cite']} ({sources[key]['how']})" for key in dict.fromkeys(keys))
