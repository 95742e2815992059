"""The planing schedule, told: what may be cut, what one gets, and what stands in the way."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "balance"))
import invented

from bellywork.answers.answer import View
from bellywork.answers.plane_answer import cure_text, plane_answer
from bellywork.balance.cures import Cure
from bellywork.balance.planing import plane
from bellywork.balance.sink import EnteredSink, SinkSource
from bellywork.board import State, Target, TargetKind
from bellywork.geometry.string_line import sunk
from bellywork.measures import METRIC, Units

NAN = float("nan")
CURE = Cure(
    section="top", notes=(81, 82, 83), worst_note=82, short_mm=0.52, cap_mm=12.52, plate_down_mm=0.52,
    rest_down_mm=0.9, back_mm=41.26, front_share=0.35, reachable_deg=0.55,
)  # fmt: skip


def sinking(mm: float = 0.5) -> EnteredSink:
    each = np.full(88, mm)
    return EnteredSink(source=SinkSource.MEASURED, preloaded_mm=each / 2, strung_mm=each, assumptions=("Invented.",))


def told(board, **words):
    return plane_answer(board, plane(board, **words), spread=None, units=METRIC)


def test_all_that_mends_is_one_sentence() -> None:
    assert cure_text(CURE, METRIC) == (
        "notes 81 to 83 (F7 to G7): up to 0.52 mm short. A cap thicker by 0.52 mm (12.52 mm in all), the plate lower "
        "by 0.52 mm, the rear rests lower by up to 0.90 mm, the rear rest nearer, for a back length of 41.3 mm at note "
        "82, a front share of 35 %, or a target of 0.55° at note 82, which is what it gets."
    )


def test_what_does_not_mend_is_not_named() -> None:
    only = replace(CURE, notes=(82,), cap_mm=NAN, plate_down_mm=NAN, back_mm=NAN, front_share=NAN, reachable_deg=NAN)
    assert cure_text(only, Units(length="in", force="lb")) == (
        "note 82 (F♯7): 0.020 in short. A cap thicker by 0.020 in, or the rear rest lower by 0.035 in."
    )


def test_without_a_sink_the_headline_says_that_no_depth_can_be_given() -> None:
    answer = told(invented.board(body=None))
    assert answer.act
    assert answer.title == "invented: bearing and block; no depth"
    assert answer.headline[0].startswith("No depth can be given: it is not known how far the board sinks")
    text = answer.as_text()
    for word in ("cut front", "kerf", "Strung after that", "will press", "SHORT"):
        assert word not in text
    parts = answer.as_parts()
    assert parts["depth_known"] is False
    assert {each["faired_front_mm"] for each in parts["notes"]} == {None}
    assert {each["you_get_deg"] for each in parts["notes"]} == {None}
    assert parts["totals"]["downforce_by_section_N"] == {}
    assert all(each["block_mm"] > 0.0 for each in parts["notes"])


def test_what_one_gets_stands_beside_what_is_wanted_also_where_wood_is_short() -> None:
    at = (invented.NOTES > 60) & (invented.NOTES < 70)
    low = sunk(invented.line(over_mm=1.0), np.where(at, 1.2, 0.0), np.where(at, 1.2, 0.0))
    answer = told(invented.board(strings=low), sink=sinking())
    assert answer.act
    notes = answer.as_parts()["notes"]
    assert [each["note"] for each in notes if each["short"]] == list(range(61, 70))
    for each in notes:
        assert (each["you_get_deg"] < 0.9) == each["short"]
        assert each["planed_net_deg"] == each["you_get_deg"]
    assert "In the way: wood is short at 9 notes; what would mend it follows." in answer.headline
    assert sum("Short of wood" in part for part in answer.as_text().split("\n\n")) == 1
    assert len([line for line in answer.as_text().splitlines() if "SHORT" in line]) <= 4  # no wall of them


def test_no_kerf_is_told_where_the_thread_runs_over_the_top() -> None:
    """The bridge is 2 mm too low at the lower half of the notes: there is nothing to saw, and nothing is told."""
    low = np.where(np.arange(88) < 44, 2.0, -2.0)
    board = invented.board(strings=sunk(invented.line(), low, low))
    answer = told(board, sink=sinking())
    (view,) = (each for each in answer.body if isinstance(each, View))
    shown, whole = (np.array(table["kerf_mm"].values) for table in (view.table, answer.table))
    assert np.all(whole[:40] < 0.0)
    assert np.all(np.isnan(shown[:40]))
    assert np.all(whole[48:] > 0.0)
    np.testing.assert_array_equal(shown[48:], whole[48:])


def test_a_plate_set_first_has_a_column_of_its_own() -> None:
    board = invented.board()
    text = plane_answer(board, plane(board, sink=sinking(), plate_first=True), spread=None, units=METRIC).as_text()
    head = next(line for line in text.splitlines() if line.startswith("note"))
    assert head.index("net") < head.index("plate set") < head.index("wanted") < head.index("you get")
    assert "plate set" not in told(board, sink=sinking()).as_text()


@pytest.mark.parametrize(("sink", "strung"), [(None, False), (sinking(), True)])
def test_a_target_before_stringing_tells_what_is_left_under_the_strings_where_that_is_known(sink, strung) -> None:
    targets = tuple(
        Target(kind=TargetKind.NET_DEG, value=1.0, section=name, state=State.BARE)
        for name in dict.fromkeys(invented.sections())
    )
    answer = told(invented.board(targets=targets, body=None), sink=sink)
    assert answer.headline[1].startswith("Bare after that, 88 of 88 notes are within 0.10° of their target;")
    unknown = "How far the strings press the board down is not known, so neither is the bearing under them."
    assert (unknown in answer.headline) != strung
    note = answer.as_parts()["notes"][69]
    assert (note["strung_net_deg"] is not None) == strung
    if strung:  # 0.5 mm of sink, by hand: 0.5 · (1/L_f + 1/L_r)
        line = invented.line()
        lost = np.degrees(0.5 / line.speaking_mm[69] + 0.5 / line.back_mm[69])
        assert note["you_get_deg"] - note["strung_net_deg"] == pytest.approx(lost, rel=2e-3)
