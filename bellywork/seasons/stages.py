"""What was read of bridge and bearing at each stage of the work, beside what was predicted for it."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from bellywork.balance.bearing_table import bearing
from bellywork.board.board import Board
from bellywork.board.state import Climate, NetReading, Reading, State, nets_read
from bellywork.board.strings import StringLine
from bellywork.errors import MissingLayer
from bellywork.geometry.string_line import bearing as turned
from bellywork.instrument import Instrument, prepared
from bellywork.seasons.at_climate import bearing_at
from bellywork.seasons.bearing_after import worked_bare
from bellywork.seasons.life import FINISHES, USUAL_AIR, Life, life_of
from bellywork.seasons.outlook import outlook

SAME_RH_PERCENT = 1.0  # a hygrometer tells no finer; common practice, no source
LATER_DAYS = 1.0


@dataclass(frozen=True, kw_only=True)
class StageReading:
    """One note at one stage: the height of its bridge top in mm, or its net bearing in degrees by a gauge.

    read, predicted   as they were read, and as they were predicted for that state, humidity and day
    days              between the stringing and the reading, where it was read later; else 0
    """

    date: str
    state: State
    note: int
    by_gauge: bool
    read: float
    predicted: float
    days: float = 0.0

    @property
    def off(self) -> float:
        """Read less predicted."""
        return self.read - self.predicted


def stages(
    board: Board | Instrument, *, air: str = USUAL_AIR, finish: str = FINISHES[0], untuned: str = ""
) -> tuple[StageReading, ...]:
    """Every bridge height and every pair of gauge readings, in the order of their dates, beside its prediction.

    A reading of the strung board that is dated later than the heights of the string line is told against the board as
    time has made it, in this air with this finish, tuned or not (see `life_of`); to a humidity other than that of the
    measurement the board is led, bare and strung.

    Raises MissingLayer where there is no such reading, or the board lacks what a prediction needs.
    """
    ready = prepared(board)
    found = sorted(_read(ready), key=lambda each: (each.climate.date, each.state.value, each.note or 0))
    if not found:
        raise MissingLayer(
            "A history needs what was read on the way: rows with the kind bridge_height, or front_deg and rear_deg, at "
            "notes in readings.csv."
        )
    lines = _Lines(ready, found, partial(life_of, air=air, finish=finish, untuned=untuned))
    out = []
    for reading in found:
        line, days = lines.at(reading)
        place = line.note.tolist().index(reading.note)
        gauge = isinstance(reading, NetReading)
        predicted = turned(line).net_deg[place] if gauge else line.top_mm[place]
        out.append(
            StageReading(
                date=reading.climate.date,
                state=reading.state,
                note=int(line.note[place]),
                by_gauge=gauge,
                read=reading.net_deg if isinstance(reading, NetReading) else reading.value,
                predicted=float(predicted),
                days=days,
            )
        )
    return tuple(out)


def _read(ready: Instrument) -> list[Reading | NetReading]:
    """Heights and net bearings of notes that the board has."""
    notes = set(ready.board.needed_strings("A history").note.tolist())
    every = ready.board.readings
    heights = [each for each in every if each.kind == "bridge_height" and each.note in notes]
    return [*heights, *(each for each in nets_read(every) if each.note in notes)]


class _Lines:
    """Predicted string lines by state, humidity and day, each made once."""

    def __init__(
        self, ready: Instrument, readings: Sequence[Reading | NetReading], life_of: Callable[..., Life]
    ) -> None:
        self.ready = ready
        later = sorted({day for reading in readings if (day := self._days(reading)) >= LATER_DAYS})
        self._later: dict[float, StringLine] = {}
        if later:
            life = life_of(ready.board, days=later[-1])
            seen = outlook(worked_bare(ready), life=life, days=later, banded=False)
            self._later = {day: seen.service.line[seen.service.at(life.before_days + day)] for day in later}

    def at(self, reading: Reading | NetReading) -> tuple[StringLine, float]:
        """The line at a reading, and how many days after the stringing that is."""
        days = self._days(reading)
        if days in self._later:
            return self._later[days], days
        return self._now(reading.state, reading.climate), 0.0

    def _now(self, state: State, climate: Climate) -> StringLine:
        rh = self.ready.rh_percent if climate.rh_percent is None else climate.rh_percent
        if state is State.PRELOADED or abs(rh - self.ready.rh_percent) <= SAME_RH_PERCENT:
            return self.ready.kept(("stage", state), lambda: bearing(self.ready, state=state).line)
        return self.ready.kept(("stage", state, rh), lambda: bearing_at(self.ready, rh_percent=rh, state=state).line)

    def _days(self, reading: Reading | NetReading) -> float:
        """Days between the heights of the string line and a later reading of the strung board; else 0."""
        try:
            first = datetime.date.fromisoformat(self.ready.board.climate.date)
            then = datetime.date.fromisoformat(reading.climate.date)
        except ValueError:
            return 0.0
        days = float((then - first).days)
        return days if reading.state is State.STRUNG and days >= LATER_DAYS else 0.0
