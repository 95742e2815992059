"""What planing must keep whatever the board. Kind of every check: invariant."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "balance"))
import invented

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink
from bellywork.board import Plate, State, Strut, Target, TargetKind
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import plate_moved, sunk
from bellywork.mechanics.response import Response

LINE = invented.line()
PULL = pull_N(invented.scale(), LINE)
TARGETS = (
    Target(kind=TargetKind.NET_DEG, value=0.5, section="bass", front_share=0.6),
    Target(kind=TargetKind.BLOCK_MM, value=1.9, section="tenor"),
    Target(kind=TargetKind.DEFLECTION_MM, value=1.0, section="middle"),
    Target(kind=TargetKind.FORCE_N, value=45.0, section="treble"),
    Target(kind=TargetKind.NET_DEG, value=1.2, note=73),
    Target(kind=TargetKind.NET_DEG, value=1.8, note=88, front_share=0.7),
)


def sink(seed=0, compliance=None):
    return PredictedSink(
        pull_N=PULL,
        response=Response(small_mm_N=invented.compliance(seed) if compliance is None else compliance),
        assumptions=(),
    )


def random_spd(seed):
    """Any symmetric positive definite compliance, not a board's: columns at random, up to some 1e-3 mm/N."""
    columns = np.random.default_rng(seed).normal(size=(176, 200))
    return columns @ columns.T / 200.0 * 1e-3


def schedule(**parts):
    return plane(invented.board(**{"targets": TARGETS, **parts}), sink=sink())


def same(one, other, atol=1e-9):
    for name in ("plane_front_mm", "plane_rear_mm", "faired_front_mm", "block_mm", "kerf_mm", "cap_left_mm"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), atol=atol, err_msg=name)
    np.testing.assert_allclose(one.planed.net_deg, other.planed.net_deg, atol=1e-8)


@pytest.mark.parametrize("compliance", [invented.compliance(3), random_spd(1), random_spd(2)])
def test_planing_by_the_schedule_and_stringing_meets_every_target(compliance):
    board = invented.board(targets=TARGETS, strings=invented.line(over_mm=4.0))
    table = plane(board, sink=sink(compliance=compliance))
    assert not table.short.any()
    after = replace(board, strings=sunk(board.strings, table.plane_front_mm, table.plane_rear_mm))
    strung = bearing(after, state=State.STRUNG, sink=sink(compliance=compliance))
    assert np.max(np.abs(strung.deviation_deg)) < 0.01
    assert np.max(np.abs(strung.deviation_deg)) < 1e-6
    share = strung.front_deg / strung.net_deg
    np.testing.assert_allclose(share[:26], 0.6, atol=1e-5)


def test_planing_twice_leaves_nothing_to_plane():
    board = invented.board(targets=TARGETS, strings=invented.line(over_mm=4.0))
    table = plane(board, sink=sink())
    after = replace(board, strings=sunk(board.strings, table.plane_front_mm, table.plane_rear_mm))
    again = plane(after, sink=sink())
    np.testing.assert_allclose(again.plane_front_mm, 0.0, atol=1e-9)
    assert np.all(np.abs(again.kerf_mm) <= board.rules.fair_tolerance_mm + 1e-9)  # it marks the fair line


def test_cutting_by_the_schedule_and_measuring_again_finds_no_wood_short():
    board = invented.board(targets=TARGETS, strings=invented.line(over_mm=4.0))
    table = plane(board, sink=sink())
    cut = [np.round(np.maximum(depth, 0.0), 2) for depth in (table.faired_front_mm, table.faired_rear_mm)]
    again = plane(replace(board, strings=sunk(board.strings, *cut)), sink=sink())
    assert not again.short.any()


def test_moving_plate_and_board_together_changes_nothing():
    up = np.full(88, 217.3)
    same(schedule(), schedule(strings=sunk(plate_moved(LINE, up, up), -up, -up)), atol=1e-8)


def test_a_shifted_plan_changes_nothing():
    plan, away = invented.plan(), np.array([311.0, -97.0])
    strut = Strut(
        name="s", start_mm=(600.0, 0.0), end_mm=(700.0, 1500.0), width_mm=30.0, underside_mm=75.0, clearance_mm=5.0
    )
    shifted = replace(
        plan, **{name: getattr(plan, name) + away for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm")}
    )
    moved = replace(strut, start_mm=strut.start_mm + away, end_mm=strut.end_mm + away)
    one, other = schedule(plate=Plate(struts=(strut,))), schedule(plan=shifted, plate=Plate(struts=(moved,)))
    same(one, other)
    assert [each.notes for each in one.struts] == [each.notes for each in other.struts]
    np.testing.assert_allclose(
        [each.clearance_mm for each in one.struts], [each.clearance_mm for each in other.struts], atol=1e-8
    )


def test_a_plan_seen_in_a_mirror_changes_nothing():
    plan = invented.plan()
    mirrored = replace(
        plan,
        **{name: getattr(plan, name) * [-1.0, 1.0] for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm")},
    )
    same(schedule(), schedule(plan=mirrored))


def test_the_plate_set_first_does_not_hang_on_the_origin_of_the_plan():
    plan, away = invented.plan(), np.array([311.0, -97.0])
    shifted = replace(
        plan, **{name: getattr(plan, name) + away for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm")}
    )
    one, other = (
        plane(invented.board(targets=TARGETS, plan=each), sink=sink(), plate_first=True) for each in (plan, shifted)
    )
    np.testing.assert_allclose(one.plate.mean_depth_mm, other.plate.mean_depth_mm, atol=1e-6)
    np.testing.assert_allclose(one.plane_front_mm, other.plane_front_mm, atol=1e-4)
