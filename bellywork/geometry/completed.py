"""From reference notes to every note: a board whose string line, scale and plan have one entry for each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.strings import LENGTHS_AND_HEIGHTS, Scale, StringLine, StringPlan
from bellywork.errors import BoardError
from bellywork.geometry.naming import notes_in_words
from bellywork.measures import are


@dataclass(frozen=True, kw_only=True, eq=False)
class Completed:
    """A board with the same notes in all its layers, and what was assumed on the way, in sentences."""

    board: Board
    assumptions: tuple[str, ...]


def completed(board: Board) -> Completed:
    """The board with every note between the first and the last reference note of each bridge.

    Between two neighbouring reference notes of one bridge, heights, back lengths, row spacings and caps run straight
    in the note number, speaking lengths by equal ratios (a scale doubles by so many notes, it does not grow by so many
    mm). Where the neighbours stand in two sections, each note between takes the section of the nearer one. Wire and
    wrap run straight between neighbours of one kind (unisons and wrap); otherwise the nearer is taken, the lower note
    when both are as near. Nothing is guessed outside the reference notes.

    Raises MissingLayer without a string line, BoardError where scale or plan does not reach a note of the line.
    """
    given = board.needed_strings("Completing the notes")
    line, across = _completed_line(given)
    assumptions = list(board.reading)
    if len(line.note) > len(given.note):
        added = len(line.note) - len(given.note)
        assumptions.append(
            f"{added} of {len(line.note)} notes {are(added)} interpolated along the bridge from reference notes."
        )
    if across:
        assumptions.append(
            f"The break between two sections is taken midway between their reference notes ({notes_in_words(across)})."
        )
    absent = [note for note in range(1, 89) if note not in set(line.note.tolist())]
    if absent:
        words = notes_in_words(absent)
        assumptions.append(f"{words[0].upper()}{words[1:]}: not described, so without load here.")
    return Completed(
        board=replace(
            board,
            strings=line,
            scale=None if board.scale is None else _completed_scale(board.scale, line),
            plan=None if board.plan is None else _completed_plan(board.plan, line),
        ),
        assumptions=tuple(assumptions),
    )


def plan_of_every_note(plan: StringPlan, line: StringLine) -> StringPlan:
    """The plan of a line's notes and of every note between them, as `completed` has it.

    Raises BoardError where the plan does not reach a note of the line.
    """
    return _completed_plan(plan, _completed_line(line)[0])


def _completed_line(line: StringLine) -> tuple[StringLine, list[int]]:
    """The line with the notes between, and those notes that lie between reference notes of two sections."""
    note, below, above, share = _between(line.note, line.bridge)
    if len(note) == len(line.note):
        return line, []

    def straight(values: Floats) -> Floats:
        return np.where(share == 0.0, values[below], (1.0 - share) * values[below] + share * values[above])

    nearer = np.where(share > 0.5, above, below)
    across = [int(n) for n, i, j in zip(note, below, above) if line.section[i] != line.section[j]]
    filled = StringLine(
        note=note,
        section=tuple(line.section[i] for i in nearer),
        bridge=tuple(line.bridge[i] for i in below),
        speaking_mm=np.exp(straight(np.log(line.speaking_mm))),
        **{name: straight(getattr(line, name)) for name in LENGTHS_AND_HEIGHTS},
        measured=(share == 0.0) & line.measured[below],
        levelled=line.levelled,
    )
    return filled, [n for n in across if n not in set(line.note.tolist())]


def _between(note: Ints, bridge: tuple[str, ...]) -> tuple[Ints, Ints, Ints, Floats]:
    """Every note between neighbours of one bridge: notes, index of the neighbours below and above, share of the way."""
    rows = []
    for i, (first, name) in enumerate(zip(note, bridge)):
        rows.append((first, i, i, 0.0))
        if i + 1 < len(note) and bridge[i + 1] == name:
            gap = note[i + 1] - first
            rows += [(first + step, i, i + 1, step / gap) for step in range(1, gap)]
    notes, below, above, share = zip(*rows)
    return np.array(notes), np.array(below), np.array(above), np.array(share)


def _neighbours(known: Ints, line: StringLine, what: str) -> tuple[Ints, Ints, Floats]:
    """Index of the known notes below and above each note of the line, and the share of the way between them."""
    above = np.minimum(np.searchsorted(known, line.note), len(known) - 1)
    below = np.where(known[above] == line.note, above, np.maximum(above - 1, 0))
    bridge = dict(zip(line.note.tolist(), line.bridge))
    unreached = [
        note
        for note, low, high in zip(line.note.tolist(), known[below].tolist(), known[above].tolist())
        if not low <= note <= high or {bridge.get(low), bridge.get(high)} - {bridge[note], None}
    ]
    if unreached:
        raise BoardError(f"The {what} does not reach {notes_in_words(unreached)} of the string line.")
    gap = known[above] - known[below]
    return below, above, (line.note - known[below]) / np.where(gap == 0, 1, gap)


def _completed_scale(scale: Scale, line: StringLine) -> Scale:
    if np.array_equal(scale.note, line.note):
        return scale
    below, above, share = _neighbours(scale.note, line, "scale")
    alike = [(scale.unisons[i], scale.wrap[i]) == (scale.unisons[j], scale.wrap[j]) for i, j in zip(below, above)]
    nearer = np.where(share > 0.5, above, below)

    def blended(values: Floats) -> Floats:
        return np.where(alike, (1.0 - share) * values[below] + share * values[above], values[nearer])

    return Scale(
        note=line.note,
        unisons=scale.unisons[nearer],
        wire_mm=blended(scale.wire_mm),
        outer_mm=blended(scale.outer_mm),
        wrap=tuple(scale.wrap[i] for i in nearer),
        pitch_Hz=scale.pitch_Hz,
        spread_mm=None if scale.spread_mm is None else blended(scale.spread_mm),
    )


def _completed_plan(plan: StringPlan, line: StringLine) -> StringPlan:
    if np.array_equal(plan.note, line.note):
        return plan
    below, above, share = _neighbours(plan.note, line, "plan of the strings")
    weight = share[:, np.newaxis]
    return StringPlan(
        note=line.note,
        **{
            name: (1.0 - weight) * getattr(plan, name)[below] + weight * getattr(plan, name)[above]
            for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm")
        },
    )
