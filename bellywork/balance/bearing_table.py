"""The bearing at every note, in the state it was measured in or in another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import (
    NEAR_SNAP,
    ONE_OF_THEM,
    PredictedSink,
    Sink,
    SinkSource,
    near_snap,
    part_strung,
    sink_of,
)
from bellywork.balance.wanted import Wanted, wanted
from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.conventions import note_name
from bellywork.errors import MissingLayer
from bellywork.findings import Finding, Level, Place
from bellywork.geometry import scale as scales
from bellywork.geometry import string_line
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.reference_notes import reference_notes
from bellywork.geometry.unison import OuterStrings, outer_strings
from bellywork.instrument import Instrument, prepared
from bellywork.review.bearing_review import bearing_findings

AT_PITCH = "Tension is that of every string at pitch; the plate is taken not to give under it."
NOT_AT_PITCH = "Tension is that of every speaking length as it is then; the plate is taken not to give under it."


@dataclass(frozen=True, kw_only=True, eq=False)
class BearingTable:
    """The bearing of a board in one state. Arrays have one entry per note; NaN where the board's layers cannot tell.

    state, sink_source             the state of the heights, and where the sink comes from
    line                           lengths and heights in that state
    name, reference                name of each note; True at the notes to be worked at
    front_deg, rear_deg, net_deg   bearing in degrees
    string_deflection_mm           bridge top above the straight line from F to R
    degrees_per_mm                 net bearing lost for each mm of sink
    tension_N, strength_share      of one string's speaking length, at pitch unless it is left alone; over breaking load
    downforce_N                    what the note's strings press on the bridge by that tension, at these heights
    target_net_deg, deviation_deg  net wanted in the strung state; net less target
    sink_mm                        sink of the bridge top (midway between the pin rows) from the bare state to `state`
    height_bare_mm, height_strung_mm
                                   height of the bridge top in these two states
    section_downforce_N            downforce of each section by its name
    outer                          bearing of the outer strings of each note; None without plan or the unisons' widths
    worst_note                     where the bearing is farthest from the target
    findings, assumptions          what to look at; what the numbers stand on, in sentences
    """

    state: State
    sink_source: SinkSource
    line: StringLine
    name: tuple[str, ...]
    reference: Bools
    front_deg: Floats
    rear_deg: Floats
    net_deg: Floats
    string_deflection_mm: Floats
    degrees_per_mm: Floats
    tension_N: Floats
    strength_share: Floats
    downforce_N: Floats
    target_net_deg: Floats
    deviation_deg: Floats
    sink_mm: Floats
    height_bare_mm: Floats
    height_strung_mm: Floats
    section_downforce_N: Mapping[str, float]
    outer: OuterStrings | None
    worst_note: int
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]

    @property
    def note(self) -> Ints:
        """Notes, ascending."""
        return self.line.note

    @property
    def section(self) -> tuple[str, ...]:
        """Section of each note."""
        return self.line.section

    @property
    def measured(self) -> Bools:
        """False where the note was interpolated."""
        return self.line.measured

    @property
    def total_downforce_N(self) -> float:
        """Downforce of all notes together, in N."""
        return float(np.sum(self.downforce_N))

    def pulled(self, pull_N: Floats, unisons: Ints) -> BearingTable:
        """The same with strings not at pitch: tension of all of each note in their three runs, (3, notes), N."""
        tension, force = pull_N[0] / unisons, string_line.downforce_N(self.line, pull_N)
        return replace(
            self,
            tension_N=tension,
            strength_share=self.strength_share * tension / self.tension_N,
            downforce_N=force,
            section_downforce_N=_by_section(self.line, force),
            assumptions=tuple(NOT_AT_PITCH if said == AT_PITCH else said for said in self.assumptions),
        )


def bearing(
    board: Board | Instrument, *, state: State | None = None, sink: Sink | SinkSource | None = None
) -> BearingTable:
    """The bearing at every note of a board, or of one made ready.

    state    the state asked for; without it, as measured, from the string line alone and without any sink
    sink     where the sink comes from, or the sink itself; without it as `sink_of` chooses

    Raises MissingLayer without a string line, or where the sink that leads from the measured state to `state` is not
    known; BoardError for layers or targets that do not fit together; SolveError where no balance is found.
    """
    ready = prepared(board)
    whole = ready.board
    line = whole.needed_strings("Bearing")
    used = sink_of(ready, SinkSource.NONE if state is None else sink)
    moved = line if state is None else _moved(line, whole.measured_in, state, used)
    want = wanted(moved, whole.targets, None if whole.scale is None else scales.pull_N(whole.scale, line))
    said = ready.assumptions + (() if used.source is SinkSource.NONE else used.assumptions) + want.assumptions
    there = state or whole.measured_in
    on = part_strung(whole) if there is State.PART else None
    if on is not None:
        said += (f"On are {notes_in_words(moved.note[on].tolist())}; the others press nowhere.",)
    return table_of(
        moved, state=there, sink=used, scale=whole.scale, want=want, assumptions=said, on=on, plan=whole.plan
    )


def _near_snap(sink: Sink, state: State) -> tuple[Finding, ...]:
    """What is to be said where a prediction led to a strung board that is near to snapping through."""
    if state is not State.STRUNG or not isinstance(sink, PredictedSink) or not (near := near_snap(sink.response)):
        return ()
    told = Finding(
        code="near-snap",
        place=Place(file="board.toml"),
        found=f"a board that {near}",
        expected=f"less than {NEAR_SNAP:g} times",
        remedy=ONE_OF_THEM,
        level=Level.ADVICE,
    )
    return (told,)


def _moved(line: StringLine, measured_in: State, state: State, sink: Sink) -> StringLine:
    """The line measured in one state, in another."""
    if state is measured_in:
        return line
    if sink.source is SinkSource.NONE:
        raise MissingLayer(
            f"Bearing in the {state.value} state, from heights of the {measured_in.value} board, needs the sink "
            "between them: body, string plan and scale for a prediction, or sink.csv."
        )
    return sink.moved(sink.bare(line, measured_in), state)


def table_of(
    line: StringLine,
    *,
    state: State,
    sink: Sink,
    scale: Scale | None,
    want: Wanted,
    assumptions: tuple[str, ...],
    on: Bools | None = None,
    plan: StringPlan | None = None,
) -> BearingTable:
    """The table of a complete line whose heights are those of `state`; `on`: the notes with strings, None: all; `plan`:
    tells the outer strings of the unisons apart, where the scale has their width.
    """
    turned = string_line.bearing(line)
    unknown = np.full(len(line.note), np.nan)
    tension = unknown if scale is None else scales.tension_N(scale, line)
    share = unknown if scale is None else scales.strength_share(scale, tension)
    force = unknown if scale is None else string_line.downforce_N(line, scales.pull_N(scale, line))
    force = force if on is None else np.where(on, force, 0.0)
    bare, strung = _bare_and_strung(line, state, sink)
    deviation = turned.net_deg - want.net_deg
    return BearingTable(
        state=state,
        sink_source=sink.source,
        line=line,
        name=tuple(note_name(note) for note in line.note.tolist()),
        reference=reference_notes(line),
        front_deg=turned.front_deg,
        rear_deg=turned.rear_deg,
        net_deg=turned.net_deg,
        string_deflection_mm=turned.string_deflection_mm,
        degrees_per_mm=turned.degrees_per_mm,
        tension_N=tension,
        strength_share=share,
        downforce_N=force,
        target_net_deg=want.net_deg,
        deviation_deg=deviation,
        sink_mm=bare - line.top_mm,
        height_bare_mm=bare,
        height_strung_mm=strung,
        section_downforce_N=_by_section(line, force),
        outer=_outer(line, scale, plan),
        worst_note=int(line.note[np.argmax(np.abs(deviation))]),
        findings=(*bearing_findings(line, turned, state, share), *_near_snap(sink, state)),
        assumptions=assumptions + _state_said(state, scale),
    )


def _bare_and_strung(line: StringLine, state: State, sink: Sink) -> tuple[Floats, Floats]:
    """Height of the bridge top bare and strung, NaN where the sink is not known."""
    unknown = np.full(len(line.note), np.nan)
    if sink.source is SinkSource.NONE:
        return unknown, unknown
    try:
        bare = sink.bare(line, state)
        strung = line if state is State.STRUNG else sink.moved(bare, State.STRUNG)
    except MissingLayer:  # sink.csv may hold one state only
        return unknown, unknown
    return bare.top_mm, strung.top_mm


def _outer(line: StringLine, scale: Scale | None, plan: StringPlan | None) -> OuterStrings | None:
    if scale is None or scale.spread_mm is None or plan is None:
        return None
    return outer_strings(line, plan, scale.spread_mm)


def _by_section(line: StringLine, force: Floats) -> dict[str, float]:
    return {section: float(force[here].sum()) for section, here in line.sections.items()}


def _state_said(state: State, scale: Scale | None) -> tuple[str, ...]:
    said = []
    if state is not State.STRUNG:
        said.append(
            f"Heights are those of the {state.value} board; targets belong to the strung state, so a deviation here is "
            "not yet one in the finished instrument."
        )
    if scale is None:
        said.append("No scale is described, so tension and downforce are not known.")
    else:
        said.append(AT_PITCH)
    return tuple(said)
