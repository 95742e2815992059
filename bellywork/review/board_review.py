"""A look over a whole board: what cannot be seen from one cell or one row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.board import Board
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.errors import UnusableInput
from bellywork.files.read import BoardFile, read_board
from bellywork.findings import Finding, Level, Place, to_mend
from bellywork.geometry import scale as scales
from bellywork.geometry.completed import completed
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.string_line import bearing
from bellywork.review.bearing_review import bearing_findings
from bellywork.review.plausible import plausible

PLAN_TOLERANCE_MM = 1.0
UNEVEN = 1.25
SINK_MOST_MM = 6.0
NEARLY_ALL = 2 / 3  # this share of a run of notes given, and the rest look forgotten rather than left to interpolation


def read_and_reviewed(folder: Path, *, instead: Mapping[str, Path] | None = None) -> BoardFile:
    """The board of a folder, looked through; its findings are advice alone.

    instead   as for `read_board`

    Raises UnusableInput with every finding that must be mended.
    """
    found = read_board(folder, instead=instead)
    findings = found.findings
    if not to_mend(findings):  # else the board lacks what they stand on
        findings = (*findings, *reviewed(found.board))
    if to_mend(findings):
        raise UnusableInput(to_mend(findings))
    return replace(found, findings=findings)


def reviewed(board: Board) -> tuple[Finding, ...]:
    """Findings on a board as a whole: strings, scale and plan against each other, and the body in plan and in height.

    Every tolerance is common practice, no source: wide enough for a tape, narrow enough for a slip of columns.

    Raises BoardError where scale or plan does not reach a note of the string line.
    """
    found = list(_strings(board)) if board.strings is not None else []
    found += _sinks(board)
    if board.body is not None:
        from bellywork.review.body_review import body_findings

        found += body_findings(board)
    return tuple(found)


def _sinks(board: Board) -> list[Finding]:
    """Sinks of the user's own that have the wrong sign, or are beyond what strings do."""
    found = []
    given = [(each.note, name, getattr(each, f"{name}_mm")) for each in board.sinks for name in ("preloaded", "strung")]
    for code, expected, remedy, amiss in (
        ("sink-rises", "a board that sinks under what presses on it, so a number of 0 or more",
         "Sink counts downwards: a change of height changes its sign. With the wrong sign too much is planed.",
         [each for each in given if each[2] is not None and each[2] < 0.0]),
        ("sink-large", f"at most {SINK_MOST_MM:g} mm, twice what boards do under their strings",
         "Check the number and the unit in the header.",
         [each for each in given if each[2] is not None and each[2] > SINK_MOST_MM]),
    ):  # fmt: skip
        if amiss:
            note, column, value = max(amiss, key=lambda each: abs(each[2]))
            more = f", the most of {len(amiss)} such rows" if len(amiss) > 1 else ""
            place = Place(file="sink.csv", column=column, note=note)
            found.append(
                Finding(code=code, place=place, found=f"a sink of {value:g} mm{more}", expected=expected, remedy=remedy,
                        level=Level.ADVICE)
            )  # fmt: skip
    return found


def many_notes(notes: Ints, amiss: Bools, finding: Callable[[Ints, str], Finding]) -> list[Finding]:
    """One finding for all marked notes together; `finding` gets their indices and their names in words."""
    at = np.flatnonzero(amiss)
    return [finding(at, notes_in_words(notes[at].tolist()))] if len(at) else []


def _strings(board: Board) -> list[Finding]:
    line = board.needed_strings("The review")
    found = _forgotten("notes.csv", line.note) + _uneven(line)
    share, whole = np.full(len(line.note), np.nan), board
    if board.scale is not None:
        found += _forgotten("scale.csv", board.scale.note)
        whole = completed(board).board
        share = _strength(whole.needed_strings("The review"), whole.needed_scale("The review"), line)
    if board.plan is not None:
        found += _forgotten("string_plan.csv", board.plan.note) + _lengths_in_plan(line, board.plan)
    found += plausible(board, whole)
    if not any(each.code == "heights-read-down" for each in found):
        found += bearing_findings(line, bearing(line), board.measured_in, share)
    return found


def _strength(whole: StringLine, scale: Scale, line: StringLine) -> Floats:
    """Share of the breaking load at the notes of `line`, from the scale completed to those of `whole`."""
    share = scales.strength_share(scale, scales.tension_N(scale, whole))
    return np.asarray(share[np.searchsorted(whole.note, line.note)])


def _forgotten(file: str, note: Ints) -> list[Finding]:
    """Notes absent from a table that has nearly all the others between its first and its last."""
    run = np.arange(note[0], note[-1] + 1)
    absent = np.setdiff1d(run, note)
    if not len(absent) or len(note) < NEARLY_ALL * len(run):
        return []
    return [
        Finding(
            code="note-missing",
            place=Place(file=file, column="note", note=int(absent[0])),
            found=f"no row for {notes_in_words(absent.tolist())}",
            expected="a row for every note, or for reference notes only",
            remedy="Add the row; until then the note is interpolated along its bridge.",
            level=Level.ADVICE,
        )
    ]


def _uneven(line: StringLine) -> list[Finding]:
    """Speaking lengths that leave the run between their neighbours on the bridge, by equal ratios, too far."""
    found = []
    for i in range(1, len(line.note) - 1):
        if not line.bridge[i - 1] == line.bridge[i] == line.bridge[i + 1]:
            continue
        low, note, high = (int(number) for number in line.note[i - 1 : i + 2])
        before, length, after = (float(value) for value in line.speaking_mm[i - 1 : i + 2])
        run = before * (after / before) ** ((note - low) / (high - low))
        if not 1.0 / UNEVEN < length / run < UNEVEN:
            found.append(
                Finding(
                    code="length-uneven",
                    place=Place(file="notes.csv", column="speaking", note=note),
                    found=f"{length:.1f} mm, where its neighbours lead to {run:.1f} mm",
                    expected=f"within {100.0 * (UNEVEN - 1.0):.0f} % of the run of the scale",
                    remedy="Measure it again, and look at the decimal point of this note and its neighbours.",
                    level=Level.ADVICE,
                )
            )
    return found


def _lengths_in_plan(line: StringLine, plan: StringPlan) -> list[Finding]:
    """Lengths measured along the string against those between its points in plan."""
    _, here, there = np.intersect1d(line.note, plan.note, return_indices=True)
    points = [getattr(plan, f"{name}_mm")[there] for name in ("front", "front_pin", "rear_pin", "rear")]
    found = []
    for k, column in enumerate(("speaking", "rows", "back")):
        given, drawn = getattr(line, f"{column}_mm")[here], np.hypot(*(points[k + 1] - points[k]).T)
        apart = np.abs(drawn - given)

        def finding(
            at: Ints, words: str, column: str = column, given: Floats = given, drawn: Floats = drawn,
            apart: Floats = apart,
        ) -> Finding:  # fmt: skip
            worst = at[np.argmax(apart[at])]
            note = int(line.note[here[worst]])
            return Finding(
                code="plan-disagrees",
                place=Place(file="notes.csv", column=column, note=note),
                found=f"{given[worst]:.1f} mm here and {drawn[worst]:.1f} mm between the points in string_plan.csv",
                expected=f"the same within {PLAN_TOLERANCE_MM:g} mm",
                remedy=f"Measure again, at {words}: the bearing uses this length, the board's sink the points.",
                level=Level.ADVICE,
            )

        found += many_notes(line.note[here], apart > PLAN_TOLERANCE_MM, finding)
    return found
