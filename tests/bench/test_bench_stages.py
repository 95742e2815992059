"""The stages beside reading and planing: each tells what its command tells, and a row kept is a row in its table."""

import csv
import datetime
import json
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from on_the_bench import HOST, Client, described

from bellywork.answers.bearing_answer import bearing_answer
from bellywork.answers.history_answer import history_answer
from bellywork.answers.plane_answer import plane_answer
from bellywork.answers.sureness import Sureness, sureness_of
from bellywork.answers.where_answer import where_answer
from bellywork.balance.bearing_table import BearingTable, bearing
from bellywork.balance.planing import plane
from bellywork.bench import session as sessions
from bellywork.bench.journal import JOURNAL
from bellywork.bench.server import Gate, application
from bellywork.bench.session import Session
from bellywork.board import Board, State
from bellywork.cli.main import main
from bellywork.errors import BoardError, OutputError
from bellywork.estimate.bands import bearing_bands, plane_bands
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.where import where_to_read
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.measures import METRIC, Units
from bellywork.seasons.stages import stages

TODAY = datetime.date.today().isoformat()
LATER = {"kind": "bridge_height", "place": "46", "value": "42.31", "state": "strung"}


@pytest.fixture
def board(tmp_path: Path) -> Path:
    return described(tmp_path)


@pytest.fixture
def session(board: Path) -> Iterator[Session]:
    opened = Session(board)
    opened.answer(within_s=120.0)
    yield opened
    opened.close()


def client(session: Session) -> Client:
    return Client(application(session, Gate(hosts=frozenset({HOST}))))


def rows(board: Path, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((board / name).read_text(encoding="utf-8").splitlines()))


def estimate(board: Board) -> Estimate:
    return estimated(prepared(board), as_described=not board.trials)


def lines_of(page: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows of every table of a page."""
    return [row for block in page["blocks"] if "groups" in block for group in block["groups"] for row in group["rows"]]


def printed(page: dict[str, Any], text: str) -> None:
    """Every cell and every sentence of a page stands in what the command prints."""
    flat = " ".join(text.split())
    for line in (page["title"], *page["headline"], *page["look"], page["caution"]):
        assert " ".join(line.split()) in flat
    assert page["blocks"]
    for block in page["blocks"]:
        if "text" in block:
            assert " ".join(block["text"].split()) in flat
            continue
        for group in block["groups"]:
            for row in group["rows"]:
                assert " ".join(" ".join(row["cells"]).split()) in flat


def test_a_trial_is_a_row_and_every_number_is_then_of_the_board_as_learned(board: Path, session: Session) -> None:
    bench = client(session)
    page = bench.get("/told/press").json()
    found = read_board(board).board
    advice = where_to_read(estimate(found))
    printed(page, where_answer(found.name, estimate(found), advice, units=METRIC).as_text())
    assert page["trials"] == []
    assert "band" not in bench.get("/scene").json()["colours"]  # nothing was learned yet
    first = page["places"][0]
    assert first["name"] == advice.candidates.name[advice.chosen[0]]
    assert float(first["force"]) == advice.candidates.force_N[advice.chosen[0]]
    on_rib = next(each for each in page["places"] if each["name"].startswith("rib"))
    row = {"key": "a", "table": "trials", "cells": {**on_rib["cells"], "force": "250", "sink": "0.51"}}
    for _ in range(2):  # the line broke, and it is sent again
        assert bench.post("/row", json=row).status_code == 200
    (kept,) = rows(board, "trials.csv")
    x, y = (float(each) for each in on_rib["name"].split(" at ")[1].removesuffix(" mm").split(", "))
    place = {f"{what}_{axis}_mm": f"{value:g}" for what in ("at", "read") for axis, value in (("x", x), ("y", y))}
    told = {"trial": "1", **place, "force_N": "250", "sink_mm": "0.51", "date": TODAY}
    assert {name: text for name, text in kept.items() if text} == told
    session.state()
    answer = session.answer(within_s=120.0)
    learned = read_board(board).board
    assert learned.trials[0].sink_mm.tolist() == [0.51]
    table = plane(estimate(learned).ready)
    sureness = sureness_of(estimate(learned), partial(plane_bands, table=table))
    plain = plane_answer(learned, table, spread=None, units=METRIC, sureness=sureness)
    assert any(line.startswith("Learned from 1 dial") for line in answer.headline)
    assert answer.headline == plain.headline
    assert "±" in answer.notes[46]["you_get_deg"]
    strung = bearing(estimate(learned).ready, state=State.STRUNG)
    banded = sureness_of(estimate(learned), partial(bearing_bands, table=strung, state=State.STRUNG))
    text = bearing_answer(learned, strung, spread=None, units=METRIC, sureness=banded, every=True).as_text()
    page = bench.get("/told/string").json()
    printed(page, text)
    every_note_is_reached(page, learned, strung, banded)
    assert bench.get("/told/again").json()["next"] == page["next"]
    scene = bench.get("/scene").json()
    low, high = banded.bands.bands["net_deg"]
    ends = [float(scene["colours"]["band"]["scale"][k]) for k in (0, -1)]
    assert ends[0] - 0.05 < float((high - low).min()) / 2.0 <= float((high - low).max()) / 2.0 < ends[1] + 0.05
    page = bench.get("/told/press").json()
    assert page["trials"] == [{"name": "1", "told": f"{x:g} mm, {y:g} mm, 250 N, 0.51 mm, {TODAY}"}]
    assert bench.post("/out", json={"key": "b", "trial": "1"}).status_code == 200
    assert not (board / "trials.csv").exists()  # a table without rows would be a mistake
    assert bench.post("/out", json={"key": "c", "trial": "1"}).status_code == 422


def every_note_is_reached(page: dict[str, Any], board: Board, table: BearingTable, sureness: Sureness) -> None:
    """All rows of the table, the command's few marked; to read next: reference notes, then by the width of the band."""
    rows, notes = lines_of(page), table.note.tolist()
    assert [row["note"] for row in rows] == notes
    few = {row["note"] for row in rows if row["few"]}
    assert few == {*table.note[table.reference].tolist(), table.worst_note}
    read = {each.note for each in board.readings if each.state is table.state}
    listed = [each["note"] for each in page["next"]]
    assert sorted(listed) == [note for note in notes if note not in read]
    plain = [bool(table.reference[notes.index(note)]) for note in listed]
    assert plain == sorted(plain, reverse=True)
    low, high = sureness.bands.bands["net_deg"]
    half = [float(high[at] - low[at]) / 2.0 for note in listed[sum(plain) :] for at in [notes.index(note)]]
    assert len(half) > 20
    assert half == sorted(half, reverse=True)
    assert page["next"][sum(plain)]["why"] == f"known to ±{half[0]:.2f}° only"


def test_every_sentence_of_the_strung_board_is_the_commands(
    board: Path, session: Session, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing was learned yet, so the rim is an assumption and its range is told, as the command tells it."""
    page = client(session).get("/told/string").json()
    main(["bearing", str(board), "--state", "strung", "--json"])
    told = json.loads(capsys.readouterr().out)["headline"]
    assert any(line.startswith("The rim is an assumption: ") for line in told)
    assert page["headline"] == told


def test_what_is_read_at_a_later_stage_is_told_against_its_prediction(board: Path, session: Session) -> None:
    (board / "readings.csv").unlink()
    session.state()
    session.answer(within_s=120.0)
    bench = client(session)
    empty = bench.get("/told/again").json()
    assert empty["headline"][0].startswith("A history needs what was read on the way")
    assert empty["later"]["kinds"] == {"bridge_height": "mm", "front_deg": "deg", "rear_deg": "deg"}
    assert bench.post("/row", json={"key": "a", "table": "readings", "cells": LATER}).status_code == 200
    (kept,) = rows(board, "readings.csv")
    assert {name: text for name, text in kept.items() if text} == {
        "kind": "bridge_height", "place": "46", "value_mm": "42.31", "state": "strung", "date": TODAY,
    }  # fmt: skip
    session.state()
    session.answer(within_s=120.0)
    found = read_board(board).board
    told = history_answer(found.name, stages(prepared(found)), assumptions=(), units=METRIC)
    printed(bench.get("/told/again").json(), told.as_text())


def test_the_preloaded_state_is_told_or_what_it_lacks(board: Path, session: Session) -> None:
    bench = client(session)
    lacking = bench.get("/told/preload")
    assert (lacking.status_code, lacking.text) == (
        409,
        "The preloaded state needs what presses on the board, in preload.csv.",
    )
    (board / "preload.csv").write_text("x_mm,y_mm,force_N\n400,400,180\n", encoding="utf-8")
    session.state()
    session.answer(within_s=120.0)
    found = read_board(board).board
    table = bearing(prepared(found), state=State.PRELOADED)
    text = bearing_answer(found, table, spread=None, units=METRIC, every=True).as_text()
    printed(bench.get("/told/preload").json(), text)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"table": "notes", "cells": {}}, "A row goes to trials or to readings"),
        ({"table": "trials", "cells": {"force": "250", "sink": "0.4"}}, "A load needs its place"),
        ({"table": "trials", "cells": {"at_x": "300", "force": "250", "sink": "0.4"}}, "A load needs its place"),
        ({"table": "trials", "cells": {"at": "46"}}, "A press trial lacks how hard it presses and what"),
        ({"table": "trials", "cells": {"at": "46", "force": "250", "sink": "-0.4"}}, "Found a rise right under a load"),
        ({"table": "trials", "cells": {"at": "46", "force": "heavy", "sink": "0.4"}}, "Found 'heavy' for force_N; exp"),
        ({"table": "trials", "cells": {"at": "99", "force": "250", "sink": "0.4"}}, "Found '99' for at; expected a no"),
        ({"table": "trials", "cells": {"at": "46", "force": "250", "sink": "0.4", "lbs": "3"}}, "Found a cell 'lbs'"),
        ({"table": "trials", "cells": {"at": "46\x1b", "force": "250", "sink": "0.4"}}, "A cell is a short plain"),
        ({"table": "readings", "cells": {**LATER, "kind": "thread"}}, "What is read is one of bridge_height"),
        ({"table": "readings", "cells": {**LATER, "place": "3"}}, "A reading needs its note, one that the board has"),
        ({"table": "readings", "cells": {**LATER, "value": ""}}, "A reading needs its value"),
        ({"table": "readings", "cells": {**LATER, "state": "loose"}}, "Found 'loose' for state; expected one of bare"),
        ({"table": "trials", "cells": {"at": "46"}, "key": ""}, "What is sent has a key of its own"),
    ],
)
def test_what_is_no_row_leaves_no_trace(board: Path, session: Session, row: dict[str, object], said: str) -> None:
    before = {path.name: path.read_bytes() for path in board.iterdir()}
    answer = client(session).post("/row", json={"key": "a", **row})
    assert answer.status_code == 422
    assert answer.text.startswith(said)
    assert {path.name: path.read_bytes() for path in board.iterdir()} == before


def test_a_row_goes_under_the_headers_that_stand_there(board: Path) -> None:
    """A table of the user's own, in pounds and inches, with a comma for a point and a column that nobody fills."""
    own = "trial;at;force_lb;read;sink_in;rh_percent\r\nbefore;40;40;40;0,012;45\r\n"
    (board / "trials.csv").write_bytes(own.encode())
    opened = Session(board)
    try:
        cells = {"at": "F♯4", "force": "55", "sink": "0.02"}
        opened.add_row({"key": "a", "table": "trials", "cells": cells})
        assert (board / "trials.csv").read_bytes().decode() == own + "1;F♯4;55;F♯4;0.02;\r\n"
        opened.take_out({"key": "b", "trial": "before"})
        left = own.splitlines(keepends=True)[0] + "1;F♯4;55;F♯4;0.02;\r\n"
        assert (board / "trials.csv").read_bytes().decode() == left
        with pytest.raises(BoardError, match=r"^trials\.csv lacks at_x_mm, at_y_mm, read_x_mm, read_y_mm in"):
            opened.add_row(
                {"key": "c", "table": "trials", "cells": {"at_x": "3", "at_y": "4", "force": "5", "sink": "0.1"}}
            )
    finally:
        opened.close()


def test_an_empty_file_is_a_table_that_begins(board: Path) -> None:
    """A file of no bytes, as `touch` makes it, is nobody's change."""
    (board / "trials.csv").write_bytes(b"")
    opened = Session(board)
    try:
        opened.add_row({"key": "a", "table": "trials", "cells": {"at": "46", "force": "55", "sink": "0.02"}})
    finally:
        opened.close()
    (row,) = rows(board, "trials.csv")
    assert row["force_N"] == "55"


def test_a_new_table_is_in_the_users_units(board: Path) -> None:
    opened = Session(board, Units(length="in", force="lb"))
    try:
        opened.add_row({"key": "a", "table": "trials", "cells": {"at": "46", "force": "55", "sink": "0.02"}})
    finally:
        opened.close()
    (row,) = rows(board, "trials.csv")
    assert (row["force_lb"], row["sink_in"]) == ("55", "0.02")
    (trial,) = read_board(board).board.trials
    assert trial.forces_N[0] == pytest.approx(55 * 4.4482216152605)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"at_x": "4000", "at_y": "4000"}, "Found a load at 4000, 4000 mm, off the board, expected a place on the "),
        ({"at": "C8"}, "Found a load at note 88, expected "),
        ({"at": "46", "at_x": "400", "at_y": "380"}, "Found a load without its place, with half of one or with two"),
    ],
)
def test_a_row_that_would_stop_every_answer_is_not_taken(board: Path, cells: dict[str, str], said: str) -> None:
    """What only the whole board tells; `check` would call it wrong, and no answer could be had until it was out."""
    opened = Session(board)
    try:
        with pytest.raises(BoardError) as error:
            opened.add_row({"key": "a", "table": "trials", "cells": {**cells, "force": "250", "sink": "0.4"}})
    finally:
        opened.close()
    assert str(error.value).startswith(said)
    assert not (board / "trials.csv").exists()
    assert (board / JOURNAL).read_bytes() == b""


def test_what_its_table_did_not_take_is_not_acknowledged_when_it_is_sent_again(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The journal has it; a page that sends it again is told so until the table has it too."""
    opened = Session(board)
    row = {"key": "a", "table": "trials", "cells": {"at": "46", "force": "200", "sink": "0.4"}}
    reading = {"key": "b", "note": 40, "column": "cap_mm", "text": "9.90", "before": "10.10"}

    def full(*_: object) -> None:
        raise OutputError("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr("bellywork.bench.rows.replace_input", full)
        patch.setattr(sessions, "replace_input", full)
        for take, typed in ((opened.read, reading), (opened.read, reading), (opened.add_row, row)):
            with pytest.raises(OutputError, match=r"^The disk is full\.$"):
                take(typed)
    assert not (board / "trials.csv").exists()  # nor an empty one, which could not be read
    opened.add_row(row)
    assert [each["force_N"] for each in rows(board, "trials.csv")] == ["200"]
    assert next(each for each in rows(board, "notes.csv") if each["note"] == "40")["cap_mm"] == "9.90"
    opened.close()


def test_what_a_table_did_not_take_of_a_row_is_not_acknowledged_either(
    board: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = Session(board)
    row = {"key": "a", "table": "trials", "cells": {"at": "46", "force": "200", "sink": "0.4"}}

    def full(*_: object) -> None:
        raise OutputError("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr("bellywork.bench.rows.replace_input", full)
        for _ in range(2):
            with pytest.raises(OutputError, match=r"^The disk is full\.$"):
                opened.add_row(row)
    assert not (board / "trials.csv").exists()
    opened.add_row(row)
    assert [each["force_N"] for each in rows(board, "trials.csv")] == ["200"]
    opened.close()


def test_a_reading_that_was_left_does_not_overwrite_a_later_one(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = Session(board)
    first = {"key": "a", "note": 40, "column": "cap_mm", "text": "9.90", "before": "10.10"}

    def full(*_: object) -> None:
        raise OutputError("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr(sessions, "replace_input", full)
        with pytest.raises(OutputError):
            opened.read(first)
    opened.close()
    later = {**first, "key": "b", "text": "9.70", "at": TODAY, "table": "notes.csv", "remark": ""}
    with (board / JOURNAL).open("a", encoding="utf-8") as journal:
        journal.write(json.dumps(later) + "\n" + json.dumps({"taken": "b"}) + "\n")
    (board / "notes.csv").write_text((board / "notes.csv").read_text().replace(",10.10\n", ",9.70\n"))
    Session(board).close()
    assert next(row for row in rows(board, "notes.csv") if row["note"] == "40")["cap_mm"] == "9.70"


def test_a_bench_killed_before_the_row_stood_adds_it_once(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one = Session(board)
    row = {"key": "a", "table": "trials", "cells": {"at": "46", "force": "200", "sink": "0.4"}}

    def killed(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(sessions, "into_rows", killed)
        with pytest.raises(KeyboardInterrupt):
            one.add_row(row)
    one.close()
    assert not (board / "trials.csv").exists()
    for _ in range(2):
        other = Session(board)
        other.close()
        assert [each["force_N"] for each in rows(board, "trials.csv")] == ["200"]
        # killed once more, after the row stood and before that was noted
        lines = (board / JOURNAL).read_text(encoding="utf-8").splitlines(keepends=True)
        (board / JOURNAL).write_text(
            "".join(line for line in lines if "taken" not in json.loads(line)), encoding="utf-8"
        )


def test_sheet_and_owners_page_are_those_of_the_commands(board: Path, session: Session) -> None:
    from bellywork.survey.loss import surveyed
    from bellywork.survey.owner_page import owner_html
    from bellywork.survey.recovery import best

    bench = client(session)
    pdf = bench.get("/bearing.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert b"bellywork result" in pdf.content
    owner = bench.get("/owner.html")
    survey = surveyed(read_board(board).board)
    assert owner.text == owner_html(survey, best(survey))
    assert "script-src" not in owner.headers["content-security-policy"]
    assert owner.headers["content-security-policy"].startswith("default-src 'none'")
    assert bench.get("/told/notes.csv").status_code == 404
