"""The numbers behind a picture: every note of a board in one state, after whatever was changed on the plate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial

import numpy as np

from bellywork.balance.bearing_table import bearing as bearing_table
from bellywork.balance.cures import short_of_wood
from bellywork.balance.depth import depths
from bellywork.balance.planing import plane
from bellywork.balance.sink import predicted_sink
from bellywork.balance.wanted import Wanted, wanted
from bellywork.balance.what_if import Change, changed_bare
from bellywork.board.arrays import Bools, Floats
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.conventions import note_name
from bellywork.estimate.bands import Boards, bearing_bands, plane_bands
from bellywork.estimate.estimate import Estimate
from bellywork.geometry.string_line import bearing, heights_for, pin_forces_N, topped
from bellywork.instrument import Instrument
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES, said
from bellywork.seasons.year import ClimateShift, Year


class Shown(Enum):
    """Bare, preloaded and strung as they are now; planed: strung after planing to the targets."""

    BARE = "bare"
    PRELOADED = "preloaded"
    STRUNG = "strung"
    PLANED = "planed"


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What is asked: the state shown and what is changed on the board.

    plate_up_mm                       move of the plate above the origin of the plan, up positive
    tilt_x_mm_per_m, tilt_y_mm_per_m  further move for each metre in x and in y
    rh_percent                        humidity; None: that of the measurement
    target_shift_deg                  added to the board's own target at every note
    """

    shown: Shown = Shown.STRUNG
    plate_up_mm: float = 0.0
    tilt_x_mm_per_m: float = 0.0
    tilt_y_mm_per_m: float = 0.0
    rh_percent: float | None = None
    target_shift_deg: float = 0.0

    @property
    def plate(self) -> PlateMove:
        """How the plate is moved."""
        return PlateMove(
            up_mm=self.plate_up_mm, tilt_x_mm_per_m=self.tilt_x_mm_per_m, tilt_y_mm_per_m=self.tilt_y_mm_per_m
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Situation:
    """Every note in the state that a setting asks for. Arrays have one entry per note; mm, N, degrees.

    line                            heights there
    front_deg, rear_deg, net_deg    bearing there
    target_deg, deviation_deg       net wanted in the strung state, and net there less that
    string_deflection_mm, force_N   deflection at the bridge, downforce of the note's strings
    sink_front_mm, sink_rear_mm     sink from the bare state
    plane_front_mm, plane_rear_mm   depth still to plane; negative: wood is short
    cap_left_mm                     cap left under the notches after planing; NaN unknown
    lifted, one_sided, short        net not above zero; front or rear alone negative; wood short beyond the tolerance
    panel_sink_mm                   sink at the desk's panel points from the bare state; NaN unknown
    panel_rise_mm                   what the humidity lifts them, bare
    band                            gives `band_deg`; worked out when it is asked for, as it takes seconds
    """

    setting: Setting
    line: StringLine
    front_deg: Floats
    rear_deg: Floats
    net_deg: Floats
    target_deg: Floats
    deviation_deg: Floats
    string_deflection_mm: Floats
    force_N: Floats
    sink_front_mm: Floats
    sink_rear_mm: Floats
    plane_front_mm: Floats
    plane_rear_mm: Floats
    cap_left_mm: Floats
    lifted: Bools
    one_sided: Bools
    short: Bools
    panel_sink_mm: Floats
    panel_rise_mm: Floats
    band: Callable[[], Floats]

    @property
    def band_deg(self) -> Floats:
        """95 % half width of the net bearing there; NaN where it is not known."""
        return self.band()

    @property
    def plane_mm(self) -> Floats:
        """Depth to plane midway between the pin rows."""
        return (self.plane_front_mm + self.plane_rear_mm) / 2.0

    @property
    def sink_mm(self) -> Floats:
        """Sink of the bridge top midway between the pin rows."""
        return (self.sink_front_mm + self.sink_rear_mm) / 2.0

    @property
    def worst(self) -> int:
        """Place in the arrays of the note farthest from its target."""
        return int(np.argmax(np.abs(self.deviation_deg)))

    def told(self, at: int, units: Units = METRIC) -> tuple[str, ...]:
        """Everything about one note, a line each, in these units."""
        line, note = self.line, int(self.line.note[at])
        cap, short = float(self.cap_left_mm[at]), "  wood is short" if self.short[at] else ""

        def words(name: str, values: Floats) -> str:
            return f"{QUANTITIES[name].label} {said(name, float(values[at]), units)}"

        return (
            f"Note {note}, {note_name(note)}, {line.section[at]}, {self.setting.shown.value}",
            "   ".join(
                (words("front_deg", self.front_deg), words("rear_deg", self.rear_deg), words("net_deg", self.net_deg))
            ),
            f"{words('target_net_deg', self.target_deg)}   {words('deviation_deg', self.deviation_deg)}",
            f"{words('string_deflection_mm', self.string_deflection_mm)}   {words('downforce_N', self.force_N)}",
            words("sink_mm", self.sink_mm),
            f"exact depth: front pins {said('plane_front_mm', float(self.plane_front_mm[at]), units)}, rear pins "
            f"{said('plane_rear_mm', float(self.plane_rear_mm[at]), units)}{short}",
            f"cap left {'not given' if np.isnan(cap) else said('cap_left_mm', cap, units)}",
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Desk:
    """An instrument to be looked at: its mechanics are done once, each situation then takes milliseconds.

    panel_mm   points (points, 2) of the panel whose sink is told
    estimate   that `ready` is the answer of; None: no band is known
    """

    ready: Instrument
    panel_mm: Floats
    estimate: Estimate | None = None

    def situation(self, setting: Setting) -> Situation:
        """The board as a setting asks for it.

        A humidity is led to once and kept. Raises SolveError where no balance is found, MissingLayer where a layer is
        lacking or the preloaded state is not described.
        """
        board, shift = self.ready.board, self._shift(setting.rh_percent)
        sink, here = shift.sink, predicted_sink(self.ready, panel_mm=self.panel_mm)
        now = here.bare(board.needed_strings("A situation"), board.measured_in)
        bare = shift.bare(changed_bare(board, now, Change(plate=setting.plate)))
        want = _shifted(bare, wanted(bare, board.targets, sink.pull_N), setting.target_shift_deg)
        depth = depths(bare, want, sink)
        planed = setting.shown is Shown.PLANED
        if planed:
            cut = np.maximum(depth[0], 0.0), np.maximum(depth[1], 0.0)
            bare = topped(bare, bare.bridge_front_mm - cut[0], bare.bridge_rear_mm - cut[1])
        state = State.STRUNG if planed else State(setting.shown.value)
        line = sink.moved(bare, state)
        turned, n = bearing(line), len(line.note)
        force = np.concatenate(pin_forces_N(line, sink.pull_N)) if state is State.STRUNG else np.zeros(2 * n)
        left = (np.minimum(depth[0], 0.0), np.minimum(depth[1], 0.0)) if planed else depth
        return Situation(
            setting=setting,
            line=line,
            front_deg=turned.front_deg,
            rear_deg=turned.rear_deg,
            net_deg=turned.net_deg,
            target_deg=want.net_deg,
            deviation_deg=turned.net_deg - want.net_deg,
            string_deflection_mm=turned.string_deflection_mm,
            force_N=force[:n] + force[n:],
            sink_front_mm=bare.bridge_front_mm - line.bridge_front_mm,
            sink_rear_mm=bare.bridge_rear_mm - line.bridge_rear_mm,
            plane_front_mm=left[0],
            plane_rear_mm=left[1],
            cap_left_mm=bare.cap_mm - np.maximum.reduce([*depth, np.zeros(n)]) - board.rules.notch_mm,
            lifted=turned.lifted,
            one_sided=turned.tilted,
            short=short_of_wood(depth, turned.degrees_per_mm, board.rules),
            panel_sink_mm=sink.panel_mm(line, state),
            panel_rise_mm=self._panel_rise(setting.rh_percent),
            band=partial(self._band_deg, setting),
        )

    def _band_deg(self, setting: Setting) -> Floats:
        """The band of `bearing` in a state, and of the board as `plane` leaves it.

        Unknown where nothing was learned, where the state is that of the measurement, and where something was changed.
        """
        shown, estimate = setting.shown, self.estimate
        unknown = np.full(len(self.ready.board.needed_strings("A band").note), np.nan)
        if estimate is None or setting != Setting(shown=shown) or shown.value == self.ready.board.measured_in.value:
            return unknown

        def half_width() -> Floats:
            boards = self.ready.kept("boards", lambda: Boards.of(estimate))
            if shown is Shown.PLANED:
                bands, name = plane_bands(boards, plane(self.ready)), "planed_net_deg"
            else:
                state = State(shown.value)
                bands, name = bearing_bands(boards, bearing_table(self.ready, state=state), state=state), "net_deg"
            low, high = bands.bands[name]
            return np.asarray((high - low) / 2.0)

        return self.ready.kept(("band", shown), half_width)

    def _panel_rise(self, rh_percent: float | None) -> Floats:
        return np.zeros(len(self.panel_mm)) if rh_percent is None else self._year.rise_mm(rh_percent, self.panel_mm)

    @property
    def _year(self) -> Year:
        return self.ready.kept("year", lambda: Year.of(self.ready))

    def _shift(self, rh_percent: float | None) -> ClimateShift:
        year = self._year
        return year.shift(year.reference_rh_percent if rh_percent is None else rh_percent, self.panel_mm)


def _shifted(line: StringLine, want: Wanted, shift_deg: float) -> Wanted:
    """What is wanted with so many degrees more at every note, shared between the pin rows as before."""
    if not shift_deg:
        return want
    net = want.net_deg + shift_deg
    front, rear = heights_for(line, net, want.front_share)
    return replace(want, net_deg=net, front_mm=front, rear_mm=rear)
