"""Anything typed is taken back, not only the last; the day's humidity goes with each; a folder that is not there."""

import csv
import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from on_the_bench import HOST, Client, described, folder, typed

from bellywork.bench import session as sessions
from bellywork.bench.journal import JOURNAL, Journal
from bellywork.bench.server import Gate, application
from bellywork.bench.session import Session
from bellywork.errors import BoardError

FRONT = "bridge_front_in"
LATER = {"kind": "bridge_height", "place": "46", "value": "42.31", "state": "strung"}


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    opened = Session(folder(tmp_path))
    yield opened
    opened.close()


def cells(board: Path) -> dict[str, dict[str, str]]:
    return {row["note"]: row for row in csv.DictReader((board / "notes.csv").read_text().splitlines())}


def journal(board: Path) -> list[dict[str, str]]:
    return [json.loads(line) for line in (board / JOURNAL).read_text().splitlines()]


def test_a_reading_that_is_not_the_last_is_taken_back_and_the_others_stay(session: Session) -> None:
    before = (session.folder / "notes.csv").read_bytes()
    for note, text in ((1, "1.95"), (13, "1.89"), (1, "1.96"), (26, "1.83")):
        session.read(typed(session.state(), note, FRONT, text))
    listed = session.state()["typed"]
    assert [each["what"] for each in listed] == [
        "A♯2, bridge front in: 1.83, before 1.820",
        "A0, bridge front in: 1.96, before 1.95",
        "A1, bridge front in: 1.89, before 1.885",
    ]
    session.take_back({"key": "x", "of": listed[2]["of"]})
    session.take_back({"key": "x", "of": listed[2]["of"]})  # the line broke, and it is sent again
    assert [cells(session.folder)[note][FRONT] for note in ("1", "13", "26")] == ["1.96", "1.885", "1.83"]
    entry = next(each for each in journal(session.folder) if each.get("key") == "x")
    assert (entry["text"], entry["before"]) == ("1.885", "1.89")
    session.take_back({"key": "v", "of": listed[0]["of"]})
    session.take_back({"key": "z", "of": listed[1]["of"]})
    assert (session.folder / "notes.csv").read_bytes() == before.replace(b"1.930", b"1.95")
    assert session._journal.read_again == {1}  # what was taken back is no second reading
    with pytest.raises(BoardError, match=r"^That is not there any more to be taken back\.$"):
        session.take_back({"key": "y", "of": listed[1]["of"]})


def test_what_was_changed_outside_since_is_not_taken_back(session: Session) -> None:
    session.read(typed(session.state(), 13, FRONT, "1.89"))
    (of,) = [each["of"] for each in session.state()["typed"]]
    notes = session.folder / "notes.csv"
    notes.write_text(notes.read_text().replace("1.89,", "1.87,"))
    with pytest.raises(BoardError, match=r"^bridge_front_in of note 13 holds '1\.87' by now; it stays so\.$"):
        session.take_back({"key": "x", "of": of})
    assert cells(session.folder)["13"][FRONT] == "1.87"
    assert "x" not in [each.get("key") for each in journal(session.folder)]


def test_a_row_in_the_middle_is_taken_back_even_after_a_kill(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    board = described(tmp_path)
    had = (board / "readings.csv").read_text()
    opened = Session(board)
    for key, value in (("a", "42.31"), ("b", "42.32"), ("c", "42.33")):
        opened.add_row({"key": key, "table": "readings", "cells": {**LATER, "value": value}, "rh": "47.5"})
    full = (board / "readings.csv").read_text()
    assert full.count("47.5") == 3

    def killed(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(sessions, "into_rows", killed)
        with pytest.raises(KeyboardInterrupt):
            opened.take_back({"key": "x", "of": "b"})
    opened.close()
    assert (board / "readings.csv").read_text() == full
    again = Session(board)
    kept = (board / "readings.csv").read_text()
    assert kept == "".join(line for line in full.splitlines(keepends=True) if "42.32" not in line)
    assert [each["of"] for each in again.state()["typed"]] == ["c", "a"]
    for of in ("c", "a"):
        again.take_back({"key": f"x{of}", "of": of})
    again.close()
    assert (board / "readings.csv").read_text() == had


@pytest.mark.parametrize("when", ["before the table was written", "after it"])
@pytest.mark.parametrize("others", [1, 0])
def test_of_equal_rows_one_goes_and_one_comes_however_often_the_bench_is_killed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, when: str, others: int
) -> None:
    """Rows are equal where a shop reads the same note twice; the second counts as the first does."""
    board = folder(tmp_path)
    row = {**LATER, "place": "26"}
    opened = Session(board)
    for key in ("a", "b")[:others]:
        opened.add_row({"key": key, "table": "readings", "cells": row})

    def killed_at(part: object, name: str, act: Callable[[], object]) -> None:
        def killed(*_: object, **__: object) -> None:
            raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            patch.setattr(part, name, killed)
            with pytest.raises(KeyboardInterrupt):
                act()

    def replayed(act: Callable[[], object]) -> int:
        """How many of the rows stand after a kill and three starts."""
        killed_at(*((sessions, "into_rows") if when.startswith("before") else (Journal, "taken")), act)
        opened.close()
        for _ in range(3):
            Session(board).close()
            lines = (board / JOURNAL).read_text().splitlines(keepends=True)
            # what was last said to be taken is forgotten, as if killed once more just before
            (board / JOURNAL).write_text("".join(lines[:-1]))
        table = board / "readings.csv"  # a table without rows is none
        return table.read_text().count("42.31") if table.exists() else 0

    assert replayed(lambda: opened.add_row({"key": "c", "table": "readings", "cells": row})) == others + 1
    opened = Session(board)
    assert replayed(lambda: opened.take_back({"key": "x", "of": "c"})) == others


def test_the_days_humidity_is_kept_with_what_is_typed(tmp_path: Path) -> None:
    board = described(tmp_path)
    opened = Session(board)
    opened.answer(within_s=60.0)
    cap = opened.state()["notes"][0]["cells"]["cap_mm"]
    note = opened.state()["notes"][0]["note"]
    opened.read({**typed(opened.state(), note, "cap_mm", "9.90"), "rh": "52"})
    opened.add_row({"key": "a", "table": "trials", "cells": {"at": "46", "force": "200", "sink": "0.4"}, "rh": "51"})
    state = opened.state()
    assert [each["rh"] for each in state["typed"]] == ["51", "52"]
    assert state["measured"] == "board.toml has the heights read on 2026-05-04 at 42 % relative humidity."
    (row,) = csv.DictReader((board / "trials.csv").read_text().splitlines())
    assert row["rh_percent"] == "51"
    assert cap != "9.90"
    with pytest.raises(BoardError, match=r"^Found 'damp' for rh_percent; expected a number from 5 to 100 %"):
        opened.read({**typed(opened.state(), note, "cap_mm", "9.80"), "rh": "damp"})
    opened.close()


def test_all_numbers_are_there_without_a_script(session: Session) -> None:
    answer = session.answer(within_s=30.0)
    page = Client(application(session, Gate(hosts=frozenset({HOST})))).get("/plain.html")
    assert page.status_code == 200
    assert "<script" not in page.text
    for texts in answer.notes.values():
        assert f"<td>{texts['block_mm']}</td>" in page.text
    assert all(line in page.text for line in answer.headline)


def test_a_folder_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "bellywork", "bench", str(tmp_path / "none"), "--no-browser"]
    ran = subprocess.run(words, capture_output=True, text=True, timeout=60)
    assert ran.returncode == 2
    assert ran.stderr == (
        f"bellywork: There is no folder '{tmp_path / 'none'}'. Check the name, or start a board folder with "
        "'bellywork new'.\n"
    )
