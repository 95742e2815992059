"""The bench's server: whom it lets in, what it bounds, and that many tablets at once lose nothing."""

import asyncio
import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import httpx
import numpy as np
import pytest
from on_the_bench import HOST, Client, folder, typed

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import sink_of
from bellywork.balance.what_if import with_plate_moved
from bellywork.bench.journal import JOURNAL
from bellywork.bench.plate import move_units
from bellywork.bench.server import NO_TOKEN, Gate, application, new_token
from bellywork.bench.session import Session
from bellywork.board import PianoKind, State
from bellywork.board.plate import PlateMove
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.measures import METRIC, Units

FRONT = "bridge_front_in"


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    opened = Session(folder(tmp_path))
    yield opened
    opened.close()


def client(session: Session, token: str | None = None) -> Client:
    return Client(application(session, Gate(hosts=frozenset({HOST}), token=token)))


def test_the_page_and_its_files_come_from_here_alone(session: Session) -> None:
    bench = client(session)
    page = bench.get("/")
    assert page.status_code == 200
    policy = page.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    for name in re.findall(r'(?:src|rel="stylesheet" href)="([^":]+)"', page.text):
        assert bench.get(f"/{name}").status_code == 200, name
    for name in ("board.js", "three.module.min.js", "three.core.min.js", "OrbitControls.js"):
        text = bench.get(f"/{name}")
        assert text.headers["content-type"].startswith("text/javascript")
        assert not re.search(r"""from\s*["']three["']""", text.text), name


@pytest.mark.parametrize(
    "path", ["/notes.csv", "/board.toml", "/..%2fboard.toml", "/../board.toml", "/bench_journal.jsonl", "/session.py"]
)
def test_nothing_else_is_handed_out(session: Session, path: str) -> None:
    assert client(session).get(path).status_code == 404


def test_another_name_or_another_page_is_refused(session: Session) -> None:
    bench = client(session)
    assert bench.get("/state", headers={"host": "evil.example:8000"}).status_code == 403
    foreign = bench.post("/reading", json={}, headers={"origin": "http://evil.example:8000"})
    assert (foreign.status_code, foreign.text) == (403, "This bench answers its own page only.")
    assert bench.post("/reading", json={}, headers={"origin": f"http://{HOST}"}).status_code == 422


def test_on_a_network_the_token_is_asked_for(session: Session) -> None:
    token = new_token()
    assert len(token) >= 22  # 128 bits in base 64
    bench = client(session, token)
    for answer in (bench.get("/"), bench.get("/state"), bench.get("/bench.js"), bench.post("/reading", json={})):
        assert (answer.status_code, answer.text) == (403, NO_TOKEN)
    assert bench.get("/?token=" + token[:-1]).status_code == 403
    first = bench.get("/?token=" + token)
    cookie = first.headers["set-cookie"].lower()
    assert first.status_code == 200
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert bench.get("/state").status_code == 200  # by its cookie
    assert token != new_token()


def test_what_is_no_reading_is_one_sentence(session: Session) -> None:
    bench = client(session)
    for body in (b"", b"[]", b"{", b"\xff", b"[" * 2000, b'{"note": 13}', b"NaN"):
        answer = bench.post("/reading", content=body)
        assert answer.status_code == 422
        assert answer.text.endswith(".")
    assert bench.post("/reading", content=b"x" * 5000).status_code == 413


def test_a_clash_says_what_stands_there_now(session: Session) -> None:
    bench = client(session)
    state = bench.get("/state").json()
    assert bench.post("/reading", json=typed(state, 13, FRONT, "1.9")).status_code == 200
    clash = bench.post("/reading", json=typed(state, 13, FRONT, "1.91"))
    assert (clash.status_code, clash.json()) == (409, {"now": "1.9"})


def test_the_plate_moved_is_told_as_the_command_tells_it(session: Session) -> None:
    """One question, one answer: `bearing --state strung --plate-up 0.4` on the same folder."""
    session.answer(within_s=20.0)
    bench = client(session)
    told = bench.post("/plate", json={"up_mm": -0.4}).json()
    ready = prepared(read_board(session.folder).board)
    sink = sink_of(ready)
    now = bearing(ready, state=State.STRUNG, sink=sink)
    after = bearing(with_plate_moved(ready, PlateMove(up_mm=-0.4), sink), state=State.STRUNG, sink=sink)
    assert told["state"] == "strung"
    for note, one, other in zip(now.note.tolist(), now.net_deg, after.net_deg):
        assert told["notes"][str(note)][:2] == [f"{one:.2f}°", f"{other:.2f}°"]
    # 0.4 mm is within what the nose allows, 0.1 in = 2.54 mm, and beyond the tail's 0.01 in = 0.254 mm
    assert told["supports"] == [["nose", "-0.40 mm", False], ["tail", "-0.40 mm", True]]
    assert np.all(after.net_deg > now.net_deg)  # a plate that stands lower leaves the bridge higher under the strings
    best = bench.post("/setting", json={}).json()
    assert best["up_mm"] == pytest.approx(plane(ready, plate_first=True).plate.up_mm)
    assert best["words"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"up_mm": "x"}, "three numbers"),
        ({"up_mm": 50}, "at most 20 mm"),
        ({"tilt_x_mm_per_m": 1.0}, "needs the strings"),
    ],
)
def test_a_plate_that_cannot_be_moved_so_is_one_sentence(session: Session, typed: dict[str, object], said: str) -> None:
    session.answer(within_s=20.0)
    answer = client(session).post("/plate", json=typed)
    assert answer.status_code in (409, 422)
    assert said in answer.text


def test_a_board_that_is_not_described_says_what_drawing_it_needs(session: Session) -> None:
    answer = client(session).get("/scene")
    assert answer.status_code == 409
    assert answer.text.startswith("To draw it the board needs panel and outline")


def test_twenty_tablets_and_a_thousand_readings_lose_nothing(session: Session) -> None:
    """Every reading that was acknowledged stands in the journal; each cell holds the last one acknowledged for it."""
    app = application(session, Gate(hosts=frozenset({HOST})))
    notes = [each["note"] for each in session.state()["notes"]]

    async def tablet(number: int) -> int:
        kept = 0
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url=f"http://{HOST}") as bench:
            for k in range(50):
                note, text = notes[(number + k) % len(notes)], f"1.{number:02d}{k:02d}"
                reading = {
                    "key": f"{number} {k}",
                    "note": note,
                    "column": FRONT,
                    "text": text,
                    "before": "",
                    "force": True,
                }
                answer = await bench.post("/reading", json=reading)
                kept += answer.status_code == 200
        return kept

    async def all_at_once() -> int:
        return sum(await asyncio.gather(*(tablet(number) for number in range(20))))

    assert asyncio.run(all_at_once()) == 1000
    entries = [json.loads(line) for line in (session.folder / JOURNAL).read_text().splitlines()]
    readings = [each for each in entries if "text" in each]
    assert len({each["key"] for each in readings}) == 1000
    assert {each["key"] for each in readings} == {each["taken"] for each in entries if "taken" in each}
    state = session.state()
    for entry in state["notes"]:
        assert entry["cells"][FRONT] == [each["text"] for each in readings if each["note"] == entry["note"]][-1]


@pytest.mark.skipif(os.name == "nt", reason="signals")
def test_killed_at_any_moment_it_keeps_what_it_acknowledged(tmp_path: Path) -> None:
    """The command itself, killed the hard way right behind the acknowledgement, and started again."""
    board = folder(tmp_path)
    words = [sys.executable, "-m", "bellywork", "bench", str(board), "--no-browser"]
    for text in ("1.91", "1.92"):
        with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as bench:
            assert bench.stdout is not None
            address = bench.stdout.readline().split()[-1]
            with urllib.request.urlopen(f"{address}state") as answer:
                state = json.load(answer)
            body = json.dumps(typed(state, 13, FRONT, text)).encode()
            with urllib.request.urlopen(urllib.request.Request(f"{address}reading", data=body)) as answer:
                assert answer.status == 200
            bench.send_signal(signal.SIGKILL)
        header, *rows = (line.split(",") for line in (board / "notes.csv").read_text().splitlines())
        assert next(row for row in rows if row[0] == "13")[header.index(FRONT)] == text
        assert [json.loads(line)["text"] for line in (board / JOURNAL).read_text().splitlines() if "text" in line][
            -1
        ] == text


def test_a_port_that_is_taken_is_one_sentence(tmp_path: Path) -> None:
    import socket

    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        words = [sys.executable, "-m", "bellywork", "bench", str(folder(tmp_path)), "--no-browser", "--port", port]
        ran = subprocess.run(words, capture_output=True, text=True, timeout=60)
    assert ran.returncode == 2
    assert ran.stderr.endswith(
        f"bellywork: Port {port} cannot be had (address already in use); give another, or none.\n"
    )


def test_a_move_of_the_plate_is_shown_in_the_users_units() -> None:
    """By hand: 25.4 mm are an inch; an inch to the foot is 1000 / 12 mm to the metre."""
    grand = move_units(METRIC, PianoKind.GRAND)
    assert grand["up_mm"] == {"words": "up", "unit": "mm", "digits": 2, "one": 1.0}
    told = {"words": "rising towards the treble", "unit": "mm/m", "digits": 2, "one": 1.0}
    assert grand["tilt_x_mm_per_m"] == told
    assert grand["tilt_y_mm_per_m"] == {**told, "words": "rising towards the tail"}
    inches = move_units(Units(length="in"), PianoKind.UPRIGHT)
    assert inches["tilt_y_mm_per_m"]["words"] == "rising towards the bottom"
    assert (inches["up_mm"]["unit"], inches["tilt_y_mm_per_m"]["unit"]) == ("in", "in/ft")
    assert 25.4 * inches["up_mm"]["one"] == pytest.approx(1.0, rel=1e-12)
    assert 1000.0 / 12.0 * inches["tilt_y_mm_per_m"]["one"] == pytest.approx(1.0, rel=1e-12)
