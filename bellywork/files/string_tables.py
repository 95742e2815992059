"""Tables of the strings: notes, scale, string plan, sink."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.state import MeasuredSink
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.board.wires import gauge_sizes_mm, wire_table
from bellywork.conventions import note_name
from bellywork.files.derived import string_points
from bellywork.files.gather import Gathered, nearest
from bellywork.files.note_heights import note_heights
from bellywork.files.tables import Row, Table
from bellywork.findings import Place
from bellywork.measures import counted


def string_line(
    table: Table, gathered: Gathered, straightedge_mm: float | None = None, strings: Scale | None = None
) -> tuple[StringLine, tuple[str, ...]] | None:
    """The string line, and how it was read, in sentences; notes may stand in any order.

    straightedge_mm   heights were read down from a straightedge so high over the level; NaN: not known; None: read up
    strings           the scale, for the wires under a capo bar
    """
    rows = _by_note(table, gathered)
    if not rows:
        return None
    read = note_heights(rows, straightedge_mm, None if strings is None else thickness_mm(strings), gathered)
    if read is None:
        return None
    _looks_swapped(rows, read.heights_mm, gathered)
    front, bridge_front, bridge_rear, rear = read.heights_mm.T
    line = StringLine(
        note=np.array([row.note() for row in rows]),
        section=tuple(row.word("section") for row in rows),
        bridge=tuple(row.word("bridge") for row in rows),
        speaking_mm=_column(rows, "speaking"),
        rows_mm=_column(rows, "rows"),
        back_mm=_column(rows, "back"),
        front_height_mm=front,
        bridge_front_mm=bridge_front,
        bridge_rear_mm=bridge_rear,
        rear_height_mm=rear,
        cap_mm=_column(rows, "cap"),
        measured=np.ones(len(rows), dtype=bool),
        levelled=read.levelled,
    )
    return line, read.said


def thickness_mm(strings: Scale) -> dict[int, float]:
    """Overall diameter of the strings by note, straight between the notes of the scale."""
    notes = np.arange(strings.note[0], strings.note[-1] + 1)
    return dict(zip(notes.tolist(), np.interp(notes, strings.note, strings.outer_mm).tolist()))


def scale(table: Table, pitch_Hz: float, gauge: str, gathered: Gathered) -> Scale | None:
    """The scale; it may know more notes than the table of notes.

    gauge   "inch" or "metric": the music wire gauge of wire numbers; empty: not said
    """
    rows = _by_note(table, gathered)
    wraps = wire_table()["wraps"]
    cores = np.array([_core_mm(row, gauge, gathered) for row in rows])
    for row, wire in zip(rows, cores.tolist()):
        outer, wrap = row.value("outer"), row.word("wrap")
        if wrap and wrap not in wraps:
            gathered.add(
                "wrap-unknown", row.place("wrap", row.note()), f"'{wrap}'", " or ".join(wraps), nearest(wrap, wraps)
            )
        if bool(wrap) != bool(outer > 0.0) or outer <= wire:
            gathered.add("wrap-incomplete", row.place("outer", row.note()),
                         f"a core of {wire:g} mm, {'no' if np.isnan(outer) else f'{outer:g} mm'} overall diameter, "
                         f"{'wound with ' + wrap if wrap else 'no wrap'}",
                         "for a wound string an overall diameter above the core's and what it is wound with",
                         "Fill both cells, or leave both blank for a plain string.")  # fmt: skip
    if not rows:
        return None
    overall, spread = _column(rows, "outer"), _column(rows, "spread")
    unisons = np.array([int(row.value("unisons")) for row in rows])
    return Scale(
        note=np.array([row.note() for row in rows]),
        unisons=unisons,
        wire_mm=cores,
        outer_mm=np.where(np.isnan(overall), cores, overall),
        wrap=tuple(row.word("wrap") for row in rows),
        pitch_Hz=pitch_Hz,
        spread_mm=np.where(unisons > 1, spread, np.nan) if np.any(np.isfinite(spread)) else None,
    )


def _core_mm(row: Row, gauge: str, gathered: Gathered) -> float:
    """Diameter of the plain or core wire, by itself or by its number; NaN, which is said, where it is not known."""
    wire, number = row.maybe("wire"), row.maybe("wire_number")
    if (wire is None) == (number is None):
        gathered.add("wire-form", row.place("wire", row.note()), "a diameter and a number" if wire else "no wire",
                     "the wire's diameter, or its number in a gauge", "Fill one of the two cells.")  # fmt: skip
        return float("nan")
    if number is None:
        return row.value("wire")
    if not gauge:
        gathered.add("gauge-missing", row.place("wire_number", row.note()), f"number {number:g}, of no gauge",
                     'gauge = "inch" or "metric" under [scale] in board.toml: the same number means two sizes',
                     "Say which gauge your wire is numbered by.")  # fmt: skip
        return float("nan")
    sizes = gauge_sizes_mm(gauge)
    if (number not in sizes and not (number * 2.0).is_integer()) or not min(sizes) <= number <= max(sizes):
        gathered.add("gauge-unknown", row.place("wire_number", row.note()), f"number {number:g}",
                     f"a whole or half number from {min(sizes):g} to {max(sizes):g}",
                     "Check the number, or give the diameter.")  # fmt: skip
        return float("nan")
    return float(np.interp(number, sorted(sizes), [sizes[each] for each in sorted(sizes)]))


def string_plan(table: Table, notes: Table | None, gathered: Gathered) -> StringPlan | None:
    """The strings in plan; points that are not given follow from the lengths of the table of notes."""
    rows = _by_note(table, gathered)
    lengths = {row.note(): row for row in notes or ()}
    points = [string_points(row, lengths.get(row.note()), gathered) for row in rows]
    known = [each for each in points if each is not None]
    if not rows or len(known) < len(rows):
        return None
    return StringPlan(
        note=np.array([row.note() for row in rows]),
        front_mm=np.array([each["front"] for each in known]),
        front_pin_mm=np.array([each["front_pin"] for each in known]),
        rear_pin_mm=np.array([each["rear_pin"] for each in known]),
        rear_mm=np.array([each["rear"] for each in known]),
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


def _looks_swapped(rows: list[Row], heights_mm: Floats, gathered: Gathered) -> None:
    """Say where two columns have plainly changed places, or a height belongs to another level; once for all rows.

    The limits are common practice, no source: no piano comes near them.
    """
    short = [row for row in rows if row.note() <= 60 and row.value("speaking") < row.value("back")]
    wide = [row for row in rows if row.value("rows") > row.value("speaking")]
    steep = [row for row, heights in zip(rows, heights_mm.tolist()) if _steepest(row, heights) > 0.25]
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
            found += f" mm (and {counted(more, 'row')} more like it)" if more else " mm"
            gathered.add("columns-swapped", first.place(stems[0], first.note()), found, expected, remedy)


def _steepest(row: Row, heights: list[float]) -> float:
    """The steepest slope of the row's string, its heights at F, B1, B2 and R."""
    runs = [row.value(stem) for stem in ("speaking", "rows", "back")]
    return max(abs(after - before) / run for before, after, run in zip(heights, heights[1:], runs))


def _column(rows: list[Row], stem: str) -> np.ndarray:
    return np.array([row.value(stem) for row in rows])
