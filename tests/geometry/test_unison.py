"""Outer strings of unisons. Kind of every expected number: closed form (straight rows that run obliquely and rise)."""

import numpy as np
import pytest

from bellywork.board import StringLine, StringPlan
from bellywork.geometry.unison import outer_strings

PITCH, TURN = 14.0, np.radians(20.0)
ALONG, ACROSS = np.array([np.sin(TURN), np.cos(TURN)]), np.array([np.cos(TURN), -np.sin(TURN)])
# where each row stands along the strings, how far it shifts for each mm across, its height and its rise for each mm
ROWS = {
    "front_mm": (0.0, 0.10, 50.0, 0.010),
    "front_pin_mm": (600.0, -0.50, 56.0, 0.030),
    "rear_pin_mm": (620.0, -0.45, 55.6, -0.020),
    "rear_mm": (730.0, -0.20, 53.0, 0.004),
}


def instrument(n=5, towards=1.0, bridge=None, section=None):
    """Notes 40 and on, each PITCH beside the last; `towards` -1: with the higher notes on the other side."""
    across = towards * PITCH * np.arange(n)
    at = {name: place + shift * across for name, (place, shift, _, _) in ROWS.items()}
    height = {name: level + rise * across for name, (_, _, level, rise) in ROWS.items()}
    plan = StringPlan(
        note=np.arange(40, 40 + n),
        **{name: at[name][:, None] * ALONG + across[:, None] * ACROSS for name in ROWS},
    )
    line = StringLine(
        note=plan.note,
        section=tuple(section or ["tenor"] * n),
        bridge=tuple(bridge or ["long"] * n),
        speaking_mm=at["front_pin_mm"] - at["front_mm"],
        rows_mm=at["rear_pin_mm"] - at["front_pin_mm"],
        back_mm=at["rear_mm"] - at["rear_pin_mm"],
        front_height_mm=height["front_mm"],
        bridge_front_mm=height["front_pin_mm"],
        bridge_rear_mm=height["rear_pin_mm"],
        rear_height_mm=height["rear_mm"],
        cap_mm=np.full(n, 10.0),
        measured=np.full(n, True),
    )
    return line, plan


def expected(across):
    """Front and rear bearing in degrees of a string so far across: rows and heights of the closed form there."""
    places = [place + shift * across for place, shift, _, _ in ROWS.values()]
    levels = [level + rise * across for _, _, level, rise in ROWS.values()]
    slopes = np.degrees(np.arctan(np.diff(levels, axis=0) / np.diff(places, axis=0)))
    return slopes[0] - slopes[1], slopes[1] - slopes[2]


@pytest.mark.parametrize("towards", [1.0, -1.0])
def test_each_side_is_the_string_that_straight_rows_put_there(towards):
    line, plan = instrument(towards=towards)
    spread = np.array([9.0, 9.0, np.nan, 6.0, 11.0])
    outer = outer_strings(line, plan, spread)
    middle = towards * PITCH * np.arange(5)
    for side, sign in ((outer.left, -1.0), (outer.right, 1.0)):
        front, rear = expected(middle + towards * sign * spread / 2.0)
        np.testing.assert_allclose(side.front_deg, front, atol=1e-9)
        np.testing.assert_allclose(side.rear_deg, rear, atol=1e-9)
    assert np.isnan(outer.left.net_deg[2])
    assert abs(outer.right.net_deg[0] - outer.left.net_deg[0]) > 0.02


def test_pins_follow_their_bridge_and_rests_their_section():
    """A step of the tops between two bridges, and of the plate between two sections, is not felt within a unison."""
    line, plan = instrument(n=6, bridge=["bass"] * 2 + ["long"] * 4, section=["a"] * 4 + ["b"] * 2)
    spread = np.full(6, 9.0)
    tops, plate = np.repeat([0.0, 3.0], [2, 4]), np.repeat([0.0, 2.0], [4, 2])
    stepped = StringLine(
        **{
            **vars(line),
            "bridge_front_mm": line.bridge_front_mm + tops,
            "front_height_mm": line.front_height_mm + plate,
        }
    )
    flat, shifted = outer_strings(line, plan, spread), outer_strings(stepped, plan, spread)
    for before, after in ((flat.left, shifted.left), (flat.right, shifted.right)):
        turned = np.degrees(after.speaking_rad - before.speaking_rad)
        rise = np.degrees((tops - plate) / line.speaking_mm)
        np.testing.assert_allclose(turned, rise, rtol=0.02)


def test_what_cannot_be_told_is_not_told():
    line, plan = instrument(bridge=["bass", "long", "long", "long", "long"])
    spread = np.array([9.0, 9.0, 2.2 * PITCH, 0.0, 9.0])
    outer = outer_strings(line, plan, spread)
    assert np.isnan(outer.left.net_deg).tolist() == [True, False, True, True, False]
    assert np.isnan(outer.right.net_deg).tolist() == [True, False, True, True, False]
