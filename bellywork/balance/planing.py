"""How much to plane from the bridge at every note so that the target is met once the board is strung."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.balance.bearing_table import BearingTable, table_of
from bellywork.balance.cures import Cure, cures, planing_findings
from bellywork.balance.depth import depths
from bellywork.balance.fairing import faired_tops
from bellywork.balance.plate_setting import PlateSetting, set_plate
from bellywork.balance.sink import Sink, SinkSource, sink_of
from bellywork.balance.struts import StrutClearance, clearance_findings, strut_clearances
from bellywork.balance.wanted import Wanted, wanted
from bellywork.board.arrays import Bools, Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError
from bellywork.findings import Finding
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import topped
from bellywork.geometry.thread import threaded
from bellywork.instrument import Instrument, prepared

SHORT_MM = 0.005  # half of the hundredth that a schedule prints


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaneTable:
    """The planing schedule. Arrays have one entry per note; lengths in mm.

    working                       the state in which block and kerf are right: bare or preloaded
    now                           the bearing before planing, in the working state
    planed, faired                the strung bearing after planing by the exact and by the faired depths (where wood is
                                  short, after planing none)
    front_share                   share of the net wanted at the front pins
    plane_front_mm, plane_rear_mm exact depth to plane at the front and rear pins; negative: wood is short
    faired_front_mm, faired_rear_mm
                                  the same for a fair line within the tolerance
    fairing_cost_deg              net bearing after the faired depths less that after the exact ones
    block_mm, kerf_mm             block on the rear rest, and depth of the kerf, in the working state
    kerf_at                       where across the bridge the kerf's depth is told: 0 front pins, 1 rear pins
    cap_left_mm                   cap left under the notches after planing (the deeper of exact and faired); NaN unknown
    short                         True where wood is short at one of the pin rows
    cures                         for each section with short notes, what would mend it
    struts                        clearance under the struts after planing, in the working state
    plate                         the plate's setting where it was set first; None: left as it is
    findings, assumptions         what to look at; what the numbers stand on, in sentences
    """

    working: State
    now: BearingTable
    planed: BearingTable
    faired: BearingTable
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


def plane(
    board: Board | Instrument,
    *,
    sink: Sink | SinkSource | None = None,
    working: State | None = None,
    plate_first: bool = False,
) -> PlaneTable:
    """The planing schedule of a board, or of one made ready, for its targets.

    sink          where the sink comes from, or the sink itself; without it as `sink_of` chooses
    working       the state to work in, bare or preloaded; without it, the measured one, or bare where that is strung
    plate_first   set the plate on its supports first, for the least wood

    The target fixes every angle, so every force, so the sink under the finished scale: height wanted strung + sink =
    height wanted bare; depth = bare height now − bare height wanted, at both pin rows.

    Raises MissingLayer where a layer is lacking for what is asked, BoardError for targets that do not fit the board or
    a strung working state, SolveError where no balance or no plate setting is found.
    """
    ready = prepared(board)
    whole, used = ready.board, sink_of(ready, sink)
    working = working or (State.BARE if whole.measured_in is State.STRUNG else whole.measured_in)
    if working is State.STRUNG:
        raise BoardError("A bridge is planed on the bare or the preloaded board, not under its strings.")
    bare = used.bare(whole.needed_strings("Planing"), whole.measured_in)
    setting = set_plate(whole, bare, used) if plate_first else None
    bare = bare if setting is None else setting.line
    return _Planing(board=whole, bare=bare, sink=used, working=working, setting=setting).table(
        ready.assumptions + used.assumptions
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Planing:
    """One board with its notes complete, its bridge at `bare` heights, on its way to a schedule."""

    board: Board
    bare: StringLine
    sink: Sink
    working: State
    setting: PlateSetting | None

    def table(self, assumptions: tuple[str, ...]) -> PlaneTable:
        board, bare, scale = self.board, self.bare, self.board.scale
        want = wanted(bare, board.targets, None if scale is None else pull_N(scale, bare))
        depth = depths(bare, want, self.sink)
        now = self.sink.moved(bare, self.working)
        goal = now.bridge_front_mm - depth[0], now.bridge_rear_mm - depth[1]
        fair_top = faired_tops(now, *goal, board.rules, board.plan)
        fair = now.bridge_front_mm - fair_top[0], now.bridge_rear_mm - fair_top[1]
        planed, faired = self._strung(depth, want), self._strung(fair, want)
        thread = threaded(now, *goal)
        cap_left = bare.cap_mm - np.maximum.reduce([*depth, *fair, np.zeros_like(depth[0])]) - board.rules.notch_mm
        short = np.minimum(*depth) < -SHORT_MM
        struts = self._clearances(_planed(now, fair))
        return PlaneTable(
            working=self.working,
            now=table_of(now, state=self.working, sink=self.sink, scale=scale, want=want, assumptions=()),
            planed=planed,
            faired=faired,
            front_share=want.front_share,
            plane_front_mm=depth[0],
            plane_rear_mm=depth[1],
            faired_front_mm=fair[0],
            faired_rear_mm=fair[1],
            fairing_cost_deg=faired.net_deg - planed.net_deg,
            block_mm=thread.block_mm,
            kerf_mm=thread.kerf_mm,
            kerf_at=thread.kerf_at,
            cap_left_mm=cap_left,
            short=short,
            cures=cures(bare, depth, short, planed.net_deg),
            struts=struts,
            plate=self.setting,
            findings=(
                *planing_findings(bare, cap_left, board.rules),
                *clearance_findings(struts),
                *faired.findings,
            ),
            assumptions=assumptions + want.assumptions + self._said(),
        )

    def _strung(self, depth: tuple[Floats, Floats], want: Wanted) -> BearingTable:
        """The strung bearing after planing by these depths, none where they are negative."""
        strung = self.sink.moved(_planed(self.bare, depth), State.STRUNG)
        return table_of(strung, state=State.STRUNG, sink=self.sink, scale=self.board.scale, want=want, assumptions=())

    def _clearances(self, top: StringLine) -> tuple[StrutClearance, ...]:
        if self.board.plan is None:
            return ()
        return strut_clearances(top, self.board.plan, self.board.plate.struts, self.setting)

    def _said(self) -> tuple[str, ...]:
        said = [
            f"Block and kerf are right on the {self.working.value} board.",
            "Planing is reckoned to change neither the board's stiffness nor the plate under its strings.",
        ]
        if self.setting is not None:
            said += self._said_of_plate()
        if np.any(np.isnan(self.bare.cap_mm)):
            said.append("Where the cap's thickness is not given, what is left of it is not known.")
        return tuple(said)

    def _said_of_plate(self) -> list[str]:
        said = []
        if not self.board.plate.supports:
            said.append("No supports of the plate are described, so nothing limits how it is set.")
        if self.board.plan is None:
            said.append("Without the strings' plan the plate is moved up and down only, not tilted.")
        return said


def _planed(line: StringLine, depth: tuple[Floats, Floats]) -> StringLine:
    """The line after planing; where wood is short, nothing is planed."""
    return topped(
        line,
        line.bridge_front_mm - np.maximum(depth[0], 0.0),
        line.bridge_rear_mm - np.maximum(depth[1], 0.0),
    )
