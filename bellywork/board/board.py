"""The instrument as plain frozen data, in layers: each layer that is there buys more answers."""

from __future__ import annotations

from dataclasses import dataclass

from bellywork.board.body import Body
from bellywork.board.piano_kind import PianoKind
from bellywork.board.plate import Plate
from bellywork.board.shop import Shop
from bellywork.board.state import Climate, Making, MeasuredSink, PressTrial, Push, Reading, ScanPoint, State, nets_read
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.board.targets import PlaningRules, Target
from bellywork.errors import MissingLayer


@dataclass(frozen=True, kw_only=True, eq=False)
class Board:
    """Everything known of one instrument. What is None or empty was not given; ask through the ``needed_`` methods.

    kind             grand or upright, for the words of sheets and answers
    strings          lengths and heights per note
    plan             the strings' points in plan
    scale            unisons and wire diameters
    body             outline, panel, ribs, bridges
    plate            supports and struts
    measured_in      state in which the heights were measured, with its climate
    part_strung      notes that are on in the part-strung state; none: that is not told
    targets, rules   what the bearing should be, and the limits of planing
    preload          what presses on the board in the preloaded state
    sinks            sink measured by the user, per note
    readings         crown and bearing readings
    trials           loads pressed on the board and dials read
    scan_points      points of a scan at known places, by which it is laid
    making           how the crown was made
    shop             what the finished boards of the shop taught; None: no such file is named
    reading          how the strings were read and what one step of it is worth, in sentences
    """

    name: str
    kind: PianoKind = PianoKind.GRAND
    strings: StringLine | None = None
    plan: StringPlan | None = None
    scale: Scale | None = None
    body: Body | None = None
    plate: Plate = Plate()
    measured_in: State = State.BARE
    part_strung: tuple[int, ...] = ()
    climate: Climate = Climate()
    targets: tuple[Target, ...] = ()
    rules: PlaningRules = PlaningRules()
    preload: tuple[Push, ...] = ()
    sinks: tuple[MeasuredSink, ...] = ()
    readings: tuple[Reading, ...] = ()
    trials: tuple[PressTrial, ...] = ()
    scan_points: tuple[ScanPoint, ...] = ()
    making: Making | None = None
    shop: Shop | None = None
    reading: tuple[str, ...] = ()

    def needed_strings(self, what_for: str) -> StringLine:
        """The string line; raises MissingLayer naming what it was needed for."""
        if self.strings is None:
            raise MissingLayer(f"{what_for} needs the string line: lengths and heights per note, in notes.csv.")
        return self.strings

    def needed_scale(self, what_for: str) -> Scale:
        """The scale; raises MissingLayer naming what it was needed for."""
        if self.scale is None:
            raise MissingLayer(f"{what_for} needs the scale: unisons and wire diameters per note, in scale.csv.")
        return self.scale

    def needed_plan(self, what_for: str) -> StringPlan:
        """The strings in plan; raises MissingLayer naming what it was needed for."""
        if self.plan is None:
            raise MissingLayer(f"{what_for} needs the strings' points in plan, in string_plan.csv.")
        return self.plan

    @property
    def described(self) -> bool:
        """Whether its mechanics under its strings can be computed: body, plan and scale are there."""
        return self.body is not None and self.plan is not None and self.scale is not None

    @property
    def can_be_learned(self) -> bool:
        """Whether more is known of a described board than its tables say: loads pressed on it, what came back when its
        strings came off, or its shop's boards.
        """
        known = bool(self.trials) or self.shop is not None or (self.described and self.read_twice)
        return known and self.body is not None

    @property
    def read_twice(self) -> bool:
        """Whether a rib, or the bridge at a note, was read both bare and under a load, a sink was measured, or a net
        bearing was (`gauged`).
        """
        kinds = ("thread", "straightedge", "bridge_height")
        read = [each for each in self.readings if each.kind in kinds and self.knows(each.state)]
        bare, loaded = (
            {
                (each.kind == "bridge_height", each.place, each.note)
                for each in read
                if (each.state is State.BARE) is wanted
            }
            for wanted in (True, False)
        )
        sinks = any(
            each.strung_mm is not None or (self.preload and each.preloaded_mm is not None) for each in self.sinks
        )
        return bool(bare & loaded) or sinks or self.gauged

    @property
    def gauged(self) -> bool:
        """Whether the net bearing of a note was read by a gauge under its strings, and bare too or with its heights."""
        read = [each for each in nets_read(self.readings) if self.knows(each.state)]
        bare = {each.note for each in read if each.state is State.BARE}
        if self.strings is not None and self.measured_in is State.BARE:
            bare |= set(self.strings.note[self.strings.measured].tolist())
        return any(each.note in bare for each in read if each.state.under_strings)

    def knows(self, state: State) -> bool:
        """Whether it is told what presses on the board in a state."""
        told = {State.PRELOADED: bool(self.preload), State.PART: bool(self.part_strung)}
        return told.get(state, True)

    def needed_body(self, what_for: str) -> Body:
        """The body; raises MissingLayer naming what it was needed for."""
        if self.body is None:
            raise MissingLayer(
                f"{what_for} needs the board itself: [panel] in board.toml and the outline in outline.csv."
            )
        return self.body
