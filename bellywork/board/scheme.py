"""Rib schemes: a table of ribs, or a rule that makes one; and what a search over a rule may change and wishes for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from bellywork.board.body import Rib
from bellywork.board.wood import Wood
from bellywork.errors import BoardError


@dataclass(frozen=True, kw_only=True, eq=False)
class RibRule:
    """A rule that lays straight, parallel ribs over an outline, from the treble to the bass.

    count                              number of ribs
    angle_deg                          their direction, counter-clockwise from +x
    treble_margin_mm, bass_margin_mm   from the outline's last point on either side to the outermost ribs, across them
    spacing_ratio                      each gap to the one before it; 1: even
    treble_width_mm, bass_width_mm     width of the first and of the last rib, straight between
    treble_height_mm, bass_height_mm   full height, likewise
    end_height_mm, feather_mm          height left at both ends, and length of the feathers (at most 0.4 of a rib)
    treble_radius_mm, bass_radius_mm   radius of the crown, likewise; ``inf`` where flat
    """

    count: int
    angle_deg: float
    treble_margin_mm: float
    bass_margin_mm: float
    spacing_ratio: float
    treble_width_mm: float
    bass_width_mm: float
    treble_height_mm: float
    bass_height_mm: float
    end_height_mm: float
    feather_mm: float
    treble_radius_mm: float
    bass_radius_mm: float
    wood: Wood


class Least(Enum):
    """What a search makes as small as it can: mass of the ribs, unevenness of the compliance, or the greatest sink."""

    MASS = "mass"
    UNEVENNESS = "unevenness"
    SINK = "sink"


@dataclass(frozen=True, kw_only=True, eq=False)
class Wish:
    """What a search wishes for, and within which bounds.

    least                 what is to be as small as it can be
    sink_most_mm          sink allowed at every note; inf: any
    unevenness_most       scatter of the compliance along the long bridge allowed; inf: any
    bending_share_most    share of the lasting bending strength that any rib may use
    crown_left_least_mm   crown to be left over every rib, strung; −inf: any
    bounds                lowest and highest value of each field of the rule that may change
    """

    least: Least
    sink_most_mm: float = float("inf")
    unevenness_most: float = float("inf")
    bending_share_most: float = 1.0
    crown_left_least_mm: float = float("-inf")
    bounds: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, kw_only=True, eq=False)
class Scheme:
    """A rib scheme for a board: ribs or a rule, exactly one; and what else is changed.

    panel_factor    the panel's thickness times this; bridge_factor: the bridges' roots times this in height
    wish            what a search over the rule wishes for; None: it is not for searching
    """

    name: str
    ribs: tuple[Rib, ...] | None = None
    rule: RibRule | None = None
    panel_factor: float = 1.0
    bridge_factor: float = 1.0
    wish: Wish | None = None

    def __post_init__(self) -> None:
        if (self.ribs is None) == (self.rule is None):
            raise BoardError(f"The scheme {self.name} needs either ribs or a rule for them.")
