"""The planing schedule as it is told: what to cut, where, and what one gets for it."""

from __future__ import annotations

from dataclasses import dataclass

from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.cures import Cure
from bellywork.balance.plate_setting import PlateSetting
from bellywork.balance.struts import StrutClearance
from bellywork.board.arrays import Bools, Floats
from bellywork.board.state import State
from bellywork.findings import Finding


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaneTable:
    """The planing schedule. Arrays have one entry per note; lengths in mm.

    working                       the state in which block and kerf are right: bare or preloaded
    aimed                         the state that the targets are for
    depth_known                   False where no depth can be given, since no sink leads from `working` to `aimed`:
                                  depths, kerf and what one would get are NaN, and the block is that of a target for
                                  the working state
    now                           the bearing before anything is done, in the working state
    set_up                        the same with the plate set first; the same table where it is left as it is
    faired                        the bearing in the aimed state after cutting by the faired depths, solved together:
                                  where wood is short nothing is cut, and the neighbours get more
    planed                        the same for the exact depths
    strung                        strung, after cutting by the faired depths; None where that is `faired` or not known
    front_share                   share of the net wanted at the front pins
    plane_front_mm, plane_rear_mm exact depth to plane at the front and rear pins; negative: wood is short
    faired_front_mm, faired_rear_mm
                                  the depth to cut: a fair line within the tolerance
    fairing_cost_deg              net bearing after the faired depths less that after the exact ones
    block_mm, kerf_mm             block on the rear rest, and depth of the kerf, in the working state, that mark the
                                  depth to cut
    kerf_at                       where across the bridge the kerf's depth is told: 0 front pins, 1 rear pins
    cap_left_mm                   cap left under the notches after cutting; NaN unknown
    short                         True where wood is short at one of the pin rows by more than the bearing tolerance
    cures                         for each section with short notes, what would mend it
    struts                        clearance under the struts after cutting, in the working state
    plate                         the plate's setting where it was set first; None: left as it is
    findings, assumptions         what to look at; what the numbers stand on, in sentences
    """

    working: State
    aimed: State
    depth_known: bool
    now: BearingTable
    set_up: BearingTable
    faired: BearingTable
    planed: BearingTable
    strung: BearingTable | None
    front_share: Floats
    plane_front_mm: Floats
    plane_rear_mm: Floats
    faired_front_mm: Floats
    faired_rear_mm: Floats
    fairing_cost_deg: Floats
    block_mm: Floats
    kerf_mm: Floats
    kerf_at: Floats
    cap_left_mm: Floats
    short: Bools
    cures: tuple[Cure, ...]
    struts: tuple[StrutClearance, ...]
    plate: PlateSetting | None
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
