"""The sheets of a board by their names, and the files they make."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, partial
from typing import TYPE_CHECKING

from bellywork.answers.answer import Answer
from bellywork.answers.plane_answer import plane_answer
from bellywork.answers.sureness import Sureness, sureness_of
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import plane
from bellywork.balance.rim_range import rim_range
from bellywork.balance.sink import Sink, SinkSource, sink_of
from bellywork.board.board import Board
from bellywork.board.plate import PlateMove
from bellywork.board.scheme import Scheme
from bellywork.board.state import State
from bellywork.estimate.bands import plane_bands
from bellywork.estimate.estimate import Estimate
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, Units
from bellywork.sheets.bearing_sheet import BearingStages, bearing_sheet, bearing_stages
from bellywork.sheets.bridge_sheet import bridge_sheet
from bellywork.sheets.dxf import dxf_bytes
from bellywork.sheets.frame import Stamp
from bellywork.sheets.plate_sheet import plate_sheet
from bellywork.sheets.rib_sheet import rib_sheet
from bellywork.sheets.sheet_pages import Sheet

if TYPE_CHECKING:
    from bellywork.schemes.assessed import Base, SchemeResult
    from bellywork.solids.parts import BodySolids
    from bellywork.survey.loss import Survey
    from bellywork.survey.recovery import Best


class Bench:
    """A board on its way to sheets: what several of them need is worked out once.

    estimate      what was learned of the board, and with it bands; None: the board as described, without bands
    working       the state in which block and kerf are right; None: as measured
    plate_first   the plate is set first: bearing sheet, bridge template and dowel schedule then go together
    plate         it is set first as it is moved here
    schemes       rib schemes to hold against the board's own ribs
    units         in which numbers are told
    """

    def __init__(
        self,
        board: Board | Instrument,
        *,
        estimate: Estimate | None = None,
        working: State | None = None,
        plate_first: bool = False,
        plate: PlateMove | None = None,
        schemes: Sequence[Scheme] = (),
        units: Units = METRIC,
    ) -> None:
        self.board = board.board if isinstance(board, Instrument) else board
        self._described = board
        self.estimate = estimate
        self.working = working
        self.plate_first = plate_first
        self.plate = plate
        self.schemes = tuple(schemes)
        self.units = units

    @cached_property
    def ready(self) -> Instrument:
        """The board made ready."""
        return prepared(self._described) if self.estimate is None else self.estimate.ready

    @cached_property
    def sink(self) -> Sink:
        """Where the sink comes from: the best that the board has. Raises as `sink_of` does."""
        return sink_of(self.ready)

    @cached_property
    def schedule(self) -> PlaneTable:
        """The planing schedule. Raises as `plane` does."""
        return plane(self.ready, sink=self.sink, working=self.working, plate_first=self.plate_first, plate=self.plate)

    @cached_property
    def sureness(self) -> Sureness | None:
        """The bands of the schedule; None where nothing was learned or nothing is predicted."""
        if self.estimate is None or self.schedule.faired.sink_source is not SinkSource.PREDICTED:
            return None
        return sureness_of(self.estimate, partial(plane_bands, table=self.schedule))

    @cached_property
    def told(self) -> Answer:
        """The schedule as `bellywork plane` tells it, with its range over the rim where nothing was learned."""
        faired = self.schedule.faired
        predicted = faired.sink_source is SinkSource.PREDICTED and self.schedule.aimed is State.STRUNG
        spread = rim_range(self.ready, faired) if predicted and self.estimate is None else None
        return plane_answer(self.board, self.schedule, spread=spread, units=self.units, sureness=self.sureness)

    @cached_property
    def stages(self) -> BearingStages:
        """The bearing at each stage of the work."""
        return bearing_stages(self.ready.board, self.schedule, self.sink)

    @cached_property
    def compared(self) -> tuple[SchemeResult, ...]:
        """What the board's own ribs do to it, then what each scheme does. Raises as `assessed` does."""
        from bellywork.schemes.assessed import assessed

        own = Scheme(name="as described", ribs=self.board.needed_body("Comparing rib schemes").ribs)
        return tuple(assessed(self.scheme_base, scheme) for scheme in (own, *self.schemes))

    @cached_property
    def scheme_base(self) -> Base:
        """The board made ready for schemes: as described, for ribs not yet made teach nothing of these.

        Raises as `base_of` does.
        """
        from bellywork.schemes.assessed import base_of

        return base_of(prepared(self.board))

    @cached_property
    def solids(self) -> BodySolids:
        """Panel, ribs and bridges as solids. Raises MissingLayer without a body."""
        from bellywork.solids.parts import body_solids

        return body_solids(self.ready.board.needed_body("Solids"))

    @cached_property
    def survey(self) -> Survey:
        """What the board's readings say of its crown. Raises as `surveyed` does."""
        from bellywork.survey.loss import surveyed

        return surveyed(self._described, as_described=self.estimate is None)

    @cached_property
    def best(self) -> Best:
        """What could still be got from it."""
        from bellywork.survey.recovery import best

        return best(self.survey)

    def look_at(self, whats: Sequence[str]) -> bool:
        """Whether sheets of these names tell of something to look at or to mend, as their commands would."""
        if {"bearing", "bridge", "plate"} & set(whats):
            schedule = self.schedule
            if schedule.findings or schedule.short.any() or not schedule.depth_known:
                return True
        if {"crown", "owner"} & set(whats):
            from bellywork.answers.crown_answer import look_at

            return bool(self.survey.findings or look_at(self.survey, self.units))
        return False

    def sheet(self, name: str) -> Sheet:
        """The sheet of this name, one of `SHEETS`. Raises MissingLayer where the board's layers do not reach."""
        return SHEETS[name](self)


def _schemes(bench: Bench) -> Sheet:
    from bellywork.sheets.scheme_sheet import schemes_sheet

    return schemes_sheet(bench.compared, bench.scheme_base.assumptions, bench.units)


def _crown(bench: Bench) -> Sheet:
    from bellywork.sheets.crown_sheets import crown_sheet

    return crown_sheet(bench.survey, bench.best, bench.units)


def _owner(bench: Bench) -> Sheet:
    from bellywork.sheets.crown_sheets import owner_sheet

    return owner_sheet(bench.survey, bench.best, bench.units)


SHEETS: dict[str, Callable[[Bench], Sheet]] = {
    "bearing": lambda bench: bearing_sheet(bench.board, bench.stages, bench.told, bench.sureness, bench.units),
    "bridge": lambda bench: bridge_sheet(bench.board, bench.schedule, bench.units),
    "ribs": lambda bench: rib_sheet(bench.board, bench.units),
    "plate": lambda bench: plate_sheet(bench.board, bench.schedule, bench.units),
    "crown": _crown,
    "owner": _owner,
    "schemes": _schemes,
}


def dxf_of(sheet: Sheet, stamp: Stamp) -> bytes | None:
    """A sheet's drawings as one DXF; None where it has none at full size."""
    whole = sheet.whole(stamp)
    return None if whole is None else dxf_bytes(whole)
