"""The plate set first. Kind of every expected number: invariant; the optimum against a search over a grid."""

from dataclasses import replace

import invented
import numpy as np
import pytest

from bellywork.answers.plane_answer import setting_words
from bellywork.balance.planing import plane
from bellywork.balance.plate_setting import given_plate, set_plate
from bellywork.balance.sink import PredictedSink, SinkSource
from bellywork.board import PlaningRules, Plate, PlateSupport
from bellywork.board.plate import PlateMove
from bellywork.errors import MissingLayer, SolveError
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, sunk
from bellywork.measures import METRIC


def supports(most=4.0):
    places = {"front left": (0.0, 0.0), "front right": (1400.0, 0.0), "tail": (500.0, 1700.0)}
    return tuple(
        PlateSupport(name=name, place_mm=place, height_mm=30.0, lowest_move_mm=-most, highest_move_mm=most)
        for name, place in places.items()
    )


def slanted(up=1.0, tilt_x=0.0008, tilt_y=-0.0005, over=0.0, **parts):
    """A board whose plate stands too low by a plane: `over` mm of wood stays when it is set right."""
    plan, line = invented.plan(), invented.line(over_mm=over)
    down_front = up + plan.front_mm @ [tilt_x, tilt_y]
    down_rear = up + plan.rear_mm @ [tilt_x, tilt_y]
    low = replace(
        line, front_height_mm=line.front_height_mm - down_front, rear_height_mm=line.rear_height_mm - down_rear
    )
    return invented.board(**{"strings": low, "plate": Plate(supports=supports()), **parts})


def set_rigid(board):
    return set_plate(board, board.strings, invented.rigid())


def test_a_plate_set_wrong_by_a_plane_is_set_right():
    setting = set_rigid(slanted())
    assert setting.up_mm == pytest.approx(1.0, abs=1e-4)
    assert setting.tilt_x_mm_per_m == pytest.approx(0.8, abs=1e-4)
    assert setting.tilt_y_mm_per_m == pytest.approx(-0.5, abs=1e-4)
    assert setting.mean_depth_mm == pytest.approx(0.0, abs=1e-4)
    assert setting.mean_depth_before_mm > 0.8
    places = np.array([support.place_mm for support in supports()])
    np.testing.assert_allclose(setting.move_mm, 1.0 + places @ [0.0008, -0.0005], atol=1e-3)
    assert setting.short_mm == 0.0


def test_a_search_over_a_grid_finds_nothing_better():
    rough = 1.0 + np.random.default_rng(4).uniform(0.0, 0.8, 88)
    board = slanted()
    board = replace(board, strings=sunk(board.strings, -rough, -rough))
    setting = set_rigid(board)
    before = plane(board, sink=invented.rigid())
    present = np.concatenate([before.plane_front_mm, before.plane_rear_mm])
    lowest = np.inf
    for up in np.arange(-1.0, 5.0, 0.1):
        for tilt in np.stack(np.meshgrid(np.arange(-2.0, 2.01, 0.25), np.arange(-2.0, 2.01, 0.25)), -1).reshape(-1, 2):
            moved = [up + support.place_mm @ tilt / 1000.0 for support in supports()]
            depth = present - lifted_tops(board, up, tilt / 1000.0)
            if np.max(np.abs(moved)) <= 4.0 and depth.min() >= 0.0:
                lowest = min(lowest, depth.mean())
    assert setting.mean_depth_mm <= lowest
    assert setting.mean_depth_mm >= lowest - 0.25  # the grid's own coarseness


def lifted_tops(board, up, tilt):
    """How far the wanted bridge top rises with the plate: with the straight line from F to R."""
    line = board.strings
    front, rear = (up + place @ tilt for place in (board.plan.front_mm, board.plan.rear_mm))
    run = line.speaking_mm + line.rows_mm + line.back_mm
    reaches = line.speaking_mm, line.speaking_mm + line.rows_mm
    return np.concatenate([front + (rear - front) * reach / run for reach in reaches])


def test_limits_of_the_supports_hold_and_the_rest_is_named():
    board = slanted(up=4.0, tilt_x=0.0, tilt_y=0.0)
    board = replace(board, strings=sunk(board.strings, np.full(88, 7.0), np.full(88, 7.0)))
    board = replace(board, plate=Plate(supports=supports(most=1.0)))
    setting = set_rigid(board)
    assert np.all(np.abs(setting.move_mm) <= 1.0 + 1e-6)
    assert setting.short_mm == pytest.approx(2.0, abs=1e-3)
    assert setting.binding
    assert setting.short_mm == pytest.approx(2.0)
    assert setting_words(setting, METRIC).startswith(
        "No setting lets every note be planed to target: 2.00 mm is lacking at "
    )


def test_the_least_short_compromise_cannot_be_bettered_by_height():
    board = slanted(up=4.0, tilt_x=0.0, tilt_y=0.0)
    dent = np.where((np.arange(88) > 60) & (np.arange(88) < 66), 9.0, 0.0)
    rules = PlaningRules(cap_least_mm=8.0, notch_mm=2.0)
    board = replace(board, strings=sunk(board.strings, dent, dent), rules=rules)
    short = set_rigid(board).short_mm
    assert short > 0.0
    table = plane(board, sink=invented.rigid(), plate_first=True)
    lacking = max(-table.plane_front_mm.min(), -table.plane_rear_mm.min())
    cap_lacking = (8.0 - (14.0 - np.maximum(table.plane_front_mm, table.plane_rear_mm) - 2.0)).max()
    assert max(lacking, cap_lacking) == pytest.approx(short, abs=1e-4)


def test_without_the_plan_the_plate_goes_up_and_down_only():
    board = replace(slanted(tilt_x=0.0, tilt_y=0.0), plan=None)
    setting = set_rigid(board)
    assert setting.up_mm == pytest.approx(1.0, abs=1e-6)
    np.testing.assert_allclose(setting.move_mm, 1.0, atol=1e-6)
    said = plane(replace(board, plate=Plate()), sink=invented.rigid(), plate_first=True).assumptions
    assert "No supports of the plate are described, so nothing limits how it is set." in said
    assert "Without the strings' plan the plate is moved up and down only, not tilted." in said


def test_the_sink_goes_with_it():
    board = slanted(over=1.0)
    sink = PredictedSink(
        pull_N=pull_N(board.scale, board.strings),
        response=invented.response(),
        assumptions=(),
    )
    table = plane(board, sink=sink, plate_first=True)
    assert not table.short.any()
    np.testing.assert_allclose(table.planed.net_deg, 1.0, atol=1e-6)
    assert np.mean(table.plane_front_mm) < np.mean(plane(board, sink=sink).plane_front_mm)
    assert table.plate.binding


def test_supports_that_contradict_each_other_leave_no_setting():
    board = slanted()
    stuck = tuple(
        replace(support, lowest_move_mm=1.0 + i, highest_move_mm=1.0 + i) for i, support in enumerate(supports())
    )
    stuck += (replace(stuck[0], lowest_move_mm=0.0, highest_move_mm=0.5),)
    with pytest.raises(SolveError, match=r"^The supports leave no setting of the plate: "):
        set_rigid(replace(board, plate=Plate(supports=stuck)))


def test_the_bearing_is_told_before_and_with_the_plate_set():
    board = slanted(over=1.0)
    table = plane(board, sink=invented.rigid(), plate_first=True)
    np.testing.assert_allclose(table.now.net_deg, bearing(board.strings).net_deg, atol=1e-12)
    np.testing.assert_allclose(table.set_up.net_deg, bearing(table.plate.line).net_deg, atol=1e-12)
    assert np.abs(table.set_up.net_deg - table.now.net_deg).max() > 0.5
    left = plane(board, sink=invented.rigid())
    assert left.now is left.set_up


def test_a_setting_that_leaves_more_notes_short_is_refused():
    """One note stands 3 mm high over too thin a cap: the least worst shortage lifts the plate away from all others."""
    line, at = invented.line(over_mm=0.15), np.arange(88) == 49
    board = invented.board(
        strings=sunk(line, np.where(at, -3.0, 0.0), np.where(at, -3.0, 0.0)),
        plate=Plate(supports=supports(most=2.0)),
        rules=PlaningRules(cap_least_mm=11.0, notch_mm=2.0),
    )
    setting = set_rigid(board)
    table = plane(board, sink=invented.rigid(), plate_first=True)
    kept = plane(board, sink=invented.rigid())
    moved = plane(replace(board, strings=setting.line), sink=invented.rigid())
    assert moved.short.sum() > kept.short.sum() == 0
    assert table.plate is None
    np.testing.assert_array_equal(table.plane_front_mm, kept.plane_front_mm)
    assert table.findings[0].code == "plate-not-set"
    assert str(table.findings[0]) == (
        f"supports.csv: found a best setting of the plate that would leave {moved.short.sum()} notes short of wood, "
        "where 0 are now, expected a setting with no more short notes than the plate has as it stands. The plate was "
        "left as it is: widen the supports' limits, or see to the short notes first."
    )


def test_a_setting_given_by_hand_is_the_one_that_was_sought() -> None:
    """The least wood's own move, given back, makes the same schedule: two ways to one answer."""
    rough = 1.0 + np.random.default_rng(4).uniform(0.0, 0.8, 88)
    board = slanted()
    board = replace(board, strings=sunk(board.strings, -rough, -rough))
    sought = set_rigid(board)
    move = PlateMove(up_mm=sought.up_mm, tilt_x_mm_per_m=sought.tilt_x_mm_per_m, tilt_y_mm_per_m=sought.tilt_y_mm_per_m)
    given = given_plate(board, board.strings, invented.rigid(), move)
    np.testing.assert_allclose(given.move_mm, sought.move_mm, atol=1e-9)
    assert given.mean_depth_mm == pytest.approx(sought.mean_depth_mm)
    assert given.mean_depth_before_mm == pytest.approx(sought.mean_depth_before_mm)
    assert given.by_hand
    first, second = (plane(board, sink=invented.rigid(), **how) for how in ({"plate_first": True}, {"plate": move}))
    np.testing.assert_allclose(second.faired_front_mm, first.faired_front_mm, atol=1e-6)
    np.testing.assert_allclose(second.set_up.net_deg, first.set_up.net_deg, atol=1e-9)


def test_a_setting_by_hand_tells_what_it_lacks_and_where_it_cannot_go() -> None:
    """A right plate lowered by a quarter of a millimetre beyond its 2 mm: every note then wants 2.25 mm of wood off,
    a cap of 14 with 13 to keep has 1. Kind: hand values."""
    board = invented.board(
        strings=invented.line(over_mm=0.0),
        plate=Plate(supports=supports(most=2.0)),
        rules=PlaningRules(cap_least_mm=11.0, notch_mm=2.0),
    )
    low = plane(board, sink=invented.rigid(), plate=PlateMove(up_mm=-2.25))
    assert low.plate.short_mm == pytest.approx(1.25, abs=1e-6)
    assert low.findings[0].code == "plate-too-far"
    assert "front left, front right, tail" in str(low.findings[0])
    words = setting_words(low.plate, METRIC)
    assert words.startswith(f"Set as it was told: {low.plate.short_mm:.2f} mm is lacking at ")
    high = plane(board, sink=invented.rigid(), plate=PlateMove(up_mm=0.5))
    assert high.plate.short_mm == pytest.approx(0.5, abs=1e-6)
    assert not [each for each in high.findings if each.code == "plate-too-far"]


def test_a_plate_cannot_be_set_for_planing_where_no_depth_is_known() -> None:
    """Without a sink the block is all that can be told; a setting would be passed over in silence."""
    board = replace(invented.board(), sinks=())
    for how in ({"plate_first": True}, {"plate": PlateMove(up_mm=1.0)}):
        with pytest.raises(MissingLayer, match=r"^Setting the plate for planing needs the depth to cut"):
            plane(board, sink=SinkSource.NONE, **how)
