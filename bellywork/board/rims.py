"""The four ways in which a rim is taken to hold the panel, from ``data/rims.toml``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from bellywork.board.body import RimSupport
from bellywork.errors import BoardError


@cache
def rim_kinds() -> dict[str, RimSupport]:
    """The built-in rim supports by name, the stiffest first."""
    text = files("bellywork.board.data").joinpath("rims.toml").read_text(encoding="utf-8")
    return {
        name: RimSupport(
            name=name,
            vertical_N_mm2=float(row["vertical_N_mm2"]),
            inplane_N_mm2=float(row["inplane_N_mm2"]),
            rotation_N=float(row["rotation_N"]),
        )
        for name, row in tomllib.loads(text).items()
    }


def rim_support(name: str) -> RimSupport:
    """A built-in rim support: "clamped", "glued", "hinged" or "free".

    Raises BoardError for any other name.

    >>> rim_support("hinged").rotation_N
    0.0
    """
    if name not in rim_kinds():
        raise BoardError(f"No rim support is called {name!r}; there are {', '.join(rim_kinds())}.")
    return rim_kinds()[name]
