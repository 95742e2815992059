"""A folder on the bench: nothing acknowledged is lost, nothing of others is written over, every answer is `plane`'s."""

import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from on_the_bench import folder, typed

from bellywork.answers.plane_answer import plane_answer, schedule_table
from bellywork.balance.planing import plane
from bellywork.bench import answered as answers
from bellywork.bench.answered import Answered, Answerer
from bellywork.bench.journal import JOURNAL, Journal
from bellywork.bench.session import Clash, Session
from bellywork.errors import BoardError, OutputError
from bellywork.files.read import read_board
from bellywork.measures import METRIC

FRONT = "bridge_front_in"
SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


@pytest.fixture
def board(tmp_path: Path) -> Path:
    return folder(tmp_path)


@pytest.fixture
def session(board: Path) -> Iterator[Session]:
    opened = Session(board)
    yield opened
    opened.close()


def cell(board: Path, note: int, column: str = FRONT) -> str:
    header, *rows = (line.split(",") for line in (board / "notes.csv").read_text().splitlines())
    return next(row[header.index(column)] for row in rows if row[0] == str(note))


def test_a_reading_is_in_journal_and_table_before_it_is_acknowledged(board: Path, session: Session) -> None:
    state = session.state()
    session.read(typed(state, 13, FRONT, "1.9", remark="cold hands"))
    assert cell(board, 13) == "1.9"
    kept, taken = (json.loads(line) for line in (board / JOURNAL).read_text().splitlines())
    assert (kept["note"], kept["column"], kept["text"], kept["before"]) == (13, FRONT, "1.9", "1.885")
    assert taken == {"taken": kept["key"]}
    after = session.state()
    entry = next(each for each in after["notes"] if each["note"] == 13)
    assert (entry["cells"][FRONT], entry["remark"]) == ("1.9", "cold hands")
    assert after["revision"] != state["revision"]


def test_every_number_is_that_of_plane_to_the_last_digit(board: Path, session: Session) -> None:
    """One question, one answer; the folder is read anew as the command reads it."""
    session.read(typed(session.state(), 38, FRONT, "1.69"))
    answer = session.answer(within_s=20.0)
    assert answer.exact
    found = read_board(board)
    table = plane(found.board)
    whole = schedule_table(table)
    for row, note in enumerate(table.now.note.tolist()):
        for name, text in answer.notes[note].items():
            assert text == whole[name].cell(row, METRIC)
    told = plane_answer(found.board, table, spread=None, units=METRIC)
    assert answer.headline == told.headline
    assert answer.title == told.title


def test_the_columns_are_those_of_the_table_in_the_order_of_reading(session: Session) -> None:
    columns = session.state()["columns"]
    assert [each["head"] for each in columns] == [
        "front_height_in", "bridge_front_in", "bridge_rear_in", "rear_height_in", "cap_in",
    ]  # fmt: skip
    assert {each["unit"] for each in columns} == {"in"}


def test_a_reading_sent_twice_counts_once(board: Path, session: Session) -> None:
    reading = typed(session.state(), 13, FRONT, "1.9")
    session.read(reading)
    session.read(reading)
    assert sum("text" in json.loads(line) for line in (board / JOURNAL).read_text().splitlines()) == 1


def test_what_somebody_else_wrote_is_not_written_over(board: Path, session: Session) -> None:
    state = session.state()
    first, second = (typed(state, 13, FRONT, text) for text in ("1.9", "1.91"))
    session.read(first)
    with pytest.raises(Clash) as clash:
        session.read(second)
    assert clash.value.now == "1.9"
    assert cell(board, 13) == "1.9"
    session.read({**second, "key": "again", "force": True})
    assert cell(board, 13) == "1.91"


def test_what_is_edited_outside_is_taken_up(board: Path, session: Session) -> None:
    before = session.revision
    text = (board / "notes.csv").read_text().replace("1.885,1.887", "1.886,1.887")
    (board / "notes.csv").write_text(text)
    assert session.revision != before
    entry = next(each for each in session.state()["notes"] if each["note"] == 13)
    assert entry["cells"][FRONT] == "1.886"
    (board / "targets.csv").write_text("section,net_deg\nbass,1.0\ntenor,1.1\ntreble,1.2\n")
    session.state()
    assert session.answer(within_s=20.0).notes[1]["target_net_deg"] == "1.00"


def test_a_bench_killed_between_journal_and_table_catches_up(board: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from bellywork.bench import session as sessions

    one = Session(board)
    reading = typed(one.state(), 13, FRONT, "1.9")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(sessions, "replace_input", killed)
        with pytest.raises(KeyboardInterrupt):
            one.read(reading)
    one.close()
    assert cell(board, 13) == "1.885"
    other = Session(board)
    assert [(each.note, each.text) for each in other.caught_up] == [(13, "1.9")]
    assert cell(board, 13) == "1.9"
    other.close()


def test_a_line_cut_off_by_a_power_cut_counts_for_nothing(board: Path) -> None:
    (board / JOURNAL).write_bytes(b'{"key": "a", "table": "notes.csv", "no')
    session = Session(board)
    session.read(typed(session.state(), 13, FRONT, "1.9"))
    session.close()
    again = Journal(board)
    assert [each.text for each in again.entries] == ["1.9"]
    assert again.left == ()
    again.close()


def test_two_benches_on_one_folder(board: Path, session: Session) -> None:
    with pytest.raises(OutputError, match=r"^Another bench is open on .*board; use its address, or end it first\.$"):
        Session(board)


def test_a_folder_that_cannot_be_written_to_is_said_before_the_first_reading(board: Path) -> None:
    (board / JOURNAL).mkdir()  # root may write everywhere else
    with pytest.raises(OutputError, match=r"cannot be written to \(is a directory\), so no reading would be kept\.$"):
        Session(board)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"text": "high"}, r"Found 'high' for bridge_front_in; expected a number from -19\.685 to 39\.3701 in\."),
        ({"text": "50"}, "Found '50' for bridge_front_in; expected a number from"),
        ({"text": "1" * 21}, "A reading is a short number"),
        ({"text": "1\x1b[2J"}, "A reading is a short number"),
        ({"column": "speaking_in"}, r"notes\.csv has no cell speaking_in of note 13\."),
        ({"note": 2}, r"notes\.csv has no cell bridge_front_in of note 2\."),
        ({"note": "13"}, "A reading has a key, a note, a column"),
        ({"key": ""}, "A reading is a short number"),
        ({"remark": ["x"]}, "A reading has a key"),
    ],
)
def test_what_is_no_reading_leaves_no_trace(board: Path, session: Session, more: dict[str, object], said: str) -> None:
    was = (board / "notes.csv").read_bytes()
    with pytest.raises(BoardError, match=f"^{said}"):
        session.read({**typed(session.state(), 13, FRONT, "1.9"), **more})
    assert (board / "notes.csv").read_bytes() == was
    assert (board / JOURNAL).read_bytes() == b""


def test_a_reading_out_of_family_is_kept_and_doubted(board: Path, session: Session) -> None:
    """Common practice, no source: more than a millimetre off the run of its neighbours is read again."""
    state = session.state()
    notes = [each["note"] for each in state["notes"] if each["section"] == "tenor" or not each["section"]]
    middle = notes[len(notes) // 2]
    was = float(cell(board, middle))
    told = session.read(typed(state, middle, FRONT, f"{was + 0.2:.3f}"))["doubt"]
    assert told.endswith("in more than its neighbours lead to. Read it again?")
    back = session.read(typed(session.state(), middle, FRONT, f"{was:.3f}"))["doubt"]
    assert back == ""
    low = session.read(typed(session.state(), middle, FRONT, f"{was - 0.2:.3f}"))["doubt"]
    assert "in less than" in low


@pytest.mark.parametrize(("longest_s", "least", "most"), [(60.0, 1, 1), (0.3, 2, 6)])
def test_readings_close_upon_each_other_are_answered_together_and_in_time(
    board: Path, monkeypatch: pytest.MonkeyPatch, longest_s: float, least: int, most: int
) -> None:
    """Twenty within a second: one answer once they rest, or one whenever the longest wait is over."""
    begun = []

    def counted(*_: object) -> Answered:
        begun.append(time.monotonic())
        return Answered()

    monkeypatch.setattr(answers, "answered", counted)
    monkeypatch.setattr(answers, "QUIET_S", 0.5)
    monkeypatch.setattr(answers, "LONGEST_S", longest_s)
    answerer = Answerer(board)
    for _ in range(20):
        answerer.ask()
        time.sleep(0.05)
    last = time.monotonic()
    answers.waited(answerer, 20.0)
    answerer.close()
    assert least <= len(begun) <= most
    assert begun[-1] > last  # the last reading is in it


def test_a_board_that_cannot_be_answered_still_takes_readings(board: Path) -> None:
    toml = (board / "board.toml").read_text()
    (board / "board.toml").write_text(toml.replace('state = "bare"', 'state = "bear"'))
    session = Session(board)
    answer = session.answer(within_s=20.0)
    assert answer.stopped
    assert any("bear" in line for line in answer.findings)
    session.read(typed(session.state(), 13, FRONT, "1.9"))
    assert cell(board, 13) == "1.9"
    session.close()


def test_heights_typed_on_a_board_that_was_learned_are_answered_before_it_is_learned_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What came back hangs on the heights too, and costs seconds: until then the board stands as it was learned."""
    board = tmp_path / "lopsided"
    shutil.copytree(SAMPLES / "lopsided_board", board)
    first, answerer = answers.answered(board), Answerer(board)
    assert first.ready is not None
    assert "Learned from 2 ribs read bare and under load" in " ".join(first.headline)
    answerer._met = (answers._body(board), first.ready, answers.sink_of(first.ready))
    rows = (board / "notes.csv").read_text(encoding="utf-8").splitlines()
    place = rows[0].split(",").index("bridge_front_mm")
    for k, row in enumerate(rows[1:], start=1):
        cells = row.split(",")
        rows[k] = ",".join([*cells[:place], f"{float(cells[place]) - 0.2:.2f}", *cells[place + 1 :]])
    (board / "notes.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    with monkeypatch.context() as held:
        held.setattr(answers, "learned_of", lambda _: pytest.fail("learned anew"))
        quick = answers.answered(board, kept=answerer._kept)
    assert not quick.exact
    assert quick.ready.board.body is first.ready.board.body
    whole = answers.answered(board)
    assert whole.exact
    moved = whole.table.plane_front_mm - first.table.plane_front_mm
    assert np.abs(moved).min() > 0.1
    assert quick.table.plane_front_mm == pytest.approx(whole.table.plane_front_mm, abs=0.03)
