"""What the bearing should be, in the strung state or in an earlier one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bellywork.board.state import State


class TargetKind(Enum):
    """The four ways the trade says a bearing: net angle, block on the rear rest, string deflection, force."""

    NET_DEG = "net_deg"
    BLOCK_MM = "block_mm"
    DEFLECTION_MM = "string_deflection_mm"
    FORCE_N = "unison_force_N"


@dataclass(frozen=True, kw_only=True)
class Target:
    """A wanted bearing, for one note or for a whole section (exactly one of the two is named).

    Between notes that are named in one section the value runs in a straight line over the note numbers; a note
    outside them takes the nearest. `front_share` is the share of the net angle on the speaking side, 0 to 1. `state` is
    the state in which it is to hold: strung, or, as the oldest way of working has it, before the strings are on.
    """

    kind: TargetKind
    value: float
    section: str = ""
    note: int | None = None
    front_share: float = 0.5
    state: State = State.STRUNG


@dataclass(frozen=True, kw_only=True)
class PlaningRules:
    """The shop's limits for planing a bridge; the defaults are common practice, no source.

    fair_tolerance_mm      how far the faired line may leave the exact one
    bearing_tolerance_deg  net bearing this near the target counts as met
    cap_least_mm           cap to be left under the notches
    notch_mm               depth of the notches still to be cut
    """

    fair_tolerance_mm: float = 0.1
    bearing_tolerance_deg: float = 0.1
    cap_least_mm: float = 6.0
    notch_mm: float = 2.5
