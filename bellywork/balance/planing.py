"""How much to plane from the bridge at every note so that the target is met once the board is strung."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable, table_of
from bellywork.balance.cures import cures, planing_findings, short_of_wood
from bellywork.balance.depth import depths
from bellywork.balance.fairing import faired_tops
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.plate_setting import PlateSetting, given_plate, set_plate
from bellywork.balance.sink import Sink, SinkSource, sink_of
from bellywork.balance.struts import StrutClearance, clearance_findings, strut_clearances
from bellywork.balance.wanted import Wanted, wanted
from bellywork.board.arrays import Bools, Floats
from bellywork.board.board import Board
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, MissingLayer
from bellywork.findings import Finding, Level, Place
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, topped
from bellywork.geometry.thread import threaded
from bellywork.instrument import Instrument, prepared
from bellywork.measures import are, counted

FAIR_ROUNDS = 12
FAIR_SHARE = 0.8  # of the bearing tolerance; the rest is for rounding and reading, so that what was cut is not short


def plane(
    board: Board | Instrument,
    *,
    sink: Sink | SinkSource | None = None,
    working: State | None = None,
    plate_first: bool = False,
    plate: PlateMove | None = None,
) -> PlaneTable:
    """The planing schedule of a board, or of one made ready, for its targets.

    sink          where the sink comes from, or the sink itself; without it as `sink_of` chooses
    working       the state to work in, bare or preloaded; without it, the measured one, or bare where that is strung
    plate_first   set the plate on its supports first, for the least wood
    plate         set it first as it is moved here

    The target fixes every angle, so every force, so the sink under the finished scale: height wanted strung + sink =
    height wanted bare; depth = bare height now − bare height wanted, at both pin rows. Without a sink a depth follows
    only for targets that hold in the very state that was measured.

    Raises MissingLayer where a layer is lacking for what is asked, BoardError for targets that do not fit the board or
    a strung working state, SolveError where no balance or no plate setting is found.
    """
    ready = prepared(board)
    whole, used = ready.board, sink_of(ready, sink)
    working = working or (State.BARE if whole.measured_in.under_strings else whole.measured_in)
    if working.under_strings:
        raise BoardError("A bridge is planed on the bare or the preloaded board, not under its strings.")
    if used.source is SinkSource.NONE and State.STRUNG is not whole.measured_in is not working:
        raise MissingLayer(
            f"Working on the {working.value} board, from heights of the {whole.measured_in.value} board, needs the "
            "sink between them: body, string plan and scale for a prediction, or sink.csv."
        )
    bare = used.bare(whole.needed_strings("Planing"), whole.measured_in)
    work = _Planing(board=whole, before=bare, bare=bare, sink=used, working=working, setting=None)
    refused: tuple[Finding, ...] = ()
    if (plate_first or plate is not None) and not work.known:
        raise MissingLayer(
            "Setting the plate for planing needs the depth to cut, and so the sink: sink.csv, or panel, ribs, bridges, "
            "plan and scale."
        )
    if plate_first:
        setting = set_plate(whole, bare, used)
        moved = replace(work, bare=setting.line, setting=setting)
        more, fewer = int(np.sum(moved.short)), int(np.sum(work.short))
        work, refused = (moved, ()) if more <= fewer else (work, _refused(more, fewer))
    elif plate is not None:
        setting = given_plate(whole, bare, used, plate)
        work, refused = replace(work, bare=setting.line, setting=setting), _too_far(whole, plate)
    return work.table(ready.assumptions + used.assumptions, refused)


def _too_far(board: Board, move: PlateMove) -> tuple[Finding, ...]:
    """A move that supports do not allow, named."""
    names = board.plate.beyond(move)
    if not names:
        return ()
    return _of_the_supports(
        "plate-too-far",
        f"a plate moved beyond what is left at {'support' if len(names) == 1 else 'supports'} {', '.join(names)}",
        "moves within down to and up to",
        "Move it by less, or make room there first.",
    )


def _refused(more: int, fewer: int) -> tuple[Finding, ...]:
    """A best setting that would be none."""
    return _of_the_supports(
        "plate-not-set",
        f"a best setting of the plate that would leave {counted(more, 'note')} short of wood, where {fewer} "
        f"{are(fewer)} now",
        "a setting with no more short notes than the plate has as it stands",
        "The plate was left as it is: widen the supports' limits, or see to the short notes first.",
    )


def _of_the_supports(code: str, found: str, expected: str, remedy: str) -> tuple[Finding, ...]:
    place = Place(file="supports.csv")
    return (Finding(code=code, place=place, found=found, expected=expected, remedy=remedy, level=Level.ADVICE),)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Planing:
    """One board with its notes complete, its bridge at `bare` heights, on its way to a schedule.

    before   the bare heights with the plate as it stands; bare   the same with the plate set
    """

    board: Board
    before: StringLine
    bare: StringLine
    sink: Sink
    working: State
    setting: PlateSetting | None

    @property
    def want(self) -> Wanted:
        scale = self.board.scale
        return wanted(self.bare, self.board.targets, None if scale is None else pull_N(scale, self.bare))

    @property
    def known(self) -> bool:
        """Whether a depth can be given: the sink is known, or the target is for the very state that was measured."""
        measured, aimed = self.board.measured_in, self.want.state
        return self.sink.source is not SinkSource.NONE or (measured is aimed is not State.STRUNG)

    @property
    def short(self) -> Bools:
        """Where wood is short."""
        return short_of_wood(
            depths(self.bare, self.want, self.sink), bearing(self.bare).degrees_per_mm, self.board.rules
        )

    def table(self, assumptions: tuple[str, ...], more: tuple[Finding, ...]) -> PlaneTable:
        want, now = self.want, self.sink.moved(self.bare, self.working)
        here = self.working if self.sink.source is not SinkSource.NONE else self.board.measured_in
        set_up = self._table(now, here, want)
        was = set_up if self.setting is None else self._table(self.sink.moved(self.before, here), here, want)
        if not self.known:
            return self._without_depth(was, want, assumptions)
        depth = depths(self.bare, want, self.sink)
        planed = self._after(depth, want)
        fair, faired = self._faired(now, depth, want, planed)
        thread = threaded(now, now.bridge_front_mm - fair[0], now.bridge_rear_mm - fair[1])
        cap_left = self.bare.cap_mm - np.maximum.reduce([*fair, np.zeros_like(fair[0])]) - self.board.rules.notch_mm
        short = self.short
        struts = self._clearances(cut(now, fair))
        apart = want.state is not State.STRUNG and self.sink.source is not SinkSource.NONE
        return PlaneTable(
            working=self.working,
            aimed=want.state,
            depth_known=True,
            now=was,
            set_up=set_up,
            faired=faired,
            planed=planed,
            strung=self._after(fair, want, State.STRUNG) if apart else None,
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
            cures=cures(self.bare, want, depth, short, faired.net_deg, self.board.plate.supports),
            struts=struts,
            plate=self.setting,
            findings=(
                *more,
                *planing_findings(self.bare, cap_left, self.board.rules),
                *clearance_findings(struts),
                *faired.findings,
            ),
            assumptions=assumptions + want.assumptions + self._said(),
        )

    def _without_depth(self, now: BearingTable, want: Wanted, assumptions: tuple[str, ...]) -> PlaneTable:
        """What geometry alone can tell: the bearing now, and the block for a target in the state measured."""
        unknown = np.full(len(self.bare.note), np.nan)
        measured = self.board.measured_in is self.working
        thread = threaded(now.line, want.front_mm, want.rear_mm)
        then = replace(
            now,
            front_deg=unknown,
            rear_deg=unknown,
            net_deg=unknown,
            deviation_deg=unknown,
            downforce_N=unknown,
            section_downforce_N={},
            findings=(),
        )
        return PlaneTable(
            working=self.working,
            aimed=want.state,
            depth_known=False,
            now=now,
            set_up=now,
            faired=then,
            planed=then,
            strung=None,
            front_share=want.front_share,
            plane_front_mm=unknown,
            plane_rear_mm=unknown,
            faired_front_mm=unknown,
            faired_rear_mm=unknown,
            fairing_cost_deg=unknown,
            block_mm=thread.block_mm if measured else unknown,
            kerf_mm=unknown,
            kerf_at=unknown,
            cap_left_mm=unknown,
            short=np.zeros(len(unknown), dtype=np.bool_),
            cures=(),
            struts=(),
            plate=None,
            findings=now.findings,
            assumptions=assumptions + want.assumptions,
        )

    def _faired(
        self, now: StringLine, depth: tuple[Floats, Floats], want: Wanted, planed: BearingTable
    ) -> tuple[tuple[Floats, Floats], BearingTable]:
        """The depth to cut, and the bearing after it: fair, and nowhere off the exact one's by more than the tolerance.

        Each note's own change of height is bounded by its tolerance; what its neighbours' changes do to it through the
        board is not, so tolerances are narrowed where the balance says that they were too wide.
        """
        rules = self.board.rules
        allowed = FAIR_SHARE * rules.bearing_tolerance_deg
        tolerance = np.minimum(rules.fair_tolerance_mm, allowed / bearing(now).degrees_per_mm)
        goal = now.bridge_front_mm - depth[0], now.bridge_rear_mm - depth[1]
        for _ in range(FAIR_ROUNDS):
            top = faired_tops(now, *goal, tolerance, self.board.plan)
            fair = now.bridge_front_mm - top[0], now.bridge_rear_mm - top[1]
            faired = self._after(fair, want)
            over = np.abs(faired.net_deg - planed.net_deg) / allowed
            if np.max(over) <= 1.0:
                return fair, faired
            tolerance = tolerance / np.maximum(1.05 * over, 1.0)
        return depth, planed

    def _after(self, depth: tuple[Floats, Floats], want: Wanted, state: State | None = None) -> BearingTable:
        """The bearing after planing by these depths, none where they are negative, in the aimed or another state."""
        state = state or want.state
        return self._table(self.sink.moved(cut(self.bare, depth), state), state, want)

    def _table(self, line: StringLine, state: State, want: Wanted) -> BearingTable:
        return table_of(line, state=state, sink=self.sink, scale=self.board.scale, want=want, assumptions=())

    def _clearances(self, top: StringLine) -> tuple[StrutClearance, ...]:
        if self.board.plan is None or not self.bare.levelled:
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


def cut(line: StringLine, depth: tuple[Floats, Floats]) -> StringLine:
    """The line after planing; where wood is short, nothing is planed."""
    return topped(
        line,
        line.bridge_front_mm - np.maximum(depth[0], 0.0),
        line.bridge_rear_mm - np.maximum(depth[1], 0.0),
    )
