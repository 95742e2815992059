"""The planing schedule. Kind of every expected number: invariant (planing, then measuring, gives what was wanted)."""

from dataclasses import replace

import invented
import numpy as np
import pytest

from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink
from bellywork.board import MeasuredSink, PlaningRules, Plate, PlateSupport, State, Strut, Target, TargetKind
from bellywork.errors import BoardError, MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, sunk, topped
from bellywork.mechanics.response import Response

LINE = invented.line()
PULL = pull_N(invented.scale(), LINE)
PRELOAD = 0.9 + 0.6 * np.sin(np.linspace(0.0, 6.0, 176))


def predicted(seed=1, preload=PRELOAD):
    return PredictedSink(
        pull_N=PULL,
        response=invented.response(seed),
        preload=None if preload is None else lambda: preload,
        assumptions=("made up",),
        on=LINE.note <= 44,
    )


def test_a_rigid_board_loses_what_stands_over_the_target():
    table = plane(invented.board(strings=invented.line(over_mm=1.25)), sink=invented.rigid())
    np.testing.assert_allclose(table.plane_front_mm, 1.25, atol=1e-9)
    np.testing.assert_allclose(table.plane_rear_mm, 1.25, atol=1e-9)
    np.testing.assert_allclose(table.kerf_mm, 1.25, atol=0.02)  # it marks the faired depth


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
    goal = sunk(now, table.faired_front_mm, table.faired_rear_mm)
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


def test_the_narrower_of_two_tolerances_holds():
    """A cut good to two hundredths of a mm is not given away to a bearing that would allow more, nor the other way."""
    for rules in (PlaningRules(fair_tolerance_mm=0.02), PlaningRules(bearing_tolerance_deg=0.01)):
        table = plane(replace(uneven(), rules=rules), sink=predicted())
        off = np.abs([table.faired_front_mm - table.plane_front_mm, table.faired_rear_mm - table.plane_rear_mm])
        assert off.max() <= rules.fair_tolerance_mm + 1e-9
        assert np.abs(table.fairing_cost_deg).max() <= rules.bearing_tolerance_deg + 1e-9
        assert off.max() > 0.001


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
    assert table.faired.net_deg[worst] < 0.0
    assert np.isnan(cure.reachable_deg)  # no bearing to aim at


def test_what_a_short_note_gets_is_named_where_it_is_a_bearing():
    low = sunk(LINE, np.full(88, 0.9), np.full(88, 0.9))
    table = plane(invented.board(strings=low), sink=predicted())
    for cure in table.cures:
        assert cure.reachable_deg == table.faired.net_deg[cure.worst_note - 1] > 0.0


def test_each_cure_cures():
    low = sunk(LINE, np.full(88, 1.2), np.full(88, 1.2))
    table = plane(invented.board(strings=low), sink=predicted())
    deepest = max(cure.short_mm for cure in table.cures)
    capped = plane(invented.board(strings=sunk(low, np.full(88, -deepest), np.full(88, -deepest))), sink=predicted())
    lowered = replace(low, front_height_mm=low.front_height_mm - deepest, rear_height_mm=low.rear_height_mm - deepest)
    for cured in (capped, plane(invented.board(strings=lowered), sink=predicted())):
        assert not cured.short.any()
        assert min(cured.plane_front_mm.min(), cured.plane_rear_mm.min()) == pytest.approx(0.0, abs=1e-6)


def one_short(front=0.3, rear=0.3, note=70):
    """A board that does not sink, with 0.5 mm of wood everywhere but at one note, which lacks so much at its pins."""
    line, at = invented.line(over_mm=0.5), np.arange(88) == note - 1
    return sunk(line, np.where(at, 0.5 + front, 0.0), np.where(at, 0.5 + rear, 0.0)), at


def lacking(line, at):
    """Wood lacking at the marked note, after the targets."""
    table = plane(invented.board(strings=line), sink=invented.rigid())
    return -min(table.plane_front_mm[at][0], table.plane_rear_mm[at][0])


def test_a_lower_rear_rest_cures():
    low, at = one_short()
    (cure,) = plane(invented.board(strings=low), sink=invented.rigid()).cures
    # by hand: the wanted top falls with the straight line F to R, by its share of the way at the front pin
    run = low.speaking_mm + low.rows_mm + low.back_mm
    assert cure.rest_down_mm == pytest.approx(0.3 * (run / low.speaking_mm)[at][0], rel=1e-6)
    moved = replace(low, rear_height_mm=low.rear_height_mm - np.where(at, cure.rest_down_mm, 0.0))
    assert lacking(moved, at) == pytest.approx(0.0, abs=1e-4)


def test_a_shorter_back_length_cures_or_is_not_named():
    low, at = one_short(0.05, 0.05)
    board = invented.board(strings=low, rules=PlaningRules(bearing_tolerance_deg=0.02))
    (cure,) = plane(board, sink=invented.rigid()).cures
    assert 10.0 < cure.back_mm < low.back_mm[at][0]
    assert lacking(replace(low, back_mm=np.where(at, cure.back_mm, low.back_mm)), at) == pytest.approx(0.0, abs=1e-6)
    deep, at = one_short(3.0, 3.0)
    assert np.isnan(plane(invented.board(strings=deep), sink=invented.rigid()).cures[0].back_mm)


@pytest.mark.parametrize(("front", "rear"), [(0.04, -0.1), (-0.1, 0.025)])
def test_another_front_share_cures_where_one_row_has_the_wood(front, rear):
    low, at = one_short(front, rear)
    rules = PlaningRules(bearing_tolerance_deg=0.02)
    (cure,) = plane(invented.board(strings=low, rules=rules), sink=invented.rigid()).cures
    assert (cure.front_share < 0.5) == (front > rear)
    target = Target(kind=TargetKind.NET_DEG, value=1.0, note=70, front_share=cure.front_share)
    whole = Target(kind=TargetKind.NET_DEG, value=1.0, section="treble")
    table = plane(invented.board(strings=low, targets=(whole, target)), sink=invented.rigid())
    assert min(table.plane_front_mm[at][0], table.plane_rear_mm[at][0]) == pytest.approx(0.0, abs=2e-3)


def test_no_front_share_cures_where_both_rows_lack_wood():
    assert np.isnan(plane(invented.board(strings=one_short()[0]), sink=invented.rigid()).cures[0].front_share)


def test_the_plate_goes_no_lower_than_its_supports():
    low, _ = one_short(0.6, 0.6)
    for lowest, offered in ((-0.7, 0.6), (-0.5, np.nan)):
        support = PlateSupport(name="a", place_mm=(0, 0), height_mm=30, lowest_move_mm=lowest, highest_move_mm=2)
        board = invented.board(strings=low, plate=Plate(supports=(support,)))
        down = plane(board, sink=invented.rigid()).cures[0].plate_down_mm
        np.testing.assert_allclose(down, offered, atol=1e-9)


def test_short_begins_where_the_bearing_tolerance_ends():
    per_mm = bearing(LINE).degrees_per_mm[69]
    for beyond, is_short in ((0.99, False), (1.01, True)):
        low, at = one_short(beyond * 0.1 / per_mm, beyond * 0.1 / per_mm)
        table = plane(invented.board(strings=low), sink=invented.rigid())
        assert table.short[at][0] == is_short
        assert bool(table.cures) == is_short
        assert not table.short[~at].any()
        assert table.faired.net_deg[at][0] == pytest.approx(1.0 - 0.1 * beyond, abs=0.002)


def test_beside_short_notes_one_gets_more_than_wanted():
    at = (LINE.note >= 40) & (LINE.note <= 46)
    low = sunk(LINE, np.where(at, 1.5, 0.0), np.where(at, 1.5, 0.0))
    sink = predicted()
    table = plane(invented.board(strings=low), sink=sink)
    cut = [np.maximum(depth, 0.0) for depth in (table.faired_front_mm, table.faired_rear_mm)]
    again = bearing(sink.moved(sunk(low, *cut), State.STRUNG)).net_deg  # planed, then strung
    np.testing.assert_allclose(table.faired.net_deg, again, atol=1e-9)
    assert table.faired.net_deg[at].max() < 0.8
    assert table.planed.net_deg[(LINE.note == 39) | (LINE.note == 47)].min() > 1.02


def test_without_a_sink_no_depth_is_given():
    table = plane(invented.board(body=None))
    assert not table.depth_known
    for name in ("plane_front_mm", "faired_front_mm", "faired_rear_mm", "kerf_mm", "cap_left_mm"):
        assert np.all(np.isnan(getattr(table, name)))
    assert np.all(np.isnan(table.faired.net_deg))
    assert np.isnan(table.faired.total_downforce_N) or table.faired.total_downforce_N == 0.0
    np.testing.assert_array_equal(table.now.net_deg, bearing(LINE).net_deg)
    # what geometry can give: the block of a target for the board as it was measured
    aimed = plane(invented.board(body=None, targets=bare_targets()))
    np.testing.assert_allclose(table.block_mm, aimed.block_mm, atol=0.12)  # that one marks the faired depth
    assert not table.short.any()
    assert not table.cures


def bare_targets(value=1.0):
    return tuple(
        Target(kind=TargetKind.NET_DEG, value=value, section=section, state=State.BARE)
        for section in dict.fromkeys(LINE.section)
    )


def test_a_target_for_the_bare_board_needs_no_sink():
    over = invented.line(over_mm=1.25)
    table = plane(invented.board(strings=over, body=None, targets=bare_targets()))
    assert table.depth_known
    assert table.aimed is State.BARE
    assert table.strung is None
    np.testing.assert_allclose(table.plane_front_mm, 1.25, atol=1e-9)
    np.testing.assert_allclose(table.planed.net_deg, 1.0, atol=1e-9)


def test_a_target_for_the_bare_board_says_what_is_left_of_it_strung():
    sink = predicted()
    table = plane(invented.board(targets=bare_targets(1.4)), sink=sink)
    np.testing.assert_allclose(table.planed.net_deg, 1.4, atol=1e-9)
    cut = sunk(LINE, np.maximum(table.faired_front_mm, 0), np.maximum(table.faired_rear_mm, 0))
    np.testing.assert_allclose(table.strung.net_deg, bearing(sink.moved(cut, State.STRUNG)).net_deg, atol=1e-12)
    assert table.strung.net_deg.max() < 1.4


def test_a_target_for_the_preloaded_board_stands_there():
    targets = tuple(replace(each, state=State.PRELOADED) for each in bare_targets(0.8))
    sink = predicted()
    table = plane(invented.board(targets=targets), sink=sink, working=State.PRELOADED)
    exact = sunk(LINE, table.plane_front_mm, table.plane_rear_mm)
    np.testing.assert_allclose(bearing(sink.moved(exact, State.PRELOADED)).net_deg, 0.8, atol=1e-9)


def test_targets_for_two_states_are_refused():
    mixed = (*bare_targets()[1:], Target(kind=TargetKind.NET_DEG, value=1.0, section="bass"))
    with pytest.raises(BoardError, match=r"^Targets are for two states; a bridge is planed to one of them\.$"):
        plane(invented.board(targets=mixed), sink=predicted())


def test_the_other_state_cannot_be_worked_in_without_a_sink():
    with pytest.raises(MissingLayer, match=r"^Working on the preloaded board, from heights of the bare board, needs"):
        plane(invented.board(body=None), working=State.PRELOADED)


def test_the_fair_line_keeps_its_promise_through_the_board():
    """Neighbours' changes reach a note through the board: on a soft board the bound on its own height is not enough."""
    for seed in range(3):
        board = uneven()
        sink = replace(predicted(), response=Response(small_mm_N=invented.compliance(seed, at_most_mm_N=6e-3)))
        table = plane(board, sink=sink)
        assert np.abs(table.faired.net_deg - table.planed.net_deg).max() <= board.rules.bearing_tolerance_deg
        assert np.abs(table.faired_front_mm - table.plane_front_mm).max() > 0.01


def test_what_is_left_of_the_cap():
    rules = PlaningRules(cap_least_mm=11.0, notch_mm=2.0)
    table = plane(invented.board(strings=invented.line(over_mm=1.25), rules=rules), sink=invented.rigid())
    deepest = np.max([table.faired_front_mm, table.faired_rear_mm], axis=0)
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
    table = plane(board, sink=invented.rigid())
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
