"""Pitch from the bridge's movement alone."""

import numpy as np
import pytest

from bellywork.board import Scale, StringLine
from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import sunk
from bellywork.seasons.pitch import pitch_change

STRINGS = {  # note: speaking mm, core mm, tension N of a concert grand (INRIA RR-8181, second-hand), back mm
    # assumed there (120, 90, 50; which is whose is read from its numbers)
    7: (1945.0, 1.48, 1781.0, 120.0, (0.8, 1.8, 0.9)),
    33: (961.0, 1.05, 774.0, 120.0, (1.9, 4.0, 2.0)),
    53: (326.0, 0.92, 684.0, 90.0, (5.3, 10.0, 5.2)),
    83: (124.0, 0.79, 587.0, 50.0, (14.9, 26.0, 11.7)),
}


def strung(note: int) -> tuple[Scale, np.ndarray, StringLine]:
    speaking, wire, tension, back, _ = STRINGS[note]
    slope = np.tan(np.radians(0.5))
    line = one_string(
        speaking=speaking,
        rows=1e-3,
        back=back,
        front=-speaking * slope,
        bridge=(0.0, 0.0),
        rear=-back * slope,
        note=note,
    )
    scale = Scale(note=[note], unisons=[1], wire_mm=[wire], outer_mm=[wire], wrap=("",))
    return scale, np.array([tension]), line


@pytest.mark.parametrize("note", STRINGS)
def test_one_mm_of_rise_and_a_hundredth_along(note: int) -> None:
    """Computed apart from this project for a published scale, net bearing 1° split evenly: cents for 1 mm of rise with
    pins that hold, with free slip, and for 0.01 mm along the string. Two digits are printed, no modulus: 7 %.
    """
    scale, tension, line = strung(note)
    risen = sunk(line, np.array([-1.0]), np.array([-1.0]))
    rise = pitch_change(scale, tension, before=line, after=risen, along_mm=np.zeros(1))
    moved = pitch_change(scale, tension, before=line, after=line, along_mm=np.array([0.01]))
    held, slipping, along = STRINGS[note][-1]
    assert float(rise.held_cents[0]) == pytest.approx(held, rel=0.07)
    assert float(rise.slipping_cents[0]) == pytest.approx(slipping, rel=0.07)
    assert float(moved.held_cents[0]) == pytest.approx(along, rel=0.07)
    assert float(moved.slipping_cents[0]) == 0.0


def test_nothing_moved_nothing_changes_and_back_is_back() -> None:
    """Invariant."""
    scale, tension, line = strung(33)
    still = pitch_change(scale, tension, before=line, after=line, along_mm=np.zeros(1))
    assert float(still.held_cents[0]) == float(still.slipping_cents[0]) == 0.0
    lower = sunk(line, np.array([0.5]), np.array([0.5]))
    down = pitch_change(scale, tension, before=line, after=lower, along_mm=np.zeros(1))
    assert float(down.held_cents[0]) < 0.0
    assert float(down.slipping_cents[0]) < float(down.held_cents[0])
