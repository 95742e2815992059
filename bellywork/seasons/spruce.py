"""Published rheology of spruce, read from ``board/data/rheology_norway_spruce.toml``, where sources stand."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from bellywork.errors import BoardError
from bellywork.seasons.rheology import Chain, Law, Laws, Shift, Yielding


@cache
def spruce_laws() -> Laws:
    """The laws used for every wood of a board: clear Norway spruce, creep at 12.5 % moisture.

    No other wood of a board (Sitka spruce, pine, maple, beech) has published laws in this form: `spruce_prior` says how
    far they may be off.

    >>> laws = spruce_laws()
    >>> round(float(laws.across.creep.crept(30.0)), 2), round(float(laws.along.creep.crept(365.0)), 2)
    (1.18, 0.35)
    """
    table = rheology_table()
    return Laws(**{name: _law(entry) for name, entry in table["laws"].items()})


def spruce_prior() -> dict[str, tuple[float, float]]:
    """Factors between which another wood's laws lie in two of three cases, (low, high): the words of `Laws.varied`."""
    return {name: (row["low"], row["high"]) for name, row in rheology_table()["prior"].items()}


SHEAR_SHARE = 1.0 / 3.0  # of what a ribbed board gives under its strings; 25 to 40 % (calculated, see the sources)


def settled_share(days: float) -> float:
    """How much a board under its strings settles in so many days of still air, over its elastic sink.

    The ribs' creep in bending and in shear. It comes back as slowly when the load is taken off.

    >>> [round(settled_share(days), 2) for days in (0.0, 1.0, 30.0)]
    [0.0, 0.15, 0.31]
    """
    laws = spruce_laws()
    bent, sheared = (float(law.creep.crept(days)) for law in (laws.along, laws.shear))
    return (1.0 - SHEAR_SHARE) * bent + SHEAR_SHARE * sheared


def creep_chain(table: str, name: str, *, beyond_tests: bool = False) -> Chain:
    """A published Kelvin chain in days, of the table `month` or `master`.

    With `beyond_tests` also the terms that lie beyond the tests. Raises BoardError where none has this name.

    >>> creep_chain("month", "cR_65").crept([1.0, 10.0, 30.0]).round(2).tolist()
    [0.5, 0.91, 1.2]
    """
    rows = rheology_table()[table]
    if name not in rows:
        raise BoardError(f"No creep of spruce is called {name!r}. There are: {', '.join(rows)}.")
    row = rows[name]
    used = len(row["span_days"]) - (0 if beyond_tests else row.get("beyond", 0))
    return Chain(span=np.array(row["span_days"][:used]), share=np.array(row["share"][:used]))


@cache
def rheology_table() -> dict[str, Any]:
    """The whole of ``rheology_norway_spruce.toml``."""
    text = files("bellywork.board.data").joinpath("rheology_norway_spruce.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _law(entry: dict[str, str]) -> Law:
    table = rheology_table()
    swing = table["swing"][entry["swing"]]
    return Law(
        creep=creep_chain("master", entry["creep"]),
        shift=Shift(**table["master"][entry["creep"]]["shift"]),
        swing=Chain(span=np.array(swing["span"]), share=np.array(swing["share"])),
        yields=yielding(entry["yields"]) if "yields" in entry else None,
    )


def yielding(direction: str) -> Yielding:
    """Set under pressure along R or T."""
    row = rheology_table()["yield"][direction]
    return Yielding(**{name: np.array(row[name]) for name in ("moisture_percent", "K_MPa", "n")})
