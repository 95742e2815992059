"""Bearing and planing for another humidity than that of the measurement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable, bearing
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink, SinkSource, predicted_sink
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.instrument import Instrument
from bellywork.seasons.year import ClimateShift, Year


def bearing_at(
    board: Board | Instrument, *, rh_percent: float, temperature_C: float | None = None, state: State = State.BARE
) -> BearingTable:
    """The bearing at every note at another humidity, bare or strung.

    The bare heights are those measured, shifted by what the humidity does to the board; the strings are settled on its
    stiffness there. Raises as `season` does.
    """
    year = Year.of(board, temperature_C)
    shift = year.shift(rh_percent)
    said = (*year.assumptions, f"Heights are led from {year.reference_rh_percent:g} % RH to {rh_percent:g} %.")
    there = replace(year.ready.board, strings=shift.bare(year.line), measured_in=State.BARE)
    return bearing(there, state=state, sink=replace(shift.sink, assumptions=said))


def plane_at(
    board: Board | Instrument,
    *,
    rh_percent: Sequence[float],
    temperature_C: float | None = None,
    working: State | None = None,
    plate_first: bool = False,
) -> PlaneTable:
    """The planing schedule whose targets are met at another humidity, or at the worst of several.

    The bridge is cut at the humidity of the measurement; the strung board is taken at that of `rh_percent`. Of several,
    each note is planed for the one at which its bridge stands lowest, so that none has less than its target within the
    range. Raises as `season` and `plane` do.
    """
    year = Year.of(board, temperature_C)
    shifts = [year.shift(float(rh)) for rh in rh_percent]
    lowest = int(np.argmin([float(np.sum(shift.front_mm + shift.rear_mm)) for shift in shifts]))
    worst = ClimateShift(
        front_mm=np.array([shift.front_mm for shift in shifts]).min(axis=0),
        rear_mm=np.array([shift.rear_mm for shift in shifts]).min(axis=0),
        sink=shifts[lowest].sink,
    )
    words = " and ".join(f"{rh:g}" for rh in sorted({min(rh_percent), max(rh_percent)}))
    said = (
        f"Targets are met at {words} % RH."
        if len(shifts) == 1
        else f"Targets are met at the worst humidity from {words} % RH, note by note; elsewhere it is higher."
    )
    here = predicted_sink(year.ready)
    sink = SeasonedSink(here=here, there=worst, assumptions=(*here.assumptions, *year.assumptions, said))
    return plane(year.ready, sink=sink, working=working, plate_first=plate_first)


@dataclass(frozen=True, kw_only=True, eq=False)
class SeasonedSink:
    """A board that is worked at one humidity, `here`, and strung at another, `there`."""

    here: PredictedSink
    there: ClimateShift
    assumptions: tuple[str, ...]
    source: SinkSource = SinkSource.PREDICTED

    def bare(self, line: StringLine, state: State) -> StringLine:
        """The bare heights, here, of a line whose heights are those of `state`: strung there, else here."""
        if state is not State.STRUNG:
            return self.here.bare(line, state)
        return self.there.back(self.there.sink.bare(line, state))

    def moved(self, bare: StringLine, state: State) -> StringLine:
        """The heights that a line that is bare here takes in `state`: strung there, else here."""
        if state is not State.STRUNG:
            return self.here.moved(bare, state)
        return self.there.sink.moved(self.there.bare(bare), state)
