"""A reading beside its neighbours: whether it leaves their run."""

from __future__ import annotations

from collections.abc import Sequence

from bellywork.bench.journal import Reading
from bellywork.files.cell_text import number_in
from bellywork.files.cells import NoteTable
from bellywork.files.columns import TABLES

NEAR_NOTES = 4.0  # neighbours farther apart than this lead less surely
ONE_SIDE = 2.0  # how much surer it must be at an end of the bridge
NEIGHBOURS = 2  # to either side, for a curve through four
STRAY_MM, STRAY_DEG = 1.0, 0.5  # off that curve by more than this is read again; common practice, no source


def doubt_of(table: NoteTable, reading: Reading) -> str:
    """What is strange about a reading beside its neighbours on the same bridge; empty where nothing is."""
    value = number_in(reading.text)
    near = _neighbours(table, reading)
    if value is None or len(near) <= NEIGHBOURS:
        return ""
    expected = _curve([note for note, _ in near], [each for _, each in near], reading.note)
    column = next(each for each in TABLES["notes"].columns if reading.column in each.units)
    unit = column.units[reading.column]
    off = unit.inside(value) - unit.inside(expected)
    sides = {note > reading.note for note, _ in near}
    apart = (near[-1][0] - near[0][0]) / len(near)
    least = (STRAY_DEG if column.stem.endswith("bearing") else STRAY_MM) * max(1.0, apart / NEAR_NOTES)
    if abs(off) <= least * (ONE_SIDE if len(sides) == 1 else 1.0):
        return ""
    way = "more" if off > 0.0 else "less"
    return f"{abs(value - expected):.2g} {unit.suffix} {way} than its neighbours lead to. Read it again?"


def _neighbours(table: NoteTable, reading: Reading) -> list[tuple[int, float]]:
    """The nearest notes of the same bridge to either side at which the same was read, ascending."""
    bridge, bridges = "", {}
    for note in sorted(table.cells):
        bridge = table.cells[note].get("bridge") or bridge
        bridges[note] = bridge
    values = {note: number_in(cells.get(reading.column, "")) for note, cells in table.cells.items()}
    same = [
        (note, value)
        for note, value in sorted(values.items())
        if value is not None and note != reading.note and bridges[note] == bridges[reading.note]
    ]
    below = [each for each in same if each[0] < reading.note]
    above = [each for each in same if each[0] > reading.note]
    if not below or not above:  # at an end of the bridge three go on to one side
        return [*below[-NEIGHBOURS - 1 :], *above[: NEIGHBOURS + 1]]
    return [*below[-NEIGHBOURS:], *above[:NEIGHBOURS]]


def _curve(notes: Sequence[int], values: Sequence[float], at: int) -> float:
    """The polynomial through some points at another place (Lagrange)."""
    total = 0.0
    for k, value in enumerate(values):
        share = value
        for j, note in enumerate(notes):
            if j != k:
                share *= (at - note) / (notes[k] - note)
        total += share
    return total
