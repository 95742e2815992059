"""Tables of the strings: notes, scale, string plan, targets, sink."""

from __future__ import annotations

import numpy as np

from bellywork.board.state import MeasuredSink
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.board.targets import Target, TargetKind
from bellywork.board.wires import wire_table
from bellywork.conventions import note_name
from bellywork.files.gather import Gathered, nearest
from bellywork.files.tables import Row, Table
from bellywork.findings import Place

_FORMS = {
    "net": TargetKind.NET_DEG,
    "block": TargetKind.BLOCK_MM,
    "string_deflection": TargetKind.DEFLECTION_MM,
    "unison_force": TargetKind.FORCE_N,
}


def string_line(table: Table, gathered: Gathered) -> StringLine | None:
    """The string line; notes may stand in any order."""
    rows = _by_note(table, gathered)
    if not rows:
        return None
    _looks_swapped(rows, gathered)
    return StringLine(
        note=np.array([row.note() for row in rows]),
        section=tuple(row.word("section") for row in rows),
        bridge=tuple(row.word("bridge") for row in rows),
        speaking_mm=_column(rows, "speaking"),
        rows_mm=_column(rows, "rows"),
        back_mm=_column(rows, "back"),
        front_height_mm=_column(rows, "front_height"),
        bridge_front_mm=_column(rows, "bridge_front"),
        bridge_rear_mm=_column(rows, "bridge_rear"),
        rear_height_mm=_column(rows, "rear_height"),
        cap_mm=_column(rows, "cap"),
        measured=np.ones(len(rows), dtype=bool),
    )


def scale(table: Table, pitch_Hz: float, gathered: Gathered) -> Scale | None:
    """The scale."""
    rows = _by_note(table, gathered)
    wraps = wire_table()["wraps"]
    for row in rows:
        outer, wire, wrap = row.value("outer"), row.value("wire"), row.word("wrap")
        if row.value("unisons") != int(row.value("unisons")):
            gathered.add("out-of-range", row.place("unisons", row.note()), f"{row.value('unisons'):g} strings",
                         "1, 2 or 3", "Count the note's strings.")  # fmt: skip
        if wrap and wrap not in wraps:
            gathered.add("wrap-unknown", row.place("wrap", row.note()), f"'{wrap}'", " or ".join(wraps),
                         nearest(wrap, wraps))  # fmt: skip
        if bool(wrap) != bool(outer > 0.0) or outer <= wire:
            gathered.add("wrap-incomplete", row.place("outer", row.note()),
                         f"a core of {wire:g} mm, {'no' if np.isnan(outer) else f'{outer:g} mm'} overall diameter, "
                         f"{'wound with ' + wrap if wrap else 'no wrap'}",
                         "for a wound string an overall diameter above the core's and what it is wound with",
                         "Fill both cells, or leave both blank for a plain string.")  # fmt: skip
    if not rows:
        return None
    cores, overall = _column(rows, "wire"), _column(rows, "outer")
    return Scale(
        note=np.array([row.note() for row in rows]),
        unisons=np.array([int(row.value("unisons")) for row in rows]),
        wire_mm=cores,
        outer_mm=np.where(np.isnan(overall), cores, overall),
        wrap=tuple(row.word("wrap") for row in rows),
        pitch_Hz=pitch_Hz,
    )


def string_plan(table: Table, gathered: Gathered) -> StringPlan | None:
    """The strings in plan."""
    rows = _by_note(table, gathered)
    if not rows:
        return None
    points = {
        point: np.column_stack([_column(rows, f"{point}_{axis}") for axis in "xy"])
        for point in ("front", "front_pin", "rear_pin", "rear")
    }
    return StringPlan(
        note=np.array([row.note() for row in rows]),
        front_mm=points["front"],
        front_pin_mm=points["front_pin"],
        rear_pin_mm=points["rear_pin"],
        rear_mm=points["rear"],
    )


def targets(table: Table, gathered: Gathered) -> tuple[Target, ...]:
    """The targets: exactly one of section and note, and exactly one form, in each row."""
    out: list[Target] = []
    named: dict[object, int] = {}
    for row in table:
        given = [stem for stem in _FORMS if row.cells.get(stem) is not None]
        by_note = row.cells.get("note") is not None
        if len(given) != 1:
            gathered.add("target-form", row.place(), f"{len(given)} forms of the target in one row",
                         f"exactly one of {', '.join(_FORMS)}", "Leave one cell filled.")  # fmt: skip
            continue
        if by_note == bool(row.word("section")):
            gathered.add("target-place", row.place("section"), "a section and a note" if by_note else "neither",
                         "either a section or a note", "Leave one of the two cells filled.")  # fmt: skip
            continue
        name: object = row.note() if by_note else row.word("section")
        if name in named:
            gathered.add("target-twice", row.place("note" if by_note else "section"), f"a second target for {name}",
                         "one target for each note or section", f"See also row {named[name]}.")  # fmt: skip
            continue
        named[name] = row.number
        out.append(
            Target(
                kind=_FORMS[given[0]],
                value=row.value(given[0]),
                section=row.word("section"),
                note=row.note() if by_note else None,
                front_share=row.value("front_share", 0.5),
            )
        )
    return tuple(out)


def sinks(table: Table, gathered: Gathered) -> tuple[MeasuredSink, ...]:
    """The user's own sink, per note."""
    return tuple(
        MeasuredSink(
            note=row.note(),
            preloaded_mm=_or_none(row, "preloaded"),
            strung_mm=_or_none(row, "strung"),
        )
        for row in _by_note(table, gathered)
    )


def same_notes(line: StringLine, other: Scale | StringPlan | None, file: str, gathered: Gathered) -> bool:
    """Whether the notes of another table are all in the line; those that are not are said."""
    strange = [] if other is None else sorted(set(other.note.tolist()) - set(line.note.tolist()))
    for note in strange[:3]:
        gathered.add("note-strange", Place(file=file, note=note), f"note {note} ({note_name(note)})",
                     "only notes that stand in the notes table too", "Add it there, or take it away here.")  # fmt: skip
    return not strange


def _by_note(table: Table, gathered: Gathered) -> list[Row]:
    """The rows by ascending note; a note that stands twice is said, and its first row kept."""
    rows: dict[int, Row] = {}
    for row in table:
        note = row.note()
        if note in rows:
            gathered.add("note-twice", row.place("note", note), f"note {note} ({note_name(note)}) again",
                         "each note once", f"It stands in row {rows[note].number} too: take one away.")  # fmt: skip
        else:
            rows[note] = row
    return [rows[note] for note in sorted(rows)]


def _looks_swapped(rows: list[Row], gathered: Gathered) -> None:
    """Say where two columns have plainly changed places."""
    for row in rows:
        speaking, back, between = row.value("speaking"), row.value("back"), row.value("rows")
        if row.note() <= 60 and speaking < back:
            gathered.add("columns-swapped", row.place("speaking", row.note()),
                         f"a speaking length of {speaking:g} mm and a back length of {back:g} mm",
                         "a speaking length above the back length in this part of the scale",
                         "Check that the two columns have not changed places.")  # fmt: skip
        elif between > speaking or between > 80.0:
            gathered.add("columns-swapped", row.place("rows", row.note()), f"pin rows {between:g} mm apart",
                         "about 8 to 30 mm, and less than the speaking length",
                         "Check that rows and another column have not changed places.")  # fmt: skip
        top = (row.value("bridge_front") + row.value("bridge_rear")) / 2.0
        steep = max(abs(top - row.value("front_height")) / speaking, abs(row.value("rear_height") - top) / back)
        if steep > 0.25 or abs(row.value("bridge_front") - row.value("bridge_rear")) > 0.25 * between:
            gathered.add("heights-unlikely", row.place("bridge_front", row.note()),
                         f"heights {row.value('front_height'):g}, {row.value('bridge_front'):g}, "
                         f"{row.value('bridge_rear'):g}, {row.value('rear_height'):g} mm from front to rear",
                         "a string that rises and falls by less than 1 in 4",
                         "Check that all four are above the same level, in the unit of the header.")  # fmt: skip


def _column(rows: list[Row], stem: str) -> np.ndarray:
    return np.array([row.value(stem) for row in rows])


def _or_none(row: Row, stem: str) -> float | None:
    return None if row.cells.get(stem) is None else row.value(stem)
