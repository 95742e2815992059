"""Pitch from the bridge's movement alone."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Scale, StringLine
from bellywork.board.wires import steel_E_MPa
from bellywork.files.read import read_board
from bellywork.geometry.one_string import one_string
from bellywork.geometry.scale import tension_N
from bellywork.geometry.string_line import sunk
from bellywork.mechanics.energy import FIELDS, VALUE, U, V, at
from bellywork.seasons.along import bridge_height_mm
from bellywork.seasons.pitch import held_along_mm, pitch_change
from bellywork.seasons.year import Year, season

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"

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


def test_strings_hold_a_bridge_by_their_own_stretch() -> None:
    """Closed form, note 53 with three strings of 0.92 mm, 326 mm in front and 90 mm behind: k = 3 · E A / L, E = 206
    GPa; the bridge would move by 0.05 mm and gives 1 µm/N: with C k of 1.26 and 4.56 it moves by
    (0.05 − C k_f r_f + C k_b r_b) / (1 + C k_f + C k_b), r the stretch of each length by the rise.
    """
    scale, _, line = strung(53)
    three = replace(scale, unisons=np.array([3]))
    risen = sunk(line, np.array([-0.2]), np.array([-0.2]))
    modulus = steel_E_MPa()
    assert modulus == pytest.approx(206e3, rel=0.03)
    given, stretch = [], []
    for length in (326.0, 90.0):
        high = length * np.tan(np.radians(0.5))
        given.append(1e-3 * 3.0 * modulus * np.pi / 4.0 * 0.92**2 / np.hypot(length, high))
        stretch.append(np.hypot(length, high + 0.2) - np.hypot(length, high))
    held = held_along_mm(np.array([0.05]), np.array([[1e-3]]), three, before=line, after=risen)
    moved = (0.05 - given[0] * stretch[0] + given[1] * stretch[1]) / (1.0 + given[0] + given[1])
    assert float(held[0]) == pytest.approx(moved, rel=1e-9)
    assert 0.007 < float(held[0]) < 0.011
    loose = held_along_mm(np.array([0.05]), np.zeros((1, 1)), three, before=line, after=risen)
    assert float(loose[0]) == 0.05


@cache
def year() -> Year:
    return Year.of(read_board(LOPSIDED).board)


def test_the_panels_movement_along_a_way_is_that_of_its_two_directions() -> None:
    """Invariant: a panel moved as a whole by 3 and −2 mm in the grid's frame moves along a way by its share of that."""
    discrete = year().ready.belly.board.discrete
    fields = np.zeros((FIELDS, discrete.space.nodes))
    grid = discrete.grid.shape[0] * discrete.grid.shape[1]
    fields[U, :grid], fields[V, :grid] = 3.0, -2.0
    points = year().ready.board.plan.middle_mm[[0, 5, 11]]
    angles = np.radians([0.0, 50.0, 200.0])
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    moved = discrete.along(points, ways) @ fields.ravel()
    np.testing.assert_allclose(moved, ways @ discrete.frame.outside(np.array([3.0, -2.0])), atol=1e-12)


def test_a_season_moves_the_bridge_as_panel_and_tipping_do() -> None:
    """Another path: the panel's own values under the pins, and the slope of the bridge top from the heights that the
    season tells, which follow the panel between the pins and not the bridge's own roll: 0.015 of 0.08 mm.
    """
    here, there = year().shift(42.0), year().shift(60.0)
    rows = year().strung(here), year().strung(there)
    before, after = (row.line for row in rows)
    discrete, plan = year().ready.belly.board.discrete, year().ready.board.plan
    moved = []
    for row, moisture in zip(rows, (year().moisture(42.0), year().moisture(60.0))):
        state = year().ready.loaded_state(plan.pins_mm, row.pin_force_N, moisture_percent=moisture)
        moved.append(discrete.interpolated(state.fields, plan.middle_mm)[:, [at(U, VALUE), at(V, VALUE)]])
    way = plan.rear_mm - plan.front_mm
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    in_plane = np.sum(discrete.frame.outside(moved[1] - moved[0]) * way, axis=1)
    change = [getattr(after, row) - getattr(before, row) for row in ("bridge_front_mm", "bridge_rear_mm")]
    tipped = -bridge_height_mm(year().ready) * (change[1] - change[0]) / before.rows_mm
    told = year()._along_mm(rows[1], year().moisture(60.0)) - year()._along_mm(rows[0], year().moisture(42.0))
    np.testing.assert_allclose(told, in_plane + tipped, atol=0.015)
    assert np.abs(in_plane).max() > 0.02
    assert np.abs(tipped).max() > 0.02


def test_a_season_tells_no_pitch_at_the_measurement_and_less_than_the_bridge_alone_would() -> None:
    told = season(year().ready, rh_percent=(42.0, 60.0))
    np.testing.assert_allclose(told.held_cents[0], 0.0, atol=1e-9)
    np.testing.assert_allclose(told.slipping_cents[0], 0.0, atol=1e-9)
    free = year()._along_mm(year().strung(year().shift(60.0)), year().moisture(60.0)) - year()._along_mm(
        year().strung(year().measured()), year().moisture(42.0)
    )
    assert np.sqrt(np.mean(told.along_mm[1] ** 2)) < 0.8 * np.sqrt(np.mean(free**2))
    assert np.all(told.slipping_cents[1] > 0.0)  # damp: the bridge rises
    line, scale = year().line, year().ready.board.scale
    rise = pitch_change(
        scale, tension_N(scale, line), before=year().strung(year().measured()).line,
        after=year().strung(year().strung_shift(60.0, year().measured())).line, along_mm=told.along_mm[1],
    )  # fmt: skip
    np.testing.assert_allclose(told.held_cents[1], rise.held_cents)


def test_where_a_bridge_stands_under_its_strings() -> None:
    """Worked out by hand: at its own points the sizes are those given, cap 10.10 mm at note 40 as notes.csv has it."""
    body, middle = year().ready.board.body, year().ready.board.plan.middle_mm
    bridge = body.bridges[0]
    np.testing.assert_allclose(bridge.nearest_mm(bridge.line_mm), bridge.knots_mm, atol=0.5)
    height = bridge_height_mm(year().ready)
    _, root, cap, _ = bridge.sizes_at(bridge.nearest_mm(middle[:1]))
    assert cap[0] == pytest.approx(10.10, abs=0.15)
    assert height[0] == pytest.approx(root[0] + cap[0] + 8.0 / 2.0, abs=1.0)  # a panel of 7.5 to 9.9 mm


def test_pitch_is_told_against_the_measurement_at_any_temperature() -> None:
    """Invariant: another temperature at the same humidity is another moisture; against the measurement's it tells."""
    warm = season(year().ready, rh_percent=(42.0,), temperature_C=45.0)
    assert abs(warm.moisture_percent[0] - year().ready.moisture_percent) > 0.3
    assert np.abs(warm.held_cents).max() > 0.1
