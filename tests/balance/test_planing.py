"""The planing schedule. Kind of every expected number: invariant (planing, then measuring, gives what was wanted)."""

from dataclasses import replace

import invented
import numpy as np
import pytest

from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink, SinkSource
from bellywork.board import MeasuredSink, PlaningRules, State, Strut, Target, TargetKind
from bellywork.errors import BoardError
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, sunk, topped

LINE = invented.line()
PULL = pull_N(invented.scale(), LINE)
PRELOAD = 0.9 + 0.6 * np.sin(np.linspace(0.0, 6.0, 176))


def predicted(seed=1, preload=PRELOAD):
    return PredictedSink(
        pull_N=PULL,
        response=invented.response(seed),
        preload_mm=preload,
        assumptions=("made up",),
    )


def test_a_rigid_board_loses_what_stands_over_the_target():
    table = plane(invented.board(strings=invented.line(over_mm=1.25)), sink=SinkSource.NONE)
    np.testing.assert_allclose(table.plane_front_mm, 1.25, atol=1e-9)
    np.testing.assert_allclose(table.plane_rear_mm, 1.25, atol=1e-9)
    np.testing.assert_allclose(table.kerf_mm, 1.25, atol=1e-9)


def test_sink_by_hand_is_left_on_the_bridge():
    sinks = (MeasuredSink(note=5, strung_mm=0.5), MeasuredSink(note=50, strung_mm=0.8))
    table = plane(invented.board(strings=invented.line(over_mm=2.0), sinks=sinks, body=None))
    np.testing.assert_allclose(table.plane_front_mm[:26], 1.5, atol=1e-9)
    np.testing.assert_allclose(table.plane_rear_mm[26:], 1.2, atol=1e-9)
    np.testing.assert_allclose(table.planed.net_deg, 1.0, atol=1e-9)


def test_sink_for_the_finished_scale_is_reckoned_from_the_targets_forces():
    table = plane(invented.board(), sink=predicted())
    np.testing.assert_allclose(table.planed.net_deg, 1.0, atol=1e-6)
    np.testing.assert_allclose(table.planed.front_deg, 0.5, atol=1e-6)
    np.testing.assert_allclose(
        table.planed.height_bare_mm - table.planed.height_strung_mm, table.planed.sink_mm, atol=1e-7
    )


@pytest.mark.parametrize("measured_in", list(State))
def test_the_depth_does_not_hang_on_the_state_it_was_measured_in(measured_in):
    sink = predicted()
    seen = replace(invented.board(), strings=sink.moved(LINE, measured_in), measured_in=measured_in)
    table = plane(seen, sink=sink)
    expected = plane(invented.board(), sink=sink)
    np.testing.assert_allclose(table.plane_front_mm, expected.plane_front_mm, atol=1e-6)
    np.testing.assert_allclose(table.plane_rear_mm, expected.plane_rear_mm, atol=1e-6)


@pytest.mark.parametrize("working", [State.BARE, State.PRELOADED])
def test_thread_and_block_lead_to_the_wanted_height_in_the_working_state(working):
    sink = predicted()
    table = plane(invented.board(), sink=sink, working=working)
    now, at = sink.moved(LINE, working), table.kerf_at
    present = (1.0 - at) * now.bridge_front_mm + at * now.bridge_rear_mm
    goal = sunk(now, table.plane_front_mm, table.plane_rear_mm)
    wanted = (1.0 - at) * goal.bridge_front_mm + at * goal.bridge_rear_mm
    np.testing.assert_allclose(present - table.kerf_mm, wanted, atol=1e-9)
    run = now.speaking_mm + now.rows_mm + now.back_mm
    slope = (now.rear_height_mm + table.block_mm - now.front_height_mm) / run
    thread = now.front_height_mm + slope * (now.speaking_mm + at * now.rows_mm)
    np.testing.assert_allclose(thread, wanted, atol=1e-9)
    np.testing.assert_allclose(np.tan(np.radians(bearing(goal).net_deg)) * now.back_mm, table.block_mm, rtol=0.01)


def test_the_block_for_the_preloaded_board_is_smaller_than_for_the_bare_one():
    bare = plane(invented.board(), sink=predicted())
    loaded = plane(invented.board(), sink=predicted(), working=State.PRELOADED)
    assert bare.working is State.BARE
    assert np.all(loaded.block_mm < bare.block_mm)
    np.testing.assert_allclose(loaded.plane_front_mm, bare.plane_front_mm, atol=1e-9)


def test_nobody_planes_under_the_strings():
    with pytest.raises(
        BoardError, match=r"^A bridge is planed on the bare or the preloaded board, not under its strings\.$"
    ):
        plane(invented.board(), sink=predicted(), working=State.STRUNG)


def uneven():
    up = 1.5 + np.random.default_rng(2).normal(0.0, 0.3, 88)
    targets = tuple(
        Target(kind=TargetKind.NET_DEG, value=value, section=section)
        for section, value in (("bass", 0.6), ("tenor", 1.0), ("middle", 1.1), ("treble", 1.3), ("top", 1.6))
    )
    return replace(invented.board(), strings=sunk(LINE, -up, -up), targets=targets)


def test_the_faired_line_keeps_its_tolerances():
    board = uneven()
    table = plane(board, sink=predicted())
    off = np.abs(np.array([table.faired_front_mm - table.plane_front_mm, table.faired_rear_mm - table.plane_rear_mm]))
    assert off.max() <= board.rules.fair_tolerance_mm + 1e-9
    own = off * bearing(LINE).degrees_per_mm
    assert own.max() <= board.rules.bearing_tolerance_deg + 1e-9
    assert np.abs(table.fairing_cost_deg).max() > 0.01
    np.testing.assert_allclose(table.planed.net_deg + table.fairing_cost_deg, table.faired.net_deg, atol=1e-12)


def test_the_faired_top_bends_less_than_the_exact_one():
    board = uneven()
    now = board.strings
    table = plane(board, sink=predicted())
    long = np.array(now.bridge) == "long"
    exact, fair = (
        np.diff((now.bridge_rear_mm - depth)[long], 2) for depth in (table.plane_rear_mm, table.faired_rear_mm)
    )
    assert np.sum(fair**2) < 0.5 * np.sum(exact**2)


def test_wood_cannot_be_added_and_the_cure_is_named():
    low = topped(
        LINE,
        LINE.bridge_front_mm - np.where(LINE.note > 80, 1.6, 0.0),
        LINE.bridge_rear_mm - np.where(LINE.note > 80, 1.6, 0.0),
    )
    table = plane(invented.board(strings=low), sink=predicted())
    assert table.planed.note[table.short].tolist() == list(range(81, 89))
    (cure,) = table.cures
    worst = cure.worst_note - 1
    assert cure.short_mm == -min(table.plane_front_mm[worst], table.plane_rear_mm[worst])
    assert cure.cap_mm == pytest.approx(14.0 + cure.short_mm)
    assert cure.reachable_deg == table.planed.net_deg[worst]
    assert cure.reachable_deg < 1.0
    assert str(cure) == (
        f"notes 81 to 88 (F7 to C8): {cure.short_mm:.2f} mm short. A cap thicker by {cure.short_mm:.2f} mm "
        f"({cure.cap_mm:.1f} mm in all), or the plate lower by {cure.short_mm:.2f} mm, or a target of "
        f"{cure.reachable_deg:.2f}° there."
    )


def test_each_cure_cures():
    low = sunk(LINE, np.full(88, 1.2), np.full(88, 1.2))
    table = plane(invented.board(strings=low), sink=predicted())
    deepest = max(cure.short_mm for cure in table.cures)
    capped = plane(invented.board(strings=sunk(low, np.full(88, -deepest), np.full(88, -deepest))), sink=predicted())
    lowered = replace(low, front_height_mm=low.front_height_mm - deepest, rear_height_mm=low.rear_height_mm - deepest)
    for cured in (capped, plane(invented.board(strings=lowered), sink=predicted())):
        assert not cured.short.any()
        assert min(cured.plane_front_mm.min(), cured.plane_rear_mm.min()) == pytest.approx(0.0, abs=1e-6)


def test_what_is_left_of_the_cap():
    rules = PlaningRules(cap_least_mm=11.0, notch_mm=2.0)
    table = plane(invented.board(strings=invented.line(over_mm=1.25), rules=rules), sink=SinkSource.NONE)
    deepest = np.max([table.plane_front_mm, table.plane_rear_mm, table.faired_front_mm, table.faired_rear_mm], axis=0)
    np.testing.assert_allclose(table.cap_left_mm, 14.0 - deepest - 2.0, atol=1e-9)
    np.testing.assert_allclose(table.cap_left_mm, 10.75, atol=0.02)
    assert [finding.code for finding in table.findings] == ["cap-too-thin"] * 5


def test_a_strut_over_the_planed_bridge_keeps_its_clearance():
    plan = invented.plan()
    across = Strut(
        name="first",
        start_mm=(plan.front_pin_mm[42] + plan.front_pin_mm[43]) / 2.0 - [0.0, 50.0],
        end_mm=(plan.rear_pin_mm[42] + plan.rear_pin_mm[43]) / 2.0 + [0.0, 50.0],
        width_mm=8.0,
        underside_mm=66.0,
        clearance_mm=5.0,
    )
    board = invented.board()
    board = replace(board, plate=replace(board.plate, struts=(across,)))
    table = plane(board, sink=SinkSource.NONE)
    (clearance,) = table.struts
    tops = [
        max(LINE.bridge_front_mm[i] - table.faired_front_mm[i], LINE.bridge_rear_mm[i] - table.faired_rear_mm[i])
        for i in (42, 43)
    ]
    assert clearance.notes == (43, 44)
    assert 66.0 - max(tops) <= clearance.clearance_mm + 1e-9 <= 66.0 - min(tops) + 0.2
    assert clearance.enough == (clearance.clearance_mm >= 5.0)


def test_assumptions_stand_once_each():
    said = plane(invented.board(), sink=predicted()).assumptions
    assert len(set(said)) == len(said)
    assert said[0] == "made up"
