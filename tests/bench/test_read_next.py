"""The notes to read next: what lacks a reading, what is doubted, what narrows most."""

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from on_the_bench import described, folder, typed

from bellywork.bench.session import Session
from bellywork.board import State
from bellywork.estimate.heights import read_again
from bellywork.files.read import read_board
from bellywork.instrument import prepared


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    opened = Session(folder(tmp_path))
    opened.answer(within_s=30.0)
    yield opened
    opened.close()


def settled(session: Session) -> dict[str, Any]:
    session.state()
    session.answer(within_s=60.0)
    return session.state()


def test_what_narrows_most_comes_first_and_a_second_reading_settles_it(session: Session) -> None:
    line = prepared(read_board(session.folder).board).board.strings
    assert line is not None
    again = read_again(line)
    state = settled(session)
    assert [each["note"] for each in state["next"]] == again.note.tolist()
    first = state["next"][0]
    assert first["why"].endswith(f"±{again.now_deg[0]:.2f}° there, then ±{again.then_deg[0]:.2f}°")
    column = "bridge_front_in"
    was = float(next(each for each in state["notes"] if each["note"] == first["note"])["cells"][column])
    session.read(typed(state, first["note"], column, f"{was + 0.002:.3f}"))
    after = settled(session)["next"]
    assert first["note"] not in [each["note"] for each in after]
    assert len(after) == 5


def test_what_was_never_read_comes_before_all_else(session: Session) -> None:
    state = settled(session)
    for note in (26, 1):
        session.read(typed(state, note, "bridge_rear_in", ""))
    first, second, *_ = settled(session)["next"]
    assert [(each["note"], each["column"]) for each in (first, second)] == [
        (1, "bridge_rear_in"),
        (26, "bridge_rear_in"),
    ]
    assert first["why"] == "bridge rear not read yet"
    assert first["name"] == "A0"


def test_a_height_out_of_the_run_is_named_with_how_far(tmp_path: Path) -> None:
    board = described(tmp_path)
    rows = list(csv.DictReader((board / "notes.csv").read_text().splitlines()))
    at = next(row for row in rows if row["note"] == "40")
    opened = Session(board)
    try:
        opened.answer(within_s=120.0)
        state = opened.state()
        column = next(each["head"] for each in state["columns"] if each["label"] == "bridge front")
        opened.read(typed(state, 40, column, f"{float(at[column]) + 4.0:.2f}"))
        doubted = [each for each in opened.state()["next"] if "ead it again" in each["why"]]
        assert [each["note"] for each in doubted] == [40]
        assert doubted[0]["why"].endswith(" mm more than its neighbours lead to. Read it again?")
        opened.read({**typed(opened.state(), 40, column, at[column]), "key": "back"})
        assert not [each for each in opened.state()["next"] if "ead it again" in each["why"]]
        strung = opened.told("string")
        assert "--all" not in str(strung)
        read = {each.note for each in read_board(board).board.readings if each.state is State.STRUNG}
        assert strung["next"]
        assert all(each["why"] == "not read strung yet" and each["note"] not in read for each in strung["next"])
        press = opened.told("press")
        assert [each["name"] for each in press["next"]] == [each["name"] for each in press["places"][:5]]
        after = [float(each["why"].removeprefix("then ±").removesuffix("°")) for each in press["next"]]
        assert np.all(np.diff(after) <= 0.0)
    finally:
        opened.close()
