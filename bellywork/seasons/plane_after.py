"""Planing for a later day: the targets stand then, after the board has settled, not on the day of stringing."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink, SinkSource, predicted_sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import Scale, StringLine
from bellywork.errors import SolveError
from bellywork.geometry.string_line import pin_forces_N, sunk
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.response import Response
from bellywork.seasons.along import top_along
from bellywork.seasons.bearing_after import worked_bare
from bellywork.seasons.known import cases, lived
from bellywork.seasons.life import Life
from bellywork.seasons.outlook import days_in_words, fitting
from bellywork.seasons.service import Service, in_time, served

ROUNDS = 8
CLOSE_MM = 0.005  # half of the hundredth that a schedule prints


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanedAfter:
    """A schedule for a later day, and the way of the board that was planed by it.

    table     the schedule; its strung states are those of that day
    service   the board with its bridge planed by the exact depths, none where wood is short
    day       since the stringing
    leave_mm  depth at the front edge for targets met on the day of stringing, less the depth of this schedule: the
              wood that stays for the years (notes,)
    """

    table: PlaneTable
    service: Service
    day: float
    leave_mm: Floats


def plane_after(board: Board | Instrument, *, life: Life, day: float, working: State | None = None) -> PlanedAfter:
    """The planing schedule whose targets are met so many days after the stringing.

    The board is followed with its bridge planed as far as is known, the schedule is made for the sink that it then has,
    and so on until the depths stay. Heights of the strung board are first led back to the bare one, as in `plane`.

    Raises as `plane` and `outlook` do, SolveError where the depths do not settle.
    """
    ready = prepared(board)
    here, worked = predicted_sink(ready), worked_bare(ready)
    bare = worked.board.needed_strings("Planing")
    known, plan = cases(life)[0], ready.board.needed_plan("Planing")
    along = top_along(ready) if life.untuned == "holding" else None
    in_years = in_time(ready.belly, plan.pins_mm, known.laws, along=along)
    history = lived(ready.belly, life, known, np.array([day]))
    # creep softens the board; only how fast the rounds settle hangs on this
    softer = 1.0 + float(known.laws.along.creep.crept(day))
    strings = fitting(worked, life, day)
    depth = np.zeros((2, len(bare.note)))
    for _ in range(ROUNDS):
        planed = sunk(bare, *depth)
        service = served(in_years, history, replace(strings, line=planed))
        stop = service.at(life.before_days + day)
        strung = service.line[stop]
        said = (f"Targets are met {days_in_words(day)} after the stringing; on the day itself there is more.",)
        then = _later(here, planed, strung, softer, (*said, *life.assumptions))
        table = plane(worked, sink=then, working=working)
        wanted = np.maximum([table.plane_front_mm, table.plane_rear_mm], 0.0)
        if np.abs(wanted - depth).max() <= CLOSE_MM:
            at_once = plane(worked, sink=here, working=working)
            leave = at_once.plane_front_mm - table.plane_front_mm
            if life.untuned:
                table = _pulled(table, service.pull_N[stop], ready.board.needed_scale("Planing"))
            return PlanedAfter(table=table, service=service, day=day, leave_mm=leave)
        depth = wanted
    raise SolveError(f"The depths did not settle in {ROUNDS} rounds of planing and following the board.")


def _pulled(table: PlaneTable, pull_N: Floats, scale: Scale) -> PlaneTable:
    """The schedule with what strings left alone pull then, in place of their tension at pitch."""
    strung = None if table.strung is None else table.strung.pulled(pull_N, scale.unisons)
    planed, faired = (each.pulled(pull_N, scale.unisons) for each in (table.planed, table.faired))
    return replace(table, planed=planed, faired=faired, strung=strung)


@dataclass(frozen=True, kw_only=True, eq=False)
class SinkThen:
    """A board that is worked today, `here`, and whose strung state is that of a later day.

    then       the board about the forces that it then bears
    lower_mm   how much lower its bridge then is than those forces alone make it, at front and then rear pins
    """

    here: PredictedSink
    then: PredictedSink
    lower_mm: Floats
    assumptions: tuple[str, ...]
    source: SinkSource = SinkSource.PREDICTED

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights today of a line whose heights are those of `state`: strung then, else today."""
        if state is not State.STRUNG:
            return self.here.bare(line, state)
        return sunk(self.then.bare(line, state), *np.split(-self.lower_mm, 2))

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a line that is bare today takes in `state`: strung then, else today."""
        if state is not State.STRUNG:
            return self.here.moved(bare, state)
        return self.then.moved(sunk(bare, *np.split(self.lower_mm, 2)), state)


def _later(here: PredictedSink, bare: StringLine, strung: StringLine, softer: float, said: tuple[str, ...]) -> SinkThen:
    """The sink from bare today to strung then: exact at the forces then, and as steep as the board is about them."""
    force, pins = np.concatenate(pin_forces_N(strung, here.pull_N)), here.response.places
    tangent = softer * here.response.slope_mm_N(force)
    fallen = np.concatenate(
        [bare.bridge_front_mm - strung.bridge_front_mm, bare.bridge_rear_mm - strung.bridge_rear_mm]
    )
    beyond = softer * here.response.small_mm_N[pins:]  # points of the panel are not asked for then
    return SinkThen(
        here=here,
        then=replace(here, response=Response(small_mm_N=np.vstack([tangent, beyond]))),
        lower_mm=fallen - tangent @ force,
        assumptions=(*here.assumptions, *said),
    )
