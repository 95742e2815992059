"""Sink from all its sources. Kind of every expected number: invariant."""

import invented
import numpy as np
import pytest

from bellywork.balance.sink import PredictedSink, SinkSource, measured_sink, sink_of
from bellywork.board import MeasuredSink, State
from bellywork.errors import MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.instrument import prepared

LINE = invented.line()


def predicted(preload=None):
    return PredictedSink(
        pull_N=pull_N(invented.scale(), LINE),
        response=invented.response(),
        preload=None if preload is None else lambda: preload,
        assumptions=("made up",),
        on=LINE.note <= 44,
    )


@pytest.mark.parametrize("state", list(State))
def test_there_and_back_again(state):
    sink = predicted(np.linspace(0.5, 2.0, 176))
    back = sink.bare(sink.moved(LINE, state), state)
    np.testing.assert_allclose(back.bridge_front_mm, LINE.bridge_front_mm, atol=1e-7)
    np.testing.assert_allclose(back.bridge_rear_mm, LINE.bridge_rear_mm, atol=1e-7)


def test_measured_sink_runs_straight_along_each_bridge():
    sinks = (
        MeasuredSink(note=10, strung_mm=0.4),
        MeasuredSink(note=40, strung_mm=1.0, preloaded_mm=2.0),
        MeasuredSink(note=60, strung_mm=2.0),
        MeasuredSink(note=20, preloaded_mm=0.5),
    )
    sink = measured_sink(invented.board(sinks=sinks))
    at = dict(zip(LINE.note.tolist(), sink.strung_mm))
    assert [at[note] for note in (1, 26, 27, 40, 50, 60, 88)] == [0.4, 0.4, 1.0, 1.0, 1.5, 2.0, 2.0]
    assert [sink.preloaded_mm[0], sink.preloaded_mm[87]] == [0.5, 2.0]
    strung = sink.moved(LINE, State.STRUNG)
    np.testing.assert_allclose(LINE.bridge_rear_mm - strung.bridge_rear_mm, sink.strung_mm, atol=1e-12)


def test_a_bridge_without_a_reading_is_named():
    with pytest.raises(MissingLayer, match=r"^sink.csv holds no strung sink at any note of the bridge 'bass'\.$"):
        measured_sink(invented.board(sinks=(MeasuredSink(note=40, strung_mm=1.0),)))


def test_a_state_without_a_reading_is_named():
    sinks = (MeasuredSink(note=10, strung_mm=0.4), MeasuredSink(note=40, strung_mm=1.0))
    with pytest.raises(
        MissingLayer, match=r"^The sink in the preloaded state is not known: fill preloaded_mm in sink.csv\.$"
    ):
        measured_sink(invented.board(sinks=sinks)).bare(LINE, State.PRELOADED)


def test_a_preload_that_presses_nowhere_is_named():
    with pytest.raises(MissingLayer, match=r"^The preloaded state needs what presses on the board, in preload.csv\.$"):
        predicted().moved(LINE, State.PRELOADED)


def test_without_anything_known_the_board_is_rigid_and_says_so():
    sink = sink_of(prepared(invented.board(scale=None)))
    assert sink.source is SinkSource.NONE
    assert sink.moved(LINE, State.STRUNG).bridge_front_mm.tolist() == LINE.bridge_front_mm.tolist()
    assert sink.assumptions == (
        "No sink is known: the bridge is taken to stay where it is when the board is strung, so bearing will be lost.",
    )


def test_sinks_by_hand_are_the_second_choice_and_a_sink_given_is_kept():
    sinks = (MeasuredSink(note=10, strung_mm=0.4), MeasuredSink(note=40, strung_mm=1.0))
    assert sink_of(prepared(invented.board(sinks=sinks))).source is SinkSource.MEASURED
    own = predicted()
    assert sink_of(prepared(invented.board(sinks=sinks)), own) is own


def test_what_a_prediction_lacks_is_named():
    with pytest.raises(
        MissingLayer,
        match=r"^Predicted sink needs the board itself: \[panel\] in board.toml and the outline in outline.csv\.$",
    ):
        sink_of(prepared(invented.board()), SinkSource.PREDICTED)
