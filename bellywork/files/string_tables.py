"""Tables of the strings: notes, scale, string plan, sink."""

from __future__ import annotations

import numpy as np

from bellywork.board.state import MeasuredSink
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.board.wires import wire_table
from bellywork.conventions import note_name
from bellywork.files.gather import Gathered, nearest
from bellywork.files.tables import Row, Table
from bellywork.findings import Place


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


def sinks(table: Table, notes: Table | None, gathered: Gathered) -> tuple[MeasuredSink, ...]:
    """The user's own sink, per note; a row still to be filled says nothing."""
    same_notes(notes, table, gathered)
    return tuple(
        MeasuredSink(note=row.note(), preloaded_mm=row.maybe("preloaded"), strung_mm=row.maybe("strung"))
        for row in _by_note(table, gathered)
        if not row.maybe("preloaded") is row.maybe("strung") is None
    )


def same_notes(notes: Table | None, other: Table, gathered: Gathered) -> None:
    """Say which notes of another table do not stand in the table of notes."""
    for row in other if notes is not None and notes.notes else ():
        note = row.note()
        if notes is not None and note not in notes.notes:
            gathered.add("note-strange", row.place("note", note), f"note {note} ({note_name(note)})",
                         "only notes that stand in the notes table too",
                         "Add it there, or take it away here.")  # fmt: skip


def reaches(line: StringLine, other: Table, gathered: Gathered) -> None:
    """Say which notes of the line another table does not reach: those beyond its first or last note on a bridge."""
    for bridge in dict.fromkeys(line.bridge):
        carried = [note for note, name in zip(line.note.tolist(), line.bridge) if name == bridge]
        there = [note for note in carried if note in other.notes]
        beyond = [note for note in carried if not there or not there[0] <= note <= there[-1]]
        if beyond:
            first = f"note {beyond[0]} ({note_name(beyond[0])})"
            found = first if len(beyond) == 1 else f"{first} and {len(beyond) - 1} more"
            gathered.add("note-unreached", Place(file=other.file, column="note", note=beyond[0]),
                         f"no row for {found}, at an end of the bridge {bridge}",
                         "the first and the last note of every bridge, at least",
                         "Add them: between two notes the others are interpolated, beyond them never.")  # fmt: skip


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
    """Say where two columns have plainly changed places, or a height belongs to another level; once for all rows.

    The limits are common practice, no source: no piano comes near them.
    """
    short = [row for row in rows if row.note() <= 60 and row.value("speaking") < row.value("back")]
    wide = [row for row in rows if row.value("rows") > row.value("speaking")]
    steep = [row for row in rows if _steepest(row) > 0.25]
    for amiss, stems, expected, remedy in (
        (short, ("speaking", "back"), "a speaking length above the back length up to note 60",
         "Check that the two columns have not changed places."),
        (wide, ("rows", "speaking"), "pin rows nearer to each other than the speaking length",
         "Check that the two columns have not changed places."),
        (steep, ("front_height", "bridge_front", "bridge_rear", "rear_height"),
         "a string that nowhere rises or falls by more than 1 in 4",
         "Check that all four are above the same level, in their own columns, in the unit of the header."),
    ):  # fmt: skip
        if amiss:
            first, more = amiss[0], len(amiss) - 1
            found = ", ".join(f"{stem} {first.value(stem):g}" for stem in stems)
            found += f" mm (and {more} rows more like it)" if more else " mm"
            gathered.add("columns-swapped", first.place(stems[0], first.note()), found, expected, remedy)


def _steepest(row: Row) -> float:
    """The steepest slope of the row's string."""
    heights = [row.value(stem) for stem in ("front_height", "bridge_front", "bridge_rear", "rear_height")]
    runs = [row.value(stem) for stem in ("speaking", "rows", "back")]
    return max(abs(after - before) / run for before, after, run in zip(heights, heights[1:], runs))


def _column(rows: list[Row], stem: str) -> np.ndarray:
    return np.array([row.value(stem) for row in rows])
