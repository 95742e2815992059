"""The bench's page in a real browser: typed by taps, cut off and back, two tablets, read at arm's length."""

import re
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from on_the_bench import described, folder
from playwright.sync_api import Browser, Page, expect, sync_playwright

from bellywork.balance.bearing_table import bearing
from bellywork.balance.sink import sink_of
from bellywork.balance.what_if import with_plate_moved
from bellywork.bench.server import Gate, application
from bellywork.bench.session import Session
from bellywork.board import State
from bellywork.board.plate import PlateMove
from bellywork.cli.bench import bound
from bellywork.conventions import note_name
from bellywork.estimate.estimate import estimated
from bellywork.files.read import read_board
from bellywork.instrument import prepared

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")
SWITCHES = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
            "--disable-component-update", "--disable-sync", "--disable-quic"]  # fmt: skip
FRONT = "bridge_front_in"


class Bench(NamedTuple):
    """A bench that runs: its address, its folder and its session."""

    address: str
    board: Path
    session: Session


@contextmanager
def running(board: Path) -> Iterator[Bench]:
    """A bench of a folder, served for as long as it is looked at."""
    session = Session(board)
    door = bound("127.0.0.1", 0)
    host = f"127.0.0.1:{door.getsockname()[1]}"
    config = uvicorn.Config(
        application(session, Gate(hosts=frozenset({host}))), log_level="critical", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]})
    thread.start()
    yield Bench(f"http://{host}/", board, session)
    server.should_exit = True
    thread.join()
    door.close()
    session.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with running(folder(tmp_path)) as opened:
        yield opened


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield started
        started.close()


def opened(browser: Browser, bench: Bench, wide: int = 390, high: int = 844) -> Page:
    page = browser.new_context(viewport={"width": wide, "height": high}, has_touch=True).new_page()
    page.goto(bench.address)
    expect(page.locator("#note")).not_to_have_text("–")
    return page


def tapped(page: Page, text: str) -> None:
    for letter in text:
        name = {".": "point", " ": "space", "/": "fraction", "-": "minus"}.get(letter, letter)
        page.locator(f'#keys button[aria-label="{name}"]').tap()


def cell(bench: Bench, note: int) -> str:
    header, *rows = (line.split(",") for line in (bench.board / "notes.csv").read_text().splitlines())
    return next(row[header.index(FRONT)] for row in rows if row[0] == str(note))


def until(true: object, seconds: float = 10.0) -> None:
    end = time.monotonic() + seconds
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.05)


@pytest.mark.parametrize(("wide", "high"), [(390, 844), (1024, 768)])
def test_readings_are_typed_with_a_thumb_and_answered_as_the_command_answers(
    browser: Browser, bench: Bench, wide: int, high: int
) -> None:
    page = opened(browser, bench, wide, high)
    page.locator("#columns button", has_text="bridge front").tap()
    expect(page.locator("#note")).to_have_text("A0")
    tapped(page, "1.94")
    expect(page.locator("#typed")).to_have_text("1.94")
    page.locator("#keep").tap()
    until(lambda: cell(bench, 1) == "1.94")
    expect(page.locator("#note")).to_have_text("A1")  # the next one by itself
    tapped(page, "1 7/8")
    page.locator("#keep").tap()
    until(lambda: cell(bench, 13) == "1 7/8")
    page.locator("#before").tap()
    answer = bench.session.answer(within_s=20.0)
    name, text = answer.legend["block_mm"][0], answer.notes[13]["block_mm"]
    assert answer.legend["net_deg"][0] == "net, bare"  # not the strung one beside the picture
    expect(page.locator("#told div", has=page.locator(f"dt:text-is('{name}')")).locator("dd")).to_have_text(
        f"{text} mm"
    )
    page.locator("#undo").tap()
    until(lambda: cell(bench, 13) == "1.885")
    page.locator("nav button", has_text="plane").tap()
    first = page.locator("#rows tr").first.locator("td").all_inner_texts()
    assert first[0] == "A0"
    assert answer.notes[1]["faired_front_mm"] in first
    page.context.close()


def test_cut_off_it_goes_on_and_catches_up(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench)
    page.locator("#columns button", has_text="bridge front").tap()
    page.context.set_offline(True)
    for text in ("1.95", "1.89"):
        tapped(page, text)
        page.locator("#keep").tap()
    expect(page.locator("#link")).to_contain_text("2 readings wait on this device")
    expect(page.locator("#note")).to_have_text("A♯2")
    assert cell(bench, 1) == "1.930"
    page.context.set_offline(False)
    until(lambda: (cell(bench, 1), cell(bench, 13)) == ("1.95", "1.89"))
    expect(page.locator("#link")).to_have_text("")
    page.context.close()


def test_one_cell_typed_twice_without_a_connection_does_not_clash_with_itself(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench)
    page.locator("#columns button", has_text="bridge front").tap()
    page.context.set_offline(True)
    for text in ("1.95", "1.96"):
        tapped(page, text)
        page.locator("#keep").tap()
        page.locator("#before").tap()
    page.context.set_offline(False)
    until(lambda: cell(bench, 1) == "1.96")
    expect(page.locator("#link")).to_have_text("")
    expect(page.locator("#clash")).to_be_hidden()
    page.context.close()


def test_two_tablets_see_each_other_and_a_clash_is_shown(browser: Browser, bench: Bench) -> None:
    one, other = opened(browser, bench), opened(browser, bench)
    for page in (one, other):
        page.locator("#columns button", has_text="bridge front").tap()
    other.context.set_offline(True)
    tapped(other, "1.96")
    other.locator("#keep").tap()
    tapped(one, "1.95")
    one.locator("#keep").tap()
    until(lambda: cell(bench, 1) == "1.95")
    other.context.set_offline(False)
    expect(other.locator("#clashed")).to_have_text("A0: somebody else wrote 1.95; you typed 1.96.")
    assert cell(bench, 1) == "1.95"
    other.locator("#mine").tap()
    until(lambda: cell(bench, 1) == "1.96")
    one.locator("#before").tap()
    expect(one.locator("#typed")).to_have_text("1.96", timeout=2000)
    for page in (one, other):
        page.context.close()


def test_the_plate_is_tried_with_a_thumb(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench)
    bench.session.answer(within_s=20.0)
    page.locator("nav button", has_text="plate").tap()
    first = page.locator("#platerows tr").first.locator("td")
    expect(first.nth(0)).to_have_text("A0")
    now = first.nth(1).inner_text()
    page.locator("#moves button[aria-label='up: less']").tap()
    expect(page.locator("#up_mm")).to_have_text("-0.10 mm")
    expect(first.nth(2)).not_to_have_text(now)
    assert float(first.nth(2).inner_text()) > float(now)
    page.locator("#asitis").tap()
    expect(first.nth(2)).to_have_text(now)
    page.context.close()


def test_by_keyboard_alone_and_with_names_for_a_screen_reader(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench, 1440, 900)
    page.keyboard.press("ArrowRight")
    expect(page.locator("#note")).to_have_text("A1")
    page.keyboard.type("1.26")
    page.keyboard.press("Enter")
    until(lambda: "1.26," in (bench.board / "notes.csv").read_text())
    nameless = [
        button.get_attribute("id")
        for button in page.locator("button, input, select, canvas").all()
        if not (button.get_attribute("aria-label") or button.inner_text() or button.evaluate("e => e.labels?.length"))
    ]
    assert nameless == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.context.close()


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    """A bench on a board that is described, so that it can be pressed and learned."""
    with running(described(tmp_path)) as bench:
        bench.session.answer(within_s=120.0)
        yield bench


def shown(page: Page, stage: str) -> None:
    page.locator(f"nav button[data-stage={stage}]").tap()
    expect(page.locator("#stageline")).not_to_contain_text("Working it out", timeout=60000)


def every_note_is_reached(page: Page, note: int) -> None:
    """A note that is no reference note: its row, and the list of what to read, lead to its reading, strung."""
    lines = page.locator("#stageblocks tbody tr:not(.group):visible")
    few = lines.count()
    page.locator("#stageblocks button", has_text="all notes").tap()
    assert lines.count() > few
    row = lines.filter(has=page.locator(f"td:text-is('{note}')")).first
    row.tap()
    expect(page.locator("#laternote")).to_have_value(str(note), timeout=60000)
    expect(page.locator("#laterstate")).to_have_value("strung")
    page.locator("#laterstate").select_option("bare")
    shown(page, "string")
    assert page.locator("#next li").count() == 5
    page.locator("#everynext").tap()
    page.locator("#next button", has=page.locator(f"b:text-is('{note_name(note)}')")).tap()
    expect(page.locator("#laternote")).to_have_value(str(note), timeout=60000)
    expect(page.locator("#laterstate")).to_have_value("strung")


def test_a_board_is_pressed_strung_and_looked_at_again_from_a_phone(browser: Browser, own: Bench) -> None:
    page = opened(browser, own)
    shown(page, "press")
    first = page.locator("form.place").first
    name = first.locator("b").inner_text()
    first.get_by_label("dial at").fill("0.39")
    first.locator("button").tap()
    expect(page.locator(".place b", has_text="trial 1:")).to_have_count(1, timeout=60000)
    assert page.locator("form.place b", has_text=name).count() == 0  # it tells nothing new there
    answer = own.session.answer(within_s=60.0)
    expect(page.locator("#stageline li").first).to_have_text(
        next(line for line in answer.headline if line.startswith("Learned from 1 dial"))
    )
    page.locator("nav button[data-stage=measure]").tap()
    at = own.session.state()["notes"][0]
    got, low, high, wanted = at["reach"]
    assert f"{got:.2f} ± {(high - low) / 2.0:.2f}" == at["told"]["you_get_deg"]
    expect(page.locator("#note")).to_have_text(at["name"])
    places = [page.locator(f"#reach {mark}").first for mark in (".band", ".got", ".want")]
    start, middle, mark = (float(each.get_attribute(name) or "nan") for each, name in zip(places, ("x", "cx", "x1")))
    end = start + float(places[0].get_attribute("width") or "nan")
    assert (middle - start) / (end - start) == pytest.approx((got - low) / (high - low), abs=0.02)  # in tenths of a dot
    assert (mark - middle) / (end - start) == pytest.approx((wanted - got) / (high - low), abs=0.02)
    page.locator("nav button[data-stage=look]").tap()
    expect(page.locator("#legend")).to_contain_text("off target", timeout=60000)
    page.locator("#colour").select_option("band")
    expect(page.locator("#legend")).to_contain_text("band of the net bearing, °: known best")
    page.locator("#slide_up_mm").fill("0.5")
    expect(page.locator("#legend")).to_contain_text("not known in this state, or with the plate moved", timeout=60000)
    page.locator("#level").tap()
    expect(page.locator("#legend")).to_contain_text("known best", timeout=60000)
    shown(page, "string")
    state = prepared(read_board(own.board).board)
    strung = bearing(estimated(state).ready, state=State.STRUNG)
    row = page.locator("#stageblocks tbody tr:not(.group)").first.locator("td").all_inner_texts()
    assert row[2:4] == [f"{strung.front_deg[0]:.2f}", f"{strung.rear_deg[0]:.2f}"]
    every_note_is_reached(page, strung.note[~strung.reference].tolist()[-1])
    page.locator("#latervalue").fill("42.31")
    page.locator("#later button").tap()
    expect(page.locator("#stageblocks caption")).to_have_text("Height of the bridge top", timeout=60000)
    assert page.locator("#stageblocks tbody td", has_text="42.31").count() == 1
    shown(page, "press")
    page.locator(".place button", has_text="take out").tap()
    until(lambda: not (own.board / "trials.csv").exists())
    page.locator("form.place").first.get_by_label("dial at").fill("high")
    typed = page.locator("form.place").filter(has=page.locator("input[aria-label^=dial]").and_(page.locator(":focus")))
    typed.locator("button").tap()  # wherever the renewed list has it
    expect(page.locator("#rowdoubt")).to_contain_text("Found 'high' for sink_mm")
    page.context.close()


def test_what_is_being_typed_at_a_place_stays_when_another_tablet_presses_there(browser: Browser, own: Bench) -> None:
    page = opened(browser, own)
    shown(page, "press")
    form = page.locator("form.place").first
    name = form.locator("b").inner_text()
    form.get_by_label("dial at").fill("0.4")
    cells = form.evaluate("each => each.told.cells")
    own.session.add_row({"key": "x", "table": "trials", "cells": {**cells, "force": "250", "sink": "0.39"}})
    expect(page.locator(".place b", has_text="trial 1:")).to_have_count(1, timeout=60000)
    mine = page.locator("form.place").filter(has=page.locator("b", has_text=name))
    expect(mine.get_by_label("dial at")).to_have_value("0.4")
    expect(mine.get_by_label("dial at")).to_be_focused()
    page.context.close()


def test_no_rule_of_accessibility_is_seriously_broken(browser: Browser, own: Bench) -> None:
    """axe-core's rules (WCAG 2 A and AA, best practice), at every stage, by day and by night."""
    for wide, high in ((390, 844), (820, 1180), (1440, 900)):
        page = browser.new_context(
            viewport={"width": wide, "height": high}, has_touch=True, bypass_csp=True, reduced_motion="reduce"
        ).new_page()
        page.goto(own.address)
        expect(page.locator("#note")).not_to_have_text("–")
        for stage in page.locator("nav button").evaluate_all("all => all.map((each) => each.dataset.stage)"):
            page.locator(f"nav button[data-stage={stage}]").tap()
            if stage in ("press", "preload", "string", "again"):
                expect(page.locator("#stageline")).not_to_contain_text("Working it out", timeout=60000)
            page.wait_for_timeout(200)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (wide, stage)
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
                told = Axe().run(page).response
                found, passed = told["violations"], told["passes"]
                assert len(found) + len(passed) > 10
                grave = [each for each in found if each["impact"] in ("serious", "critical")]
                html = [(each["id"], each["nodes"][0]["html"][:200]) for each in grave]
                assert grave == [], (scheme, wide, stage, html)
        page.context.close()


def test_the_plate_is_tried_in_the_picture_and_shown_before_and_after(browser: Browser, own: Bench) -> None:
    """The numbers with the plate 0.5 mm lower and rising 0.3 mm per m are those of the library's bearing so moved."""
    page = opened(browser, own, 820, 1180)
    page.locator("nav button[data-stage=look]").tap()
    expect(page.locator("#legend")).not_to_have_text("", timeout=60000)
    words = page.locator("#scenewords")
    before = words.inner_text()
    page.get_by_role("slider", name="plate up").fill("-0.5")
    page.get_by_role("slider", name="rising towards the treble").fill("0.3")
    ready = prepared(read_board(own.board).board)
    moved = with_plate_moved(ready, PlateMove(up_mm=-0.5, tilt_x_mm_per_m=0.3), sink_of(ready))
    strung, plain = bearing(moved, state=State.STRUNG, sink=sink_of(ready)), bearing(ready, state=State.STRUNG)
    name = page.locator("#note").inner_text()
    place = [note_name(note) for note in strung.note.tolist()].index(name)
    expect(words).to_contain_text("plate -0.50 mm, tilt +0.30 mm")
    expect(words).to_contain_text(f"net {strung.net_deg[place]:.2f}°")
    expect(words.locator("p").last).to_contain_text(f"net {plain.net_deg[place]:.2f}°")
    assert abs(strung.net_deg[place] - plain.net_deg[place]) > 0.02
    shown = page.evaluate("board.data.states[board.state].notes.map((lines) => lines[1])")
    assert [f"net {net:.2f}°" in line for net, line in zip(strung.net_deg, shown)] == [True] * len(shown)
    page.locator("#swap").tap()
    expect(words.locator("p").first).to_have_text("Shown: before.")
    assert page.evaluate("board.data.states[board.state].title[1]") == "strung as it is now"
    page.locator("#swap").tap()
    page.locator("#level").tap()
    expect(words).not_to_contain_text("plate -0.50 mm")
    assert words.locator("p").first.inner_text() in before
    page.locator("nav button[data-stage=plate]").tap()
    expect(page.locator("#up_mm")).to_have_text("0.00 mm")  # one plate in both places
    page.context.close()


def test_any_reading_is_taken_back_with_the_days_humidity_told(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench)
    page.locator("#rh").fill("47")
    page.locator("#columns button", has_text="bridge front").tap()
    for text in ("1.95", "1.89"):
        tapped(page, text)
        page.locator("#keep").tap()
    until(lambda: (cell(bench, 1), cell(bench, 13)) == ("1.95", "1.89"))
    page.locator("#typedlist summary").tap()
    line = page.locator("#typedlist li", has_text="A0, bridge front in: 1.95, before 1.930")
    expect(line).to_contain_text("47 % RH")
    line.locator("button").tap()
    until(lambda: (cell(bench, 1), cell(bench, 13)) == ("1.930", "1.89"))
    page.context.close()


def test_a_tap_on_what_to_read_next_goes_there(browser: Browser, bench: Bench) -> None:
    page = opened(browser, bench)
    bench.session.answer(within_s=20.0)
    first = page.locator("#next button").nth(1)
    name = first.locator("b").inner_text()
    first.tap()
    expect(page.locator("#note")).to_have_text(name)
    page.context.close()


def test_an_old_browser_is_told_so_and_has_the_numbers(browser: Browser, bench: Bench) -> None:
    bench.session.answer(within_s=20.0)
    old = browser.new_context(java_script_enabled=False).new_page()
    old.goto(bench.address)
    expect(old.locator("#old")).to_be_visible()
    old.locator("#old a").click()
    assert old.locator("tbody tr").count() == len(bench.session.answer().notes)
    old.context.close()


def test_without_webgl_one_sentence_and_the_numbers_stand(browser: Browser, own: Bench) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    context.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page = context.new_page()
    page.goto(own.address)
    expect(page.locator("#old")).to_have_count(0)
    page.locator("nav button[data-stage=look]").tap()
    expect(page.locator("#scenewords")).to_contain_text("WebGL 2 is missing", timeout=30000)
    expect(page.locator("#told dd").first).to_contain_text("°")
    context.close()


def test_what_is_read_stands_out_seven_to_one() -> None:
    """WCAG 2.1, 1.4.6: contrast (L₁ + 0.05)/(L₂ + 0.05) of 7 or more, by day and by night."""
    css = files("bellywork.bench").joinpath("web", "bench.css").read_text(encoding="utf-8")

    def light(colour: str) -> float:
        digits = colour.lstrip("#")
        digits = "".join(2 * each for each in digits) if len(digits) == 3 else digits
        parts = [int(digits[k : k + 2], 16) / 255.0 for k in (0, 2, 4)]
        linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    themes = [dict(re.findall(r"--([a-z-]+): (#\w+)", block)) for block in re.findall(r":root \{([^}]*)\}", css)]
    assert len(themes) == 2
    for theme in themes:
        for ink, paper in (("ink", "paper"), ("quiet", "paper"), ("alarm", "paper"), ("on-strong", "strong")):
            bright, dark = sorted((light(theme[ink]), light(theme[paper])), reverse=True)
            assert (bright + 0.05) / (dark + 0.05) >= 7.0, (ink, paper)
