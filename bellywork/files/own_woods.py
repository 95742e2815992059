"""Woods by name, and a user's own: all nine elastic constants, or a built-in wood with some of its numbers changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from bellywork.board.wood import Wood, WoodStrength
from bellywork.board.woods import wood, wood_names
from bellywork.files.columns import TOML
from bellywork.files.gather import Gathered, nearest
from bellywork.files.toml_keys import ELASTIC, SHRINKAGE, STRENGTHS
from bellywork.findings import Place

_OTHER = {
    "density": "density_kg_m3",
    "moisture": "moisture_percent",
    "source": "source",
    **{stem: f"{stem}_percent" for stem in SHRINKAGE},
}


def wood_named(name: str, own: Mapping[str, Wood | None], place: Place, gathered: Gathered) -> Wood | None:
    """A wood by name, own or built in; None with a finding where there is none of that name.

    own   None by a name whose description cannot be a wood, which was said where it stands
    """
    if name in own:
        return own[name]
    if name in wood_names():
        return wood(name)
    gathered.add("wood-unknown", place, f"'{name}'", "a wood built in or described under [woods] in board.toml",
                 nearest(name, [*own, *wood_names()]))  # fmt: skip
    return None


def own_wood(name: str, given: dict[str, Any], gathered: Gathered) -> Wood | None:
    """The wood of a section [woods.NAME], read by stems; None with a finding where it cannot be one."""
    place = Place(file=TOML, column=f"woods.{name}")
    elastic = {stem: given[stem] for stem in ELASTIC if stem in given}
    strength = {stem: given[stem] for stem in STRENGTHS if stem in given}
    other = {field: given[stem] for stem, field in _OTHER.items() if stem in given}
    if "like" in given:
        base = wood_named(given["like"], {}, Place(file=TOML, column=f"woods.{name}.like"), gathered)
        if base is None:
            return None
        made = replace(base, name=name, **elastic, **other, strength=replace(base.strength, **strength))
    else:
        missing = [stem for stem in (*ELASTIC, "density") if stem not in given]
        if missing:
            gathered.add("wood-incomplete", place, f"a wood without {', '.join(missing)}",
                         "all nine elastic constants and the density, or like = a wood that is built in",
                         "Add what is missing.")  # fmt: skip
            return None
        made = Wood(name=name, **elastic, **other, strength=WoodStrength(**strength))
    if _gives_energy_back(made):
        gathered.add("wood-impossible", place, "elastic constants that would give energy back when strained",
                     "nu_LR² < E_L/E_R, nu_LT² < E_L/E_T, nu_RT² < E_R/E_T, and all three together",
                     "Check the Poisson's ratios: nu_LR is the contraction along R under stress along L.")  # fmt: skip
        return None
    return made


def _gives_energy_back(made: Wood) -> bool:
    """Whether the compliance of the wood is not positive definite."""
    moduli = np.array([made.E_L, made.E_R, made.E_T])
    compliance = np.diag(1.0 / moduli)
    for i, j, nu in ((0, 1, made.nu_LR), (0, 2, made.nu_LT), (1, 2, made.nu_RT)):
        compliance[i, j] = compliance[j, i] = -nu / moduli[i]
    return bool(np.linalg.eigvalsh(compliance * np.sqrt(np.outer(moduli, moduli))).min() <= 0.0)
