"""Reference notes completed along the bridge. Kind of every expected number: invariant (what the rule itself says)."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board import Board, Scale, StringLine, StringPlan
from bellywork.errors import BoardError, MissingLayer
from bellywork.geometry.completed import completed

NOTES = np.array([20, 26, 27, 40, 50, 88])


def reference_line(notes=NOTES, sections=("bass", "bass", "tenor", "tenor", "treble", "treble")):
    n = len(notes)
    ramp = np.asarray(notes, dtype=float)
    return StringLine(
        note=notes,
        section=tuple(sections),
        bridge=tuple("bass" if note < 27 else "long" for note in notes),
        speaking_mm=2000.0 * 2.0 ** (-ramp / 16.0),
        rows_mm=np.full(n, 15.0),
        back_mm=200.0 - ramp,
        front_height_mm=50.0 + ramp / 10.0,
        bridge_front_mm=51.0 + np.where(ramp < 27, 5.0, 0.0) + ramp / 10.0,
        bridge_rear_mm=51.0 + np.where(ramp < 27, 5.0, 0.0) + ramp / 10.0,
        rear_height_mm=49.0 + ramp / 10.0,
        cap_mm=np.full(n, 12.0),
        measured=np.full(n, True),
    )


def test_straight_heights_and_equal_ratios_between_reference_notes():
    line = completed(Board(name="b", strings=reference_line())).board.strings
    assert line.note.tolist() == list(range(20, 89))
    np.testing.assert_allclose(line.front_height_mm, 50.0 + line.note / 10.0, rtol=1e-12)
    np.testing.assert_allclose(line.speaking_mm, 2000.0 * 2.0 ** (-line.note / 16.0), rtol=1e-12)


def test_the_break_between_bridges_stays_a_break():
    line = completed(Board(name="b", strings=reference_line())).board.strings
    at = line.note.tolist().index(26)
    assert line.bridge[at : at + 2] == ("bass", "long")
    assert line.bridge_front_mm[at] - line.bridge_front_mm[at + 1] == pytest.approx(4.9)


def test_reference_notes_are_marked_and_kept_to_the_last_bit():
    given = reference_line()
    line = completed(Board(name="b", strings=given)).board.strings
    assert line.note[line.measured].tolist() == NOTES.tolist()
    np.testing.assert_array_equal(line.speaking_mm[line.measured], np.exp(np.log(given.speaking_mm)))
    np.testing.assert_array_equal(line.back_mm[line.measured], given.back_mm)


def test_what_was_assumed_is_said():
    said = completed(Board(name="b", strings=reference_line())).assumptions
    assert said == (
        "63 of 69 notes are interpolated along the bridge from reference notes.",
        "The break between two sections is taken midway between their reference notes (notes 41 to 49 (C♯4 to A4)).",
        "Notes 1 to 19 (A0 to D♯2): not described, so without load here.",
    )


def test_a_break_between_sections_falls_midway():
    line = completed(Board(name="b", strings=reference_line())).board.strings
    section = dict(zip(line.note.tolist(), line.section))
    assert (section[45], section[46]) == ("tenor", "treble")


def test_a_full_line_comes_back_as_it_was():
    notes = np.arange(1, 89)
    given = reference_line(notes, ["all"] * 88)
    done = completed(Board(name="b", strings=given))
    assert done.board.strings is given
    assert done.assumptions == ()


def test_an_unknown_cap_stays_unknown_beside_known_ones():
    cap = np.array([12.0, np.nan, 12.0, 12.0, 12.0, 12.0])
    line = completed(Board(name="b", strings=replace(reference_line(), cap_mm=cap))).board.strings
    unknown = line.note[np.isnan(line.cap_mm)].tolist()
    assert unknown == [21, 22, 23, 24, 25, 26]


def scale_at(notes, wrap=None):
    n = len(notes)
    wrap = wrap or ("copper",) * 2 + ("",) * (n - 2)
    core = np.linspace(1.2, 0.8, n)
    return Scale(
        note=notes,
        unisons=[2 if w else 3 for w in wrap],
        wire_mm=core,
        outer_mm=np.where([bool(w) for w in wrap], core + 2.0, core),
        wrap=wrap,
    )


def test_wires_run_straight_within_a_kind_and_step_between_kinds():
    scale = completed(
        Board(name="b", strings=reference_line(), scale=scale_at(NOTES, ("copper", "copper", "copper", "", "", "")))
    ).board.scale
    core = dict(zip(scale.note.tolist(), scale.wire_mm))
    assert core[23] == pytest.approx((1.2 + 1.12) / 2)
    wrapped = [note for note, wrap in zip(scale.note.tolist(), scale.wrap) if wrap]
    assert wrapped == list(range(20, 34))
    assert core[30] == core[27]
    assert np.all((scale.outer_mm > scale.wire_mm) == [bool(w) for w in scale.wrap])


def test_a_scale_that_stops_short_is_named():
    short = scale_at(NOTES[:-1])
    with pytest.raises(
        BoardError, match=r"^The scale does not reach notes 51 to 88 \(B4 to C8\) of the string line\.$"
    ):
        completed(Board(name="b", strings=reference_line(), scale=short))


def test_a_plan_is_not_drawn_across_two_bridges():
    notes = np.array([20, 40, 50, 88])
    points = np.column_stack([notes * 10.0, notes * 5.0])
    plan = StringPlan(note=notes, front_mm=points, front_pin_mm=points, rear_pin_mm=points, rear_mm=points)
    with pytest.raises(BoardError, match=r"^The plan of the strings does not reach notes 21 to 39 \(F2 to B3\)"):
        completed(Board(name="b", strings=reference_line(), plan=plan))


def test_the_plan_is_filled_at_the_lines_notes():
    points = np.column_stack([NOTES * 10.0, NOTES * 5.0])
    plan = StringPlan(note=NOTES, front_mm=points, front_pin_mm=points, rear_pin_mm=points, rear_mm=points)
    filled = completed(Board(name="b", strings=reference_line(), plan=plan)).board.plan
    np.testing.assert_allclose(filled.rear_mm, np.column_stack([filled.note * 10.0, filled.note * 5.0]))


def test_without_a_string_line_it_says_what_it_needs():
    with pytest.raises(
        MissingLayer, match=r"^Completing the notes needs the string line: lengths and heights per note, in notes.csv.$"
    ):
        completed(Board(name="b"))
