"""What-ifs. Kind of every expected number: invariant (the same as making the change and starting anew)."""

from dataclasses import replace

import invented
import numpy as np
import pytest

from bellywork.balance import what_if as changes
from bellywork.balance.bearing_table import bearing
from bellywork.balance.sink import PredictedSink, SinkSource, sink_of
from bellywork.balance.what_if import Change
from bellywork.board import Plate, PlateSupport, State, Target, TargetKind
from bellywork.board.plate import PlateMove
from bellywork.errors import BoardError, MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import sunk
from bellywork.instrument import prepared

LINE = invented.line()
SINK = PredictedSink(
    pull_N=pull_N(invented.scale(), LINE),
    response=invented.response(),
    assumptions=(),
)
READY = prepared(invented.board())
MODEL = SINK.model(LINE)


def what_if(ready, change):
    return changes.what_if(ready, change, sink=SINK)


AS_IT_IS = what_if(READY, Change())


def test_no_change_changes_nothing():
    settled = MODEL.settled()
    np.testing.assert_array_equal(AS_IT_IS.settled.sink_front_mm, settled.sink_front_mm)
    np.testing.assert_array_equal(AS_IT_IS.downforce_N, settled.force_front_N + settled.force_rear_N)


def test_raising_the_plate_is_planing_the_bridge():
    raised = what_if(READY, Change(plate=PlateMove(up_mm=0.5)))
    planed = what_if(READY, Change(plane_front_mm=0.5, plane_rear_mm=np.full(88, 0.5)))
    np.testing.assert_allclose(raised.bearing.net_deg, planed.bearing.net_deg, atol=1e-9)
    assert np.all(raised.bearing.net_deg < AS_IT_IS.bearing.net_deg)


def test_tilting_the_plate_raises_each_end_by_its_lever():
    tilted = what_if(READY, Change(plate=PlateMove(up_mm=0.2, tilt_x_mm_per_m=0.3, tilt_y_mm_per_m=-0.1)))
    plan = invented.plan()
    up = [0.2 + place @ [0.0003, -0.0001] for place in (plan.front_mm, plan.rear_mm)]
    line = replace(LINE, front_height_mm=LINE.front_height_mm + up[0], rear_height_mm=LINE.rear_height_mm + up[1])
    anew = replace(MODEL, bare=line).settled()
    np.testing.assert_allclose(tilted.settled.sink_rear_mm, anew.sink_rear_mm, atol=1e-9)


def test_heavier_wire_sinks_the_board_further():
    heavy = replace(
        invented.scale(), wire_mm=1.03 * invented.scale().wire_mm, outer_mm=1.03 * invented.scale().outer_mm
    )
    changed = what_if(READY, Change(scale=heavy))
    np.testing.assert_allclose(changed.model.pull_N, 1.03**2 * MODEL.pull_N, rtol=1e-12)
    assert np.all(changed.settled.sink_front_mm > AS_IT_IS.settled.sink_front_mm)


def test_unstringing_a_section_lets_the_board_rise_there_and_beside_it():
    changed = what_if(READY, Change(unstrung=("treble",)))
    treble = np.array(LINE.section) == "treble"
    np.testing.assert_array_equal(changed.downforce_N[treble], 0.0)
    rise = AS_IT_IS.settled.sink_front_mm - changed.settled.sink_front_mm
    assert np.all(rise[treble] > 0.0)
    beside = np.isin(LINE.section, ["middle", "top"])
    assert np.all(changed.downforce_N[beside] > AS_IT_IS.downforce_N[beside])
    assert not changed.settled.lifted.any()


def test_another_target_moves_the_deviation_only():
    targets = tuple(Target(kind=TargetKind.NET_DEG, value=1.4, section=name) for name in dict.fromkeys(LINE.section))
    changed = what_if(READY, Change(targets=targets))
    np.testing.assert_allclose(changed.deviation_deg, AS_IT_IS.deviation_deg - 0.4, atol=1e-9)
    np.testing.assert_array_equal(changed.bearing.net_deg, AS_IT_IS.bearing.net_deg)


def test_changes_may_follow_each_other():
    first = what_if(READY, Change(plane_front_mm=0.3, plane_rear_mm=0.2))
    second = what_if(
        prepared(replace(READY.board, strings=first.model.bare)), Change(plane_front_mm=0.1, plane_rear_mm=0.4)
    )
    once = what_if(READY, Change(plane_front_mm=0.4, plane_rear_mm=0.6))
    np.testing.assert_allclose(second.bearing.front_deg, once.bearing.front_deg, atol=1e-9)
    np.testing.assert_allclose(
        second.model.bare.bridge_rear_mm, sunk(LINE, np.zeros(88), np.full(88, 0.6)).bridge_rear_mm
    )


def test_what_cannot_be_is_named():
    with pytest.raises(BoardError, match=r"^The board has no section called alto\.$"):
        what_if(READY, Change(unstrung=("alto", "bass")))
    with pytest.raises(
        MissingLayer, match=r"^Tilting the plate needs the strings' points in plan, in string_plan.csv\.$"
    ):
        what_if(prepared(replace(READY.board, plan=None)), Change(plate=PlateMove(tilt_x_mm_per_m=1.0)))
    few = type(invented.scale())(note=[1], unisons=[1], wire_mm=[1.0], outer_mm=[1.0], wrap=("",))
    with pytest.raises(BoardError, match=r"^Another scale needs the same notes as the board\.$"):
        what_if(READY, Change(scale=few))


def test_a_plate_moved_before_the_strings_turns_them_by_its_height_over_the_lengths():
    """By hand, to first order: terminations up by u_f and u_r take u_f/L_f + u_r/L_r of the net away."""
    board, line, plan = invented.board(), invented.line(), invented.plan()
    move = PlateMove(up_mm=0.4, tilt_x_mm_per_m=0.3, tilt_y_mm_per_m=-0.2)
    moved = changes.with_plate_moved(prepared(board), move, invented.rigid())
    up = [0.4 + 0.3e-3 * place[:, 0] - 0.2e-3 * place[:, 1] for place in (plan.front_mm, plan.rear_mm)]
    lost = np.degrees(up[0] / line.speaking_mm + up[1] / line.back_mm)
    change = bearing(moved).net_deg - bearing(board).net_deg
    np.testing.assert_allclose(change, -lost, rtol=0.01)


def test_a_plate_moved_under_strings_goes_by_the_bare_board():
    sinking = replace(invented.rigid(), strung_mm=np.full(88, 0.7))
    strung, line = invented.board(measured_in=State.STRUNG), invented.line()
    moved = changes.with_plate_moved(prepared(strung), PlateMove(up_mm=-0.3), sinking)
    assert moved.board.measured_in is State.BARE
    np.testing.assert_allclose(moved.board.strings.bridge_front_mm, line.bridge_front_mm + 0.7)
    change = bearing(moved, state=State.STRUNG, sink=sinking).net_deg - bearing(strung).net_deg
    np.testing.assert_allclose(change, np.degrees(0.3 / line.speaking_mm + 0.3 / line.back_mm), rtol=0.01)
    unknown = sink_of(prepared(strung), SinkSource.NONE)
    with pytest.raises(MissingLayer, match=r"^A plate moved under strings changes what they press, so the sink"):
        changes.with_plate_moved(prepared(strung), PlateMove(up_mm=-0.3), unknown)


def test_supports_that_do_not_allow_a_move_are_named():
    supports = tuple(
        PlateSupport(name=name, place_mm=place, height_mm=30.0, lowest_move_mm=-1.0, highest_move_mm=1.0)
        for name, place in (("front", (0.0, 0.0)), ("tail", (500.0, 1700.0)))
    )
    board = invented.board(plate=Plate(supports=supports))
    assert board.plate.beyond(PlateMove(up_mm=0.5)) == ()
    assert board.plate.beyond(PlateMove(up_mm=0.5, tilt_y_mm_per_m=0.5)) == ("tail",)
    assert board.plate.beyond(PlateMove(up_mm=-1.1)) == ("front", "tail")


def test_other_strings_press_by_their_own_pull_on_the_same_bare_board():
    """Thicker wire by a twentieth: tension by its square, on the same bare board, read bare or strung."""
    scale = READY.board.scale
    thicker = replace(scale, wire_mm=1.05 * scale.wire_mm, outer_mm=1.05 * scale.outer_mm)
    other, under = changes.with_strings(READY, thicker, SINK)
    before, told = bearing(READY, state=State.STRUNG, sink=SINK), bearing(other, state=State.STRUNG, sink=under)
    anew = prepared(replace(READY.board, scale=thicker))
    expected = bearing(anew, state=State.STRUNG, sink=replace(SINK, pull_N=anew.pull_N))
    np.testing.assert_allclose(told.net_deg, expected.net_deg, atol=1e-9)
    plain = scale.wire_mm == scale.outer_mm
    np.testing.assert_allclose(told.tension_N[plain], 1.1025 * before.tension_N[plain])
    assert np.all(told.sink_mm > before.sink_mm)
    strung = prepared(replace(READY.board, strings=before.line, measured_in=State.STRUNG))
    again, also = changes.with_strings(strung, thicker, SINK)
    np.testing.assert_allclose(bearing(again, state=State.STRUNG, sink=also).net_deg, told.net_deg, atol=1e-6)


def test_other_strings_need_the_same_notes():
    fewer = replace(READY.board.scale, note=READY.board.scale.note + 1)
    with pytest.raises(BoardError, match=r"^Another scale needs the same notes as the board\.$"):
        changes.with_strings(READY, fewer, SINK)
