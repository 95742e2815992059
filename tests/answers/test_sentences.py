"""Headlines and cures: every number of a sentence against the invented result that it tells."""

from dataclasses import replace

import numpy as np

from bellywork.answers.notes import note_words, off_target, shown_places
from bellywork.answers.plane_answer import plate_part, plate_text, setting_words
from bellywork.balance.plate_setting import PlateSetting
from bellywork.board import PianoKind
from bellywork.measures import METRIC, Units

INCH = Units(length="in", force="lb")


def setting(short_mm: float = 0.0, supports: tuple[str, ...] = ("1", "nose")) -> PlateSetting:
    return PlateSetting(
        up_mm=-1.27,
        tilt_x_mm_per_m=0.5,
        tilt_y_mm_per_m=-0.25,
        supports=supports,
        move_mm=np.array([0.508, -2.54][: len(supports)]),
        mean_depth_mm=1.0,
        mean_depth_before_mm=2.0,
        short_mm=short_mm,
        binding=(1, 88),
        line=None,  # type: ignore[arg-type]  # told by nobody
    )


def test_how_many_notes_are_near_and_which_is_farthest() -> None:
    """By hand: off by 0.05, −0.10, +0.30, −0.35; within 0.10 are two, the farthest is the fourth."""
    net, wanted = np.array([1.05, 0.90, 1.30, 0.65]), np.ones(4)
    assert off_target("net_deg", net, wanted, [1, 2, 39, 40], 0.1000001) == (
        "2 of 4 notes are within 0.10° of their target; farthest is note 40 (C4): 0.65°, 1.00° wanted."
    )
    assert off_target("net_deg", net, wanted, [1, 2, 39, 40], 0.06).startswith("1 of 4 notes is within 0.06° of its ")


def test_the_plate_is_a_dowel_schedule_in_the_users_units() -> None:
    assert plate_text(setting(), INCH, PianoKind.GRAND) == (
        "The plate first. Every note can be planed to target; the setting is held by 1 (A0), 88 (C8).\n"
        "  · 1: up 0.020 in\n  · nose: down 0.100 in"
    )
    assert " ".join(plate_text(setting(supports=()), METRIC, PianoKind.GRAND).split()).endswith(
        "· at the origin of the plan: -1.27 mm, and further by +0.50 mm/m towards the treble and -0.25 mm/m towards "
        "the tail (up positive)"
    )
    assert "-0.25 mm/m towards the bottom" in " ".join(
        plate_text(setting(supports=()), METRIC, PianoKind.UPRIGHT).split()
    )
    flat = replace(setting(supports=()), tilt_x_mm_per_m=0.0, tilt_y_mm_per_m=0.0)
    assert plate_text(flat, METRIC, PianoKind.GRAND).endswith("\n  · all over: -1.27 mm (up positive)")
    assert setting_words(setting(short_mm=0.254), INCH) == (
        "No setting lets every note be planed to target: 0.010 in is lacking at 1 (A0), 88 (C8)."
    )
    assert plate_part(setting())["supports"].rows() == [
        {"support": "1", "move_mm": 0.508},
        {"support": "nose", "move_mm": -2.54},
    ]


def test_the_notes_chosen_are_shown_and_those_that_matter() -> None:
    chosen = np.array([True, False, False, False])
    assert shown_places(False, chosen, 2) == [0, 2]
    assert shown_places(True, chosen) == [0, 1, 2, 3]
    assert chosen.tolist() == [True, False, False, False]  # the reference notes stay as they are
    assert note_words(1) == "note 1 (A0)"
