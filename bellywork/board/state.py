"""States of a belly, the climate it was measured in, and what presses on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from bellywork.board.arrays import Floats, floats, keep


class State(Enum):
    """Bare: no strings, nothing pressing. Preloaded: pressed by wedges, go-bars or weights. Strung: at pitch.
    Part-strung: some of the notes at pitch, the others without strings.
    """

    BARE = "bare"
    PRELOADED = "preloaded"
    STRUNG = "strung"
    PART = "part-strung"

    @property
    def under_strings(self) -> bool:
        """Whether strings press on the board."""
        return self in (State.STRUNG, State.PART)


WHOLE = (
    State.BARE,
    State.PRELOADED,
    State.STRUNG,
)  # what tables may name: which notes are on is said once


@dataclass(frozen=True, kw_only=True)
class Climate:
    """Relative humidity in %, temperature in °C, moisture of the wood in % and date (ISO 8601) of a measurement.

    None where not noted; a moisture that is given goes before the one that humidity and temperature lead to.
    """

    rh_percent: float | None = None
    temperature_C: float | None = None
    date: str = ""
    moisture_percent: float | None = None


class CrownMethod(Enum):
    """How a crown was made. Rib: ribs machined to their radius. Compression: a dry panel on ribs that lay flat."""

    RIB = "rib"
    COMPRESSION = "compression"


@dataclass(frozen=True, kw_only=True)
class Making:
    """How the board was made.

    method                        how the crown was made
    panel_moisture_percent        moisture of the panel when it was glued to the ribs
    glued_in_moisture_percent     moisture of the ribbed panel when it was glued into the rim
    """

    method: CrownMethod
    panel_moisture_percent: float
    glued_in_moisture_percent: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Push:
    """Something that presses the board down at a point in plan: by a force in N, or until it has sunk so many mm.

    Exactly one of `force_N` and `sink_mm` is given.
    """

    place_mm: Floats
    force_N: float | None = None
    sink_mm: float | None = None

    def __post_init__(self) -> None:
        keep(self, place_mm=floats(self.place_mm, (2,), "place_mm"))


@dataclass(frozen=True, kw_only=True)
class MeasuredSink:
    """Sink that the user measured at a note, from the bare state, in mm, down positive; None where not measured."""

    note: int
    preloaded_mm: float | None = None
    strung_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading of the board: what was read, where, in which state and climate, and how surely.

    kind    "thread", "straightedge", "bridge_height", "front_deg", "rear_deg" or "plate_height"
    place   name of the rib or support that was read; empty where a note was
    note    number of the note that was read
    table   name of the table that it stood in
    """

    kind: str
    value: float
    state: State
    climate: Climate
    place: str = ""
    note: int | None = None
    position_mm: float | None = None
    span_mm: float | None = None
    uncertainty: float | None = None
    table: str = "readings"


@dataclass(frozen=True, kw_only=True, eq=False)
class PressTrial:
    """Known loads pressed on the board, and what dials set to zero before them then read.

    places_mm, forces_N      the loads: (loads, 2) in plan and (loads,), down positive
    read_mm, sink_mm         the dials: (dials, 2) in plan and (dials,), down positive
    uncertainty_mm           of each dial, 95 % half width; NaN where it was not told
    rows                     row of each dial in its table
    """

    name: str
    places_mm: Floats
    forces_N: Floats
    read_mm: Floats
    sink_mm: Floats
    uncertainty_mm: Floats
    rows: tuple[int, ...]
    state: State = State.BARE
    climate: Climate = Climate()

    def __post_init__(self) -> None:
        loads, dials = len(self.forces_N), len(self.sink_mm)
        keep(
            self,
            places_mm=floats(self.places_mm, (loads, 2), "places_mm"),
            forces_N=floats(self.forces_N, (loads,), "forces_N"),
            read_mm=floats(self.read_mm, (dials, 2), "read_mm"),
            sink_mm=floats(self.sink_mm, (dials,), "sink_mm"),
            uncertainty_mm=floats(self.uncertainty_mm, (dials,), "uncertainty_mm"),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class ScanPoint:
    """A point of a scan that lies at a known place of the board.

    scan        (3,) in the file, in its own unit
    place_mm    (2,) in plan
    note        the note on whose bridge top it lies; None: it lies on the panel
    height_mm   over the rim's glue line; NaN: that of the panel's or the bridge's top there
    """

    scan: Floats
    place_mm: Floats
    note: int | None = None
    height_mm: float = float("nan")

    def __post_init__(self) -> None:
        keep(self, scan=floats(self.scan, (3,), "scan"), place_mm=floats(self.place_mm, (2,), "place_mm"))


@dataclass(frozen=True, kw_only=True)
class NetReading:
    """Net bearing of a note by an angle gauge, front and rear read on one day in one state."""

    note: int
    state: State
    climate: Climate
    net_deg: float


def nets_read(readings: Iterable[Reading]) -> tuple[NetReading, ...]:
    """Every net bearing among readings: a front and the rear that was read at the same note, in the same state, on the
    same day.
    """
    every = tuple(readings)
    rear = {(each.note, each.state, each.climate.date): each.value for each in every if each.kind == "rear_deg"}
    return tuple(
        NetReading(note=each.note, state=each.state, climate=each.climate, net_deg=each.value + rear[key])
        for each in every
        if each.kind == "front_deg" and each.note is not None
        if (key := (each.note, each.state, each.climate.date)) in rear
    )
