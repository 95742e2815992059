"""Targets in their four forms. Kind of every expected number: invariant (measuring gives back what was asked)."""

import invented
import numpy as np
import pytest

from bellywork.balance.wanted import USUAL, per_note, wanted
from bellywork.board import Target, TargetKind
from bellywork.errors import BoardError, MissingLayer, SolveError
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, downforce_N, topped
from bellywork.geometry.thread import threaded

LINE = invented.line()
PULL = pull_N(invented.scale(), LINE)
SECTIONS = tuple(dict.fromkeys(LINE.section))


def everywhere(kind, value, share=0.5):
    return tuple(Target(kind=kind, value=value, section=section, front_share=share) for section in SECTIONS)


def measured(want):
    return topped(LINE, want.front_mm, want.rear_mm)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_a_net_angle_measures_as_that_angle(share):
    turned = bearing(measured(wanted(LINE, everywhere(TargetKind.NET_DEG, 1.3, share))))
    np.testing.assert_allclose(turned.net_deg, 1.3, atol=1e-10)
    np.testing.assert_allclose(turned.front_deg, 1.3 * share, atol=1e-10)


def test_a_deflection_measures_as_that_deflection():
    turned = bearing(measured(wanted(LINE, everywhere(TargetKind.DEFLECTION_MM, 1.1))))
    np.testing.assert_allclose(turned.string_deflection_mm, 1.1, atol=1e-9)
    np.testing.assert_allclose(turned.front_deg, turned.rear_deg, atol=1e-9)


def test_a_force_is_what_all_strings_of_the_note_press():
    want = wanted(LINE, everywhere(TargetKind.FORCE_N, 32.0), PULL)
    np.testing.assert_allclose(downforce_N(measured(want), PULL), 32.0, rtol=1e-9)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_a_block_is_the_block_of_the_thread_whatever_the_share(share):
    want = wanted(LINE, everywhere(TargetKind.BLOCK_MM, 1.6, share))
    np.testing.assert_allclose(threaded(LINE, want.front_mm, want.rear_mm).block_mm, 1.6, atol=1e-9)


def test_kinds_may_differ_from_section_to_section():
    targets = (
        Target(kind=TargetKind.NET_DEG, value=0.6, section="bass"),
        Target(kind=TargetKind.BLOCK_MM, value=2.0, section="tenor"),
        Target(kind=TargetKind.FORCE_N, value=25.0, section="top"),
    )
    want = wanted(LINE, targets, PULL)
    top = np.array(LINE.section) == "top"
    np.testing.assert_allclose(want.net_deg[:26], 0.6)
    np.testing.assert_allclose(downforce_N(measured(want), PULL)[top], 25.0, rtol=1e-9)
    assert want.assumptions == (
        "No target was given for section middle, treble: 1.0° net in the strung state, half of it in front, is taken "
        "(common practice, no source).",
    )


def test_named_notes_run_straight_between_and_flat_beyond():
    targets = (
        Target(kind=TargetKind.NET_DEG, value=1.0, note=75, front_share=0.4),
        Target(kind=TargetKind.NET_DEG, value=2.0, note=85, front_share=0.6),
    )
    each, untold = per_note(LINE, targets)
    at = dict(zip(LINE.note.tolist(), each))
    assert [round(at[note].value, 9) for note in (73, 75, 80, 85, 88)] == [1.0, 1.0, 1.5, 2.0, 2.0]
    assert at[80].front_share == pytest.approx(0.5)
    assert at[72] is USUAL
    assert untold == ["bass", "tenor", "middle", "treble"]


def test_a_named_note_stands_alone_in_a_section_with_a_target():
    targets = (
        Target(kind=TargetKind.NET_DEG, value=1.0, section="top"),
        Target(kind=TargetKind.NET_DEG, value=2.0, note=80),
    )
    each, _ = per_note(LINE, targets)
    assert [target.value for target in each[72:]] == [1.0] * 7 + [2.0] + [1.0] * 8


def test_without_targets_the_usual_one_is_taken_and_said():
    want = wanted(LINE, ())
    np.testing.assert_array_equal(want.net_deg, 1.0)
    assert want.assumptions == (
        "No target was given for all notes: 1.0° net in the strung state, half of it in front, is taken (common "
        "practice, no source).",
    )


def test_what_cannot_be_is_named():
    with pytest.raises(BoardError, match=r"^A target is for section 'alto', but no note of the board stands in it\.$"):
        wanted(LINE, (Target(kind=TargetKind.NET_DEG, value=1.0, section="alto"),))
    with pytest.raises(
        MissingLayer, match=r"^A target in N needs the scale: unisons and wire diameters per note, in scale.csv\.$"
    ):
        wanted(LINE, everywhere(TargetKind.FORCE_N, 30.0))
    mixed = (Target(kind=TargetKind.NET_DEG, value=1.0, note=75), Target(kind=TargetKind.BLOCK_MM, value=1.0, note=80))
    with pytest.raises(
        BoardError,
        match=r"^Section top has targets of several kinds between its notes \(block_mm, net_deg\); use one kind\.$",
    ):
        wanted(LINE, mixed)
    with pytest.raises(SolveError, match=r"^No height of the bridge gives the target at notes 1 to 88 \(A0 to C8\)\.$"):
        wanted(LINE, everywhere(TargetKind.FORCE_N, 1e5), PULL)
