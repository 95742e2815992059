"""What is not known of a board: each with its scatter before anything was read, and the body that it would make."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Bridge, Outline, RimSupport
from bellywork.board.wood import Wood

RIM_SIDES = {
    "rim_rotation": ("rotation_N", "rim against turning"),
    "rim_in_plane": ("inplane_N_mm2", "rim in the panel's plane"),
    "rim_vertical": ("vertical_N_mm2", "rim against sink"),
}
# What a shop's boards may have in common, in words: wood bought and chosen by one hand, a rim built one way
SHARED_WORDS = {
    "panel_along": "panel along the grain",
    "panel_across": "panel across the grain",
    "panel_shear": "panel in shear",
    "ribs": "ribs",
    "bridges": "bridges",
    **{key: words for key, (_, words) in RIM_SIDES.items()},
}
# What is not known of readings, and nothing of the body
OF_READINGS = {
    "days": "what the wood settles between the readings",
    "weather": "what the weather does between the readings",
    "plate_mm": "what the plate rises under its strings",
    "gauge_deg": "zero of the angle gauge",
    "moisture_percent": "moisture of the wood on the day of the trials",
}
SHEAR = ("G_LR", "G_LT", "G_RT")
MODULI = ("E_L", "E_R", "E_T", *SHEAR)
MOST_WAVES = 2


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """One thing that is not known exactly.

    key     a key of scatter.toml
    words   what it is, in a sentence
    sigma   one standard deviation before anything was read; of the natural logarithm, where the key names a unit in
            that, thickness in mm
    rib     name of the rib whose own it is
    waves   of an error of the computation that runs over the board in half waves: how many along x and along y
    """

    key: str
    words: str
    sigma: float
    rib: str = ""
    waves: tuple[int, int] | None = None


@cache
def scatter() -> dict[str, float]:
    """One standard deviation of everything in ``data/scatter.toml``, where each number stands beside its source."""
    text = files("bellywork.board.data").joinpath("scatter.toml").read_text(encoding="utf-8")
    return {key: float(value) for key, (value, _) in tomllib.loads(text)["scatter"].items()}


def shared(key: str) -> Unknown:
    """An unknown that a shop's boards may have in common, by its key."""
    return Unknown(key=key, words=SHARED_WORDS[key], sigma=scatter()[key])


def unknowns_of(body: Body) -> tuple[Unknown, ...]:
    """What is not known of a body.

    A rib's own height acts on the board nearly as its modulus does, cubed, and is one unknown with it. A rim that is
    described as held fast or free in some way is taken at its word: there is nothing to scatter.
    """
    return tuple(_unknowns(body))


def _unknowns(body: Body) -> Iterator[Unknown]:
    wide = scatter()
    for key in ("panel_along", "panel_across", "panel_shear"):
        yield shared(key)
    yield Unknown(key="thickness", words="panel's thickness", sigma=wide["thickness_mm"])
    if body.ribs:
        yield shared("ribs")
    for rib in body.ribs:
        own = float(np.hypot(wide["rib"], 3.0 * wide["rib_height_mm"] / rib.height_mm))
        yield Unknown(key="rib", words=f"rib {rib.name}", sigma=own, rib=rib.name)
    if body.bridges:
        yield shared("bridges")
    for key, (side, _) in RIM_SIDES.items():
        if any(0.0 < getattr(support, side) < np.inf for support in body.outline.support):
            yield shared(key)
    yield Unknown(key="model", words="whole board", sigma=wide["model"])
    # the waves together scatter by as much as the data say, in the mean over the board
    waves = [(m, n) for m in range(MOST_WAVES + 1) for n in range(MOST_WAVES + 1) if m + n]
    for m, n in waves:
        sigma = wide["model_here"] / len(waves) ** 0.5
        yield Unknown(key="model_here", words="the computation at a place", sigma=sigma, waves=(m, n))


def unknowns_of_readings(keys: Iterable[str]) -> tuple[Unknown, ...]:
    """What is not known of readings, by their keys: of the days between those of a board under its load and bare shares
    of what is reckoned, 0: as reckoned; of plate, gauge and moisture mm, degrees and % MC.
    """
    return tuple(Unknown(key=key, words=OF_READINGS[key], sigma=scatter()[key]) for key in keys)


def waves_at(body: Body, unknown: Unknown, points_mm: Floats) -> Floats:
    """Shape of an error of the computation at points (points, 2): cosines over the outline's box, mean square 1."""
    low, high = body.outline.points_mm.min(axis=0), body.outline.points_mm.max(axis=0)
    share = (points_mm - low) / (high - low)
    waves = [
        np.cos(np.pi * count * share[:, k]) * 2.0 ** (0.5 * (count > 0)) for k, count in enumerate(unknown.waves or ())
    ]
    return np.asarray(np.prod(waves, axis=0))


def changed(body: Body, unknowns: tuple[Unknown, ...], values: Floats) -> Body:
    """The body for values of its unknowns: natural logarithms of factors, mm for the thickness; 0: as described.

    Stiffer is positive throughout. "model" makes everything stiffer, the rim as well, so that the board sinks less by
    just that factor. An error of the computation at a place is no body's: it changes nothing here.
    """
    at = {(each.key, each.rib): float(value) for each, value in zip(unknowns, values)}

    def factor(*keys: str, rib: str = "") -> float:
        return float(np.exp(sum(at.get((key, rib if key == "rib" else ""), 0.0) for key in ("model", *keys))))

    panel, across = body.panel, factor("panel_across")
    thicker = np.array([0.0, 0.0, at["thickness", ""]])
    factors = {"E_L": factor("panel_along"), "E_R": across, "E_T": across}
    wood = _stiffened(panel.wood, {**factors, **dict.fromkeys(SHEAR, factor("panel_shear"))})
    sides = {side: factor(key) for key, (side, _) in RIM_SIDES.items()}
    supports = {id(support): _held(support, sides) for support in body.outline.support}
    return Body(
        outline=Outline(
            points_mm=body.outline.points_mm, support=tuple(supports[id(each)] for each in body.outline.support)
        ),
        panel=replace(panel, wood=wood, thickness_points_mm=panel.thickness_points_mm + thicker),
        ribs=tuple(replace(rib, wood=_all(rib.wood, factor("ribs", "rib", rib=rib.name))) for rib in body.ribs),
        bridges=tuple(_bridge(bridge, factor("bridges")) for bridge in body.bridges),
    )


def _stiffened(wood: Wood, factors: dict[str, float]) -> Wood:
    return replace(wood, **{name: factor * getattr(wood, name) for name, factor in factors.items()})


def _all(wood: Wood, factor: float) -> Wood:
    return _stiffened(wood, dict.fromkeys(MODULI, factor))


def _bridge(bridge: Bridge, factor: float) -> Bridge:
    return replace(bridge, root_wood=_all(bridge.root_wood, factor), cap_wood=_all(bridge.cap_wood, factor))


def _held(support: RimSupport, sides: dict[str, float]) -> RimSupport:
    return replace(support, **{side: factor * getattr(support, side) for side, factor in sides.items()})
