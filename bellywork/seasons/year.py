"""The board through the year: what damp and dry do to crown, bridge height and bearing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from bellywork.balance.sink import (
    LEAST_FORCE_N,
    NO_POINTS,
    ONE_OF_THEM,
    PredictedSink,
    anchored,
    anchored_like,
    near_snap,
    predicted_sink,
)
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import CrownMethod
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError
from bellywork.geometry.scale import tension_N
from bellywork.geometry.string_line import bearing, sunk
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.climate import crushing_limit_MPa
from bellywork.mechanics.large import LargeState
from bellywork.mechanics.moisture import FreeStrain, free_strain
from bellywork.mechanics.response import Response
from bellywork.seasons.along import top_along
from bellywork.seasons.pitch import PitchChange, held_along_mm, pitch_change


@dataclass(frozen=True, kw_only=True, eq=False)
class RibCrown:
    """Crown of one rib over its span at each humidity: rise of its middle over the line between its ends, mm."""

    rib: str
    span_mm: float
    rise_mm: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Season:
    """A board at several humidities. Arrays are (humidities, notes).

    rh_percent, moisture_percent   the humidities, ascending, and the moisture that wood comes to
    reference_rh_percent           the humidity of the measurement; heights are told against it
    note                           the notes
    height_change_mm               of the bridge top of the bare board, up positive
    net_bare_deg, net_deg          net bearing of the bare board, and under the strings in balance
    downforce_N                    of all notes together, strung, (humidities,)
    along_mm                       how far the strung bridge top moved along each string, towards the rear, against the
                                   measurement
    held_cents, slipping_cents     what its way from the measurement would do to pitch, were nobody to tune: with pins
                                   that hold, with strings that slip over them
    ribs                           crown of each rib, bare
    across_grain_MPa               greatest compression across the grain in the panel's middle plane, negative, bare
    limit_MPa                      the panel's proportional limit across the grain at that moisture; NaN unknown
    lost                           first note whose strung bearing is not above 0, and the humidity; None: none is
    warnings, assumptions          sentences
    """

    rh_percent: Floats
    moisture_percent: Floats
    reference_rh_percent: float
    note: tuple[int, ...]
    height_change_mm: Floats
    net_bare_deg: Floats
    net_deg: Floats
    downforce_N: Floats
    along_mm: Floats
    held_cents: Floats
    slipping_cents: Floats
    ribs: tuple[RibCrown, ...]
    across_grain_MPa: Floats
    limit_MPa: Floats
    lost: tuple[int, float] | None
    warnings: tuple[str, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class ClimateShift:
    """What a humidity does to a board.

    front_mm, rear_mm   rise of the bare bridge top at the pins of each note, mm, up positive, against the measurement
    sink                what loads do to the board there
    """

    front_mm: Floats
    rear_mm: Floats
    sink: PredictedSink

    def bare(self, line: StringLine) -> StringLine:
        """The bare heights there of a line that is bare at the measurement."""
        return sunk(line, -self.front_mm, -self.rear_mm)

    def back(self, line: StringLine) -> StringLine:
        """The bare heights at the measurement of a line that is bare there."""
        return sunk(line, self.front_mm, self.rear_mm)


def season(
    board: Board | Instrument,
    *,
    rh_percent: Sequence[float],
    temperature_C: float | None = None,
    progress: Callable[[str], None] | None = None,
) -> Season:
    """Bridge height, crown and bearing of a board over a range of humidities.

    The heights are those measured, at the humidity of the measurement; from there the change is computed: the board is
    led from its making to that humidity and on to each other, with large deflection and free strain, and the strings
    are settled on it at each. `progress` is told each humidity.

    Raises MissingLayer where body, plan, scale or string line are lacking, BoardError for a humidity outside 0 to
    100 %, SolveError where the board would snap through.
    """
    wanted = np.unique(np.asarray(rh_percent, dtype=float))
    year = Year.of(board, temperature_C)
    moisture = np.array([year.moisture(float(rh)) for rh in wanted])
    order = np.argsort(np.abs(wanted - year.reference_rh_percent))
    shifts: dict[int, ClimateShift] = {}

    def led(side: list[int]) -> None:
        """The strings settled from the measurement on to one side, each humidity from the one before."""
        near = year.measured()
        for k in side:
            if progress is not None:
                progress(f"{wanted[k]:g} % RH")
            near = shifts[k] = year.strung_shift(float(wanted[k]), near)

    drier = (moisture <= year.ready.moisture_percent)[order]
    with ThreadPoolExecutor(2) as aside:  # the bare board is led on beside, and both sides know nothing of each other
        ahead = aside.submit(year.bare, moisture)
        year.measured()
        beside = aside.submit(led, order[~drier].tolist())
        led(order[drier].tolist())
        year.given_mm_N()
        beside.result()
        stress, ribs = ahead.result()
    rows = [year.strung(shifts[k]) for k in range(len(wanted))]
    along, pitch = year.pitch(rows, wanted)
    limit = np.array([crushing_limit_MPa(year.ready.board.needed_body("A season"), m) for m in moisture])
    net = np.array([row.net for row in rows])
    return Season(
        rh_percent=wanted,
        moisture_percent=moisture,
        reference_rh_percent=year.reference_rh_percent,
        note=tuple(year.line.note.tolist()),
        height_change_mm=np.array([(shifts[k].front_mm + shifts[k].rear_mm) / 2.0 for k in range(len(wanted))]),
        net_bare_deg=np.array([row.bare for row in rows]),
        net_deg=net,
        downforce_N=np.array([row.pin_force_N.sum() for row in rows]),
        along_mm=along,
        held_cents=np.array([each.held_cents for each in pitch]),
        slipping_cents=np.array([each.slipping_cents for each in pitch]),
        ribs=ribs,
        across_grain_MPa=stress,
        limit_MPa=limit,
        lost=_lost(year, wanted, net),
        warnings=(*_warnings(wanted, stress, limit), *_near_snap(wanted, [shifts[k] for k in range(len(wanted))])),
        assumptions=year.assumptions,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Strung:
    line: StringLine
    bare: Floats
    net: Floats
    pin_force_N: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Year:
    """An instrument ready to be led to any humidity.

    temperature_C   temperature at the other humidities
    """

    ready: Instrument
    temperature_C: float
    assumptions: tuple[str, ...]

    @classmethod
    def of(cls, board: Board | Instrument, temperature_C: float | None = None) -> Year:
        """The year of a board whose heights were measured at one humidity.

        Raises MissingLayer where body, plan, scale or string line are lacking.
        """
        ready, what = prepared(board), "A season"
        board = ready.board
        for needed in (board.needed_body, board.needed_plan, board.needed_scale, board.needed_strings):
            needed(what)
        temperature = ready.temperature_C if temperature_C is None else temperature_C
        return cls(ready=ready, temperature_C=temperature, assumptions=ready.assumptions + _said(ready, temperature))

    @cached_property
    def line(self) -> StringLine:
        """Its string line bare, at the measurement. Raises SolveError where no balance is found."""
        board = self.ready.board
        return predicted_sink(self.ready).bare(board.needed_strings("A season"), board.measured_in)

    @property
    def reference_rh_percent(self) -> float:
        """The humidity of the measurement."""
        return self.ready.rh_percent

    def moisture(self, rh_percent: float) -> float:
        """Moisture that the wood comes to, %."""
        return self.ready.moisture_at(rh_percent, self.temperature_C)

    def rise_mm(self, rh_percent: float, points_mm: Floats) -> Floats:
        """How far the bare panel rises at points in plan, against the measurement, mm, up positive."""
        return self._risen_mm(self.moisture(rh_percent), points_mm)

    def _risen_mm(self, moisture: float, points_mm: Floats) -> Floats:
        ready, belly = self.ready, self.ready.belly
        here, there = ready.bare_state(ready.moisture_percent), ready.bare_state(moisture)
        return belly.rise_mm(there, points_mm) - belly.rise_mm(here, points_mm)

    def measured(self, panel_mm: Floats = NO_POINTS) -> ClimateShift:
        """The board as it was measured: nothing has shifted."""
        still = np.zeros(len(self.line.note))
        return ClimateShift(front_mm=still, rear_mm=still, sink=predicted_sink(self.ready, panel_mm=panel_mm))

    def shift(self, rh_percent: float, panel_mm: Floats = NO_POINTS) -> ClimateShift:
        """What this humidity does to the bridge top, and to its answer to loads, at the pins and at points."""
        moisture = self.moisture(rh_percent)
        return self.ready.kept(("shift", moisture, panel_mm.tobytes()), lambda: self._shift(rh_percent, panel_mm))

    def strung_shift(self, rh_percent: float, near: ClimateShift) -> ClimateShift:
        """As `shift`, but what loads do is exact at the strings' own balance only, and about it as in a shift near it:
        all that a table of humidities asks for, at half the cost.

        A compression-crowned board goes the long way all the same: near its buckling it has more than one balance, and
        the way there decides which one is found.
        """
        making, moisture = self.ready.board.making, self.moisture(rh_percent)
        if making is not None and making.method is CrownMethod.COMPRESSION:
            return self.shift(rh_percent)
        return self.ready.kept(("strung shift", moisture), lambda: self._shift(rh_percent, NO_POINTS, near))

    def _shift(self, rh_percent: float, panel_mm: Floats, near: ClimateShift | None = None) -> ClimateShift:
        n, moisture = len(self.line.note), self.moisture(rh_percent)
        measured = self.measured(panel_mm)
        if moisture == self.ready.moisture_percent:
            return measured
        what = "shift" if near is None else "strung shift"
        arrays = self.ready.kept_on_disk(
            what, (moisture, panel_mm), lambda: self._shift_arrays(rh_percent, panel_mm, near)
        )
        return ClimateShift(
            front_mm=arrays["risen_mm"][:n],
            rear_mm=arrays["risen_mm"][n:],
            sink=replace(measured.sink, response=Response.of(arrays), assumptions=self.assumptions),
        )

    def _shift_arrays(self, rh_percent: float, panel_mm: Floats, near: ClimateShift | None) -> dict[str, Floats]:
        """The rise of the bare bridge top at the pins, and the response there."""
        n, pins = len(self.line.note), self.ready.board.needed_plan("A season").pins_mm
        moisture = self.moisture(rh_percent)
        if len(panel_mm):  # what the pins do does not hang on what else is asked
            known = self.shift(rh_percent)
            response = self.ready.extended(known.sink.response, pins, panel_mm, moisture_percent=moisture)
            return {"risen_mm": np.concatenate([known.front_mm, known.rear_mm]), **response.arrays}
        risen = self._risen_mm(moisture, pins) + np.tile(self._thicker(moisture), 2)
        bare = sunk(self.line, -risen[:n], -risen[n:])
        if near is not None:
            response = anchored_like(self.ready, bare, near.sink.response, moisture_percent=moisture)
        else:
            response = anchored(self.ready, bare, moisture_percent=moisture)
        return {"risen_mm": risen, **response.arrays}

    def strung(self, shift: ClimateShift) -> _Strung:
        """The strings on the board so shifted."""
        bare = shift.bare(self.line)
        settled = shift.sink.model(bare).settled()
        return _Strung(
            line=settled.line,
            bare=bearing(bare).net_deg,
            net=bearing(settled.line).net_deg,
            pin_force_N=np.concatenate([settled.force_front_N, settled.force_rear_N]),
        )

    def pitch(self, rows: Sequence[_Strung], rh_percent: Floats) -> tuple[Floats, list[PitchChange]]:
        """How far the strung bridge top moves along each string from the measurement, and what that and its rise do to
        pitch, at each of these humidities.
        """
        ready, here = self.ready, self.measured()
        scale, reference = ready.board.needed_scale("Pitch"), ready.moisture_percent
        start, tension = self.strung(here), tension_N(scale, self.line)
        before = start.line
        still = self._along_mm(start, reference)
        along, cents = [], []
        given = self.given_mm_N()
        for row, rh in zip(rows, rh_percent.tolist()):
            free = self._along_mm(row, self.moisture(rh)) - still
            held = held_along_mm(free, given, scale, before=before, after=row.line)
            along.append(held)
            cents.append(pitch_change(scale, tension, before=before, after=row.line, along_mm=held))
        return np.array(along), cents

    def _along_mm(self, strung: _Strung, moisture: float) -> Floats:
        """How far the strung bridge top has moved along each note's string, towards the rear, without the strings' own
        hold, mm.
        """

        def made() -> dict[str, Floats]:
            return {"moved_mm": np.asarray(top_along(self.ready) @ self._strung_fields(strung, moisture).ravel())}

        return self.ready.kept_on_disk("along", (moisture, strung.pin_force_N), made)["moved_mm"]

    def given_mm_N(self) -> Floats:
        """How far the strung bridge top gives along each string under a unit force along each, as it was measured,
        (notes, notes).
        """
        moisture, measured = self.ready.moisture_percent, self.strung(self.measured())

        def made() -> dict[str, Floats]:
            state = self._strung_state(measured, moisture)
            return {"given_mm_N": self.ready.belly.board.flexibility(state, top_along(self.ready))}

        return self.ready.kept_on_disk("given along", (moisture, measured.pin_force_N), made)["given_mm_N"]

    def _strung_state(self, strung: _Strung, moisture: float) -> LargeState:
        """The board under its strings at a moisture."""
        if strung.pin_force_N.sum() < LEAST_FORCE_N:
            return self.ready.bare_state(moisture)
        pins = self.ready.board.needed_plan("Pitch").pins_mm
        return self.ready.loaded_state(pins, strung.pin_force_N, moisture_percent=moisture)

    def _strung_fields(self, strung: _Strung, moisture: float) -> Floats:
        """Its movement, at its very balance: how far it tips depends much on that."""
        if strung.pin_force_N.sum() < LEAST_FORCE_N:
            return self.ready.bare_state(moisture).fields
        pins = self.ready.board.needed_plan("Pitch").pins_mm
        return self.ready.loaded_fields(pins, strung.pin_force_N, moisture_percent=moisture)

    def bare(self, moisture_percent: Floats) -> tuple[Floats, tuple[RibCrown, ...]]:
        """The bare board at moistures, led from the measurement outwards: greatest compression across the grain, N/mm²,
        and the crown of each rib at each; kept in the user's cache folder.
        """
        ready, body = self.ready, self.ready.board.needed_body("A season")

        def made() -> dict[str, Floats]:
            belly, moistures = ready.belly, moisture_percent.tolist()
            for each in sorted(moistures, key=lambda there: abs(there - ready.moisture_percent)):
                ready.bare_state(each)
            states = [ready.bare_state(each) for each in moistures]
            every = [each for each in belly.board.discrete.stations if each.side <= 0]
            ends = [each.points_mm[[0, len(each.points_mm) // 2, -1]] for each in every]
            rise = [[belly.rise_mm(state, points) for state in states] for points in ends]
            names = [rib.name for rib in body.ribs]
            return {
                "across_MPa": np.array([belly.across_grain_MPa(state).min() for state in states]),
                "rib": np.array([names.index(each.name.removeprefix("rib ")) for each in every]),
                "span_mm": np.array([np.hypot(*(points[-1] - points[0])) for points in ends]),
                "rise_mm": np.array(rise).reshape(len(every), len(states), 3),
            }

        found = ready.kept_on_disk("bare board", moisture_percent, made)
        start, middle, end = np.moveaxis(found["rise_mm"], 2, 0)
        crowns = zip(found["rib"].astype(int).tolist(), found["span_mm"].tolist(), middle - (start + end) / 2.0)
        ribs = tuple(RibCrown(rib=body.ribs[k].name, span_mm=span, rise_mm=rise) for k, span, rise in crowns)
        return found["across_MPa"], ribs

    def _thicker(self, moisture: float) -> Floats:
        """How much thicker panel, root and cap grow under each note, mm: along T, both quarter-sawn."""
        path = {"from_percent": self.ready.moisture_percent, "to_percent": moisture}
        board, discrete = self.ready.board, self.ready.belly.board.discrete
        body, middle = board.needed_body("A season"), board.needed_plan("A season").middle_mm
        grown = free_strain(body.panel.wood, **path).T * discrete.thickness(discrete.frame.inside(middle))
        for bridge in body.bridges:
            here = np.array([name == bridge.name for name in self.line.bridge])
            strains: list[FreeStrain] = [free_strain(wood, **path) for wood in (bridge.root_wood, bridge.cap_wood)]
            grown = grown + here * (strains[0].T * bridge.root_mm.mean() + strains[1].T * bridge.cap_mm.mean())
        return grown


def _said(ready: Instrument, temperature_C: float) -> tuple[str, ...]:
    said, making = [], ready.board.making
    if ready.board.climate.rh_percent is None:
        said.append(f"The humidity of the measurement is not noted; it is taken as {ready.rh_percent:g} %.")
    if making is None:
        said.append("How the board was made is not told: it is taken to be free of stress as it was measured.")
    else:
        said.append(
            f"The board was {making.method.value}-crowned: panel glued at {making.panel_moisture_percent:g} %, "
            f"into the rim at {making.glued_in_moisture_percent:g} % moisture."
        )
    return (
        *said,
        f"Wood comes to the moisture of the handbook's equation at {temperature_C:g} °C, all through; a varnished "
        "board needs weeks for that.",
        "Wood is elastic here: no creep, no compression set; stiffness is that at the measurement.",
        "The plate and its terminations do not move with the seasons, and the strings are kept at pitch.",
    )


def range_of_rh(text: str) -> tuple[float, ...]:
    """Humidities from words: "30:65" is eight from 30 to 65 %, "30,45,60" is just these, "45" is one.

    Raises BoardError for anything else, or a humidity outside 0 to 100 %.

    >>> range_of_rh("30:65")
    (30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0)
    """
    try:
        values = [float(part) for part in text.replace(":", ",").split(",")]
    except ValueError:
        values = []
    if not values or not all(0.0 <= value <= 100.0 for value in values) or (":" in text and len(values) != 2):
        raise BoardError(
            f"Found '{text}' as relative humidity; expected one from 0 to 100 %, several as 30,45,60, or a range as "
            "30:65."
        )
    if ":" in text:
        return tuple(float(v) for v in np.linspace(min(values), max(values), 8))
    return tuple(values)


def _lost(year: Year, rh: Floats, net: Floats) -> tuple[int, float] | None:
    """The note that loses its bearing at the humidity nearest to the reference, and that humidity."""
    gone = np.argwhere(net <= 0.0)
    if not len(gone):
        return None
    near = gone[np.argmin(np.abs(rh[gone[:, 0]] - year.reference_rh_percent))]
    at = int(near[0])
    return int(year.line.note[int(np.argmin(net[at]))]), float(rh[at])


def _near_snap(rh: Floats, shifts: Sequence[ClimateShift]) -> tuple[str, ...]:
    """Humidities at which the strings bring the board near to snapping through, in sentences."""
    said = ((here, near_snap(shift.sink.response)) for here, shift in zip(rh.tolist(), shifts))
    return tuple(f"At {here:g} % RH the board {near}. {ONE_OF_THEM}" for here, near in said if near)


def _warnings(rh: Floats, stress: Floats, limit: Floats) -> tuple[str, ...]:
    over = np.flatnonzero(-stress > limit)
    if not len(over):
        return ()
    k = int(over[0])
    return (
        f"From {rh[k]:g} % RH on the panel is pressed across its grain by {-stress[k]:.1f} N/mm², beyond its "
        f"proportional limit of {limit[k]:.1f}: compression set must be expected, and less crown on the way back.",
    )
