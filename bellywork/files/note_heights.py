"""The heights of a note's string from whichever way it was read, row by row of the table of notes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.reading_forms import (
    STEPS,
    Tops,
    net_step_deg,
    tops_of_angles,
    tops_of_block,
    tops_of_dial,
)
from bellywork.measures import counted

LEVEL = ("front_height", "bridge_front", "bridge_rear", "rear_height")
FORMS: dict[str, tuple[str, ...]] = {
    "level": LEVEL,
    "gap": ("gap_front", "gap_rear"),
    "block": ("block",),
    "gauge": ("front_bearing", "rear_bearing"),
    "dial": ("dial", "dial_span"),
}
SAID = {
    "gap": "the gap over a thread",
    "block": "a block under the thread",
    "gauge": "an angle gauge",
    "dial": "a dial on a chord",
}
HALF_IN_FRONT = ("block", "dial")


@dataclass(frozen=True, kw_only=True, eq=False)
class NoteHeights:
    """Heights at F, B1, B2 and R, shape (notes, 4), mm; `levelled` False where rows do not share a level.

    said   how they were read, in sentences
    """

    heights_mm: Floats
    levelled: bool
    said: tuple[str, ...]


def note_heights(
    rows: list[Row], straightedge_mm: float | None, wire_mm: Mapping[int, float] | None, gathered: Gathered
) -> NoteHeights | None:
    """The heights of rows by ascending note; None, which is said, where a row has no way of reading, or two.

    straightedge_mm   heights were read down from so high over the level; NaN: not known; None: read up from the level
    wire_mm           overall diameter of the strings by note, for those under a capo; None: no scale
    """
    forms = [_form(row) for row in rows]
    before = gathered.grave
    _say_incomplete([row for row, form in zip(rows, forms) if form == ""], gathered)
    for row, form in zip(rows, forms):
        if form is None:
            _say_twice(row, gathered)
    if gathered.grave > before:
        return None
    read = [str(form) for form in forms]
    levels = np.array([[row.value(stem, 0.0) for stem in LEVEL] for row in rows])
    at_level = np.array([form == "level" for form in read])
    if straightedge_mm is not None:
        levels = (0.0 if np.isnan(straightedge_mm) else straightedge_mm) - levels
    levels[:, 0] -= _under_the_bar(rows, at_level, wire_mm, gathered)
    if not at_level.all():  # against its own straight line, note by note, so that all of them compare
        levels = _over_the_straight_line(rows, levels)
    for k in np.flatnonzero(~at_level):
        levels[k, 1:3] = _tops(rows[k], read[k], gathered)
    if gathered.grave > before:
        return None
    return NoteHeights(
        heights_mm=levels,
        levelled=bool(at_level.all()) and not (straightedge_mm is not None and np.isnan(straightedge_mm)),
        said=_said(rows, read, straightedge_mm is not None),
    )


def _over_the_straight_line(rows: list[Row], levels: Floats) -> Floats:
    """The bridge tops of each row over its straight line F to R, which is put at 0.

    Bearings change by the square of its slope only: a slope of 1 in 100 by a ten-thousandth.
    """
    out = np.zeros_like(levels)
    for k, row in enumerate(rows):
        front, *tops, rear = levels[k].tolist()
        reach = row.value("speaking"), row.value("speaking") + row.value("rows")
        run = reach[1] + row.value("back")
        out[k, 1:3] = [top - front - (rear - front) * far / run for top, far in zip(tops, reach)]
    return out


def _form(row: Row) -> str | None:
    """How a row was read; empty where no way is complete, None where it was read in two ways."""
    given = [form for form, stems in FORMS.items() if any(row.cells.get(stem) is not None for stem in stems)]
    if len(given) > 1:
        return None
    whole = [form for form in given if all(row.cells.get(stem) is not None for stem in FORMS[form])]
    return whole[0] if whole else ""


def _say_incomplete(rows: list[Row], gathered: Gathered) -> None:
    """One finding for all rows that lack the same cells."""
    lacking: dict[tuple[str, ...], list[Row]] = {}
    for row in rows:
        begun = next(
            (stems for stems in FORMS.values() if any(row.cells.get(stem) is not None for stem in stems)), LEVEL
        )
        lacking.setdefault(tuple(stem for stem in begun if row.cells.get(stem) is None), []).append(row)
    for stems, those in lacking.items():
        more = f" (and {counted(len(those) - 1, 'row')} more like it)" if len(those) > 1 else ""
        gathered.add(
            "heights-incomplete", those[0].place(stems[0], those[0].note()), f"no {', no '.join(stems)}{more}",
            "all four heights, or both gaps over the thread, or a block, or front and rear bearing, or a dial and its "
            "span", "Fill the cells, or read the note in another way.",
        )  # fmt: skip


def _say_twice(row: Row, gathered: Gathered) -> None:
    given = [stem for stems in FORMS.values() for stem in stems if row.cells.get(stem) is not None]
    gathered.add(
        "heights-twice", row.place(given[-1], row.note()), f"{', '.join(given)} in one row",
        "one way of reading for each note", "Leave the one that you trust, and blank the others.",
    )  # fmt: skip


def _under_the_bar(
    rows: list[Row], at_level: np.ndarray, wire_mm: Mapping[int, float] | None, gathered: Gathered
) -> Floats:
    """What to take off a height read at a capo bar, which lies on the string: the thickness of the string."""
    off = np.zeros(len(rows))
    lacking = []
    for k, row in enumerate(rows):
        if at_level[k] and row.word("front") == "capo":
            wire = None if wire_mm is None else wire_mm.get(row.note())
            off[k] = wire or 0.0
            lacking += [] if wire else [row]
    if lacking:
        notes = notes_in_words([row.note() for row in lacking])
        gathered.add(
            "wire-needed", lacking[0].place("front", lacking[0].note()), f"the height of a capo bar at {notes}",
            "the wire there in scale.csv: the bar lies on the string's top, and in the top octave its thickness is "
            "nearly 1°", "Add the wires, or read the height under the string and leave the cell front blank.",
        )  # fmt: skip
    return off


def _tops(row: Row, form: str, gathered: Gathered) -> Tops:
    """The bridge top over the straight line F to R, at both pin rows, in mm."""
    runs = row.value("speaking"), row.value("rows"), row.value("back")
    if form == "gap":
        return row.value("gap_front"), row.value("gap_rear")
    if form == "block":
        return tops_of_block(row.value("block"), runs)
    if form == "gauge":
        return tops_of_angles(row.value("front_bearing"), row.value("rear_bearing"), runs)
    span, room = row.value("dial_span"), min(runs[0], runs[2]) * 2.0 + runs[1]
    if not runs[1] < span <= room or 2.0 * abs(row.value("dial")) >= span - runs[1]:
        gathered.add(
            "dial-impossible",
            row.place("dial_span", row.note()),
            f"a dial of {row.value('dial'):g} mm over a span of {span:g} mm",
            f"feet that stand on the string beyond the pins: a span of {runs[1]:g} to {room:g} mm",
            "Measure from foot to foot.",
        )
        return 0.0, 0.0
    return tops_of_dial(row.value("dial"), span, runs)


def _said(rows: list[Row], forms: list[str], down: bool) -> tuple[str, ...]:
    said = ["Heights were read down from a straightedge."] if down and "level" in forms else []
    for form, words in SAID.items():
        those = [row for row, each in zip(rows, forms) if each == form]
        if not those:
            continue
        off = max(
            net_step_deg(form, (row.value("speaking"), row.value("rows"), row.value("back")), row.value("dial_span"))
            for row in those
        )
        step = f"{STEPS[form]:g}{'°' if form == 'gauge' else ' mm'}"
        half = " It tells the net only: half of it is taken to be in front." if form in HALF_IN_FRONT else ""
        said.append(
            f"By {words}: {notes_in_words([row.note() for row in those])}; a reading that is {step} off is up to "
            f"{off:.2f}° of net there.{half}"
        )
    return tuple(said)
