"""The bearing table. Kind of every expected number: invariant, unless said."""

from dataclasses import replace

import invented
import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.balance.sink import PredictedSink, SinkSource
from bellywork.board import MeasuredSink, State, Target, TargetKind
from bellywork.errors import MissingLayer
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import topped

LINE = invented.line(over_mm=0.0, net_deg=1.0)
PULL = pull_N(invented.scale(), LINE)
SINK = PredictedSink(pull_N=PULL, response=invented.response(), assumptions=("made up",))


def board(**parts):
    return invented.board(**{"strings": LINE, **parts})


def test_as_measured_it_is_the_geometry_alone():
    table = bearing(board())
    np.testing.assert_allclose(table.net_deg, 1.0, atol=1e-10)
    np.testing.assert_allclose(table.front_deg + table.rear_deg, table.net_deg, atol=1e-12)
    np.testing.assert_allclose(table.deviation_deg, 0.0, atol=1e-10)
    assert np.all(np.isnan(table.sink_mm))
    assert table.sink_source is SinkSource.NONE
    assert table.name[39] == "C4"


def test_one_degree_on_a_whole_grand():
    """Common practice, no source: 1° is about 700 lb (3.1 kN) of downforce; strings pull 160 to 200 kN in all."""
    table = bearing(board())
    assert 2600.0 <= table.total_downforce_N <= 3600.0
    assert 160e3 <= PULL.sum() <= 200e3
    assert table.total_downforce_N == pytest.approx(sum(table.section_downforce_N.values()))
    np.testing.assert_allclose(table.downforce_N.sum(), table.total_downforce_N)


def test_strung_it_has_sunk_and_lost_bearing():
    table = bearing(board(), state=State.STRUNG, sink=SINK)
    assert np.all(table.sink_mm > 0.0)
    np.testing.assert_allclose(table.height_bare_mm - table.height_strung_mm, table.sink_mm, atol=1e-8)
    lost = 1.0 - table.net_deg
    np.testing.assert_allclose(lost / table.sink_mm, table.degrees_per_mm, rtol=0.12)
    assert table.worst_note == table.note[np.argmax(lost)]
    assert "made up" in table.assumptions


def test_a_board_measured_strung_has_risen_when_bare():
    strung = bearing(board(measured_in=State.STRUNG), state=State.BARE, sink=SINK)
    assert np.all(strung.net_deg > 1.0)
    np.testing.assert_allclose(strung.height_strung_mm, (LINE.bridge_front_mm + LINE.bridge_rear_mm) / 2.0, atol=1e-7)
    again = bearing(board(strings=strung.line), state=State.STRUNG, sink=SINK)
    np.testing.assert_allclose(again.net_deg, 1.0, atol=1e-6)


def test_another_state_needs_a_sink():
    with pytest.raises(
        MissingLayer,
        match=r"^Bearing in the strung state, from heights of the bare board, needs the sink between them: body, "
        r"string plan and scale for a prediction, or sink.csv\.$",
    ):
        bearing(board(scale=None), state=State.STRUNG)


def test_sink_by_hand_in_one_state_only():
    sinks = (MeasuredSink(note=5, preloaded_mm=0.2), MeasuredSink(note=50, preloaded_mm=1.0))
    table = bearing(board(sinks=sinks, measured_in=State.PRELOADED), state=State.BARE)
    assert np.all(table.net_deg > 1.0)
    assert np.all(np.isnan(table.height_strung_mm))


def test_reference_notes_alone_are_completed_and_marked():
    at = [0, 12, 25, 26, 42, 43, 59, 60, 71, 72, 87]

    def at_those(value):
        if isinstance(value, tuple):
            return tuple(value[i] for i in at)
        return value[at] if isinstance(value, np.ndarray) else value

    few = type(LINE)(**{name: at_those(value) for name, value in vars(LINE).items()})
    table = bearing(board(strings=few))
    assert table.note.tolist() == list(range(1, 89))
    assert table.note[table.reference].tolist() == [i + 1 for i in at]
    np.testing.assert_array_equal(table.reference, table.measured)


def test_without_a_scale_there_are_no_forces_and_it_says_so():
    table = bearing(board(scale=None))
    assert np.all(np.isnan(table.tension_N))
    assert np.isnan(table.total_downforce_N)
    assert "No scale is described, so tension and downforce are not known." in table.assumptions


def test_tilted_tops_and_lifted_strings_are_found():
    front, rear = LINE.bridge_front_mm.copy(), LINE.bridge_rear_mm.copy()
    front[40], rear[40] = front[40] - 0.3, rear[40] + 0.3
    front[80:83], rear[80:83] = front[80:83] - 2.0, rear[80:83] - 2.0
    table = bearing(board(strings=topped(LINE, front, rear)))
    assert [finding.code for finding in table.findings] == ["lift-off", "tilted-top"]
    assert [finding.place.note for finding in table.findings] == [81, 41]
    assert str(table.findings[1]).startswith(
        f"notes.csv, note 41: found {table.front_deg[40]:.2f}° on the bare board, at the front pins of note 41 (C♯4)"
    )
    strung = bearing(board(strings=topped(LINE, front, rear), measured_in=State.STRUNG))
    assert all("on the strung board, at" in finding.found for finding in strung.findings)
    assert np.all(table.downforce_N[80:83] == 0.0)


def test_a_wire_past_its_strength_is_found():
    scale = invented.scale()
    table = bearing(
        board(strings=replace(LINE, speaking_mm=LINE.speaking_mm * np.where(LINE.note == 60, 1.6, 1.0)), scale=scale)
    )
    assert "wire-over-strength" in [finding.code for finding in table.findings]


def test_deviation_is_net_less_target():
    targets = (Target(kind=TargetKind.NET_DEG, value=0.7, section="bass"),)
    table = bearing(board(targets=targets))
    np.testing.assert_allclose(table.deviation_deg[:26], 0.3, atol=1e-10)
