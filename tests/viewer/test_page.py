"""The offline page: its data against the scene, and itself in a real browser on a phone, a tablet and a desk."""

import base64
import hashlib
import json
import re
import shutil
from contextlib import contextmanager
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from bellywork_viewer import palette as colours
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.page import MODULES, page, shipped, written
from bellywork_viewer.shot import session_palette
from bellywork_viewer.situation import Setting, Shown
from stages import stage

from bellywork.conventions import note_name

PAGE = page(stage(), Setting())
DATA = json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', PAGE, re.DOTALL)[1])
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
SCREENS = {"phone": (390, 844, 2), "tablet": (768, 1024, 1), "desk": (1440, 900, 1), "phone on its side": (844, 390, 2)}
NOTES = np.linspace(0, 87, 20).astype(int).tolist()

browsed = pytest.mark.skipif(BROWSER is None, reason="no Chromium here; the project's own checks install it")


def unpacked(text, kind, width=1):
    array = np.frombuffer(base64.b64decode(text), kind)
    return array.reshape(-1, width) if width > 1 else array


def test_every_state_and_surface_stands_in_it_with_the_scenes_arrays():
    assert [state["name"] for state in DATA["states"]] == [
        "bare", "preloaded", "strung as it is now", "strung after planing",
    ]  # fmt: skip
    assert DATA["state"] == 2
    for k, shown in enumerate(Shown):
        scene = stage().scene(Setting(shown=shown))
        there = {part["name"]: part for part in DATA["surfaces"] if part["z"][k] is not None}
        assert there.keys() == scene.surfaces.keys()
        for name, surface in scene.surfaces.items():
            kept = there[name]
            xyz = np.column_stack([unpacked(kept["xy"], "<f4", 2), unpacked(kept["z"][k], "<f4")])
            np.testing.assert_allclose(xyz, surface.vertices_mm, atol=1e-3)
            np.testing.assert_array_equal(unpacked(kept["faces"], "<u2", 3), surface.faces)
            if kept["notes"]:
                np.testing.assert_array_equal(stage().line.note[unpacked(kept["notes"], "u1")], surface.note)
    assert DATA["states"][2]["notes"][87][0] == "Note 88, C8, top, strung"


@pytest.mark.parametrize("colour", DATA["colours"])
def test_every_colour_of_every_state_is_that_of_its_number_on_one_scale(colour):
    situations = [stage().desk.situation(Setting(shown=shown)) for shown in Shown]
    palette = session_palette([stage()], [situations], colour)
    for state, situation in zip(DATA["states"], situations):
        rgb = unpacked(state["colours"][colour]["rgb"], "u1", 3)
        np.testing.assert_array_equal(rgb, palette.colours(stage().values(situation, colour)))
    legend = DATA["colours"][colour]
    assert legend["heading"] == COLOURS[colour].heading(stage().units)
    assert [float(legend["scale"][k]) for k in (0, -1)] == [palette.low, palette.high]
    np.testing.assert_array_equal(
        unpacked(legend["ramp"], "u1", 3)[[0, -1]], palette.colours([palette.low, palette.high])
    )


def test_it_is_one_small_file_that_may_fetch_nothing():
    assert len(PAGE.encode()) <= 3e6
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', PAGE)[1]
    start = re.search(r"<script>(.*?)</script></body>", PAGE, re.DOTALL)[1]
    digest = base64.b64encode(hashlib.sha256(start.encode()).digest()).decode()
    assert policy == f"default-src 'none'; style-src 'unsafe-inline'; script-src blob: 'sha256-{digest}'"
    own = PAGE
    for file in ("three.core.min.js", "three.module.min.js", "OrbitControls.js"):
        own = own.replace(shipped(file), "")
    assert not re.findall(r"(?:src|href)\s*=|@import|https?://|fetch\(|XMLHttpRequest", own)


def test_the_library_is_shipped_with_its_licence():
    assert "The MIT License" in shipped("three.LICENSE.txt")
    assert shipped("three.LICENSE.txt") in PAGE
    for file in MODULES.values():
        assert "</script" not in shipped(file)
        assert "<!--" not in shipped(file)


def test_a_name_cannot_become_a_script():
    name = '</script><script>alert(1)</script><img src=x onerror="alert(2)"> {{data}}'
    named = page(stage(), Setting())
    bad = stage().board
    try:
        stage().board = replace(bad, name=name)
        named = page(stage(), Setting())
    finally:
        stage().board = bad
    assert "<script>alert" not in named
    assert "<img" not in named
    data = json.loads(re.search(r'id="data">(.*?)</script>', named, re.DOTALL)[1])
    assert data["states"][0]["title"][0] == name


def test_a_page_is_marked_as_a_result_and_may_be_replaced(tmp_path):
    written(PAGE, tmp_path / "p.html")
    written(PAGE, tmp_path / "p.html")
    assert (tmp_path / "p.html").read_text(encoding="utf-8") == PAGE


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=BROWSER,
            args=["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
        )
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "p.html"
    path.write_text(PAGE, encoding="utf-8")
    return path.as_uri()


@contextmanager
def seen(browser, address, screen):
    """The page on a screen, nothing but the file itself asked for and nothing said on the console."""
    wide, high, sharp = SCREENS[screen]
    hand = screen != "desk"
    context = browser.new_context(
        viewport={"width": wide, "height": high}, device_scale_factor=sharp, is_mobile=hand, has_touch=hand
    )
    shown, asked, said = context.new_page(), [], []
    shown.on("request", lambda request: asked.append(request.url))
    shown.on("console", lambda message: said.append(message.text))
    shown.on("pageerror", lambda error: said.append(str(error)))
    shown.goto(address)
    shown.locator('#view[data-drawn]:not([data-drawn="0"])').wait_for(timeout=90_000)
    yield shown
    context.close()
    assert [url for url in asked if not url.startswith("blob:")] == [address]
    # the software driver of a machine without graphics tells of its slowness
    assert not [words for words in said if "GL Driver Message" not in words and "GPU stall" not in words]


def on_the_glass(shown, places_mm):
    """Where places stand on the screen, from the camera's matrices and the box in which the canvas is shown."""
    matrices = shown.evaluate("[board.camera.matrixWorldInverse.elements, board.camera.projectionMatrix.elements]")
    eye, lens = (np.array(each).reshape(4, 4).T for each in matrices)
    box = shown.locator("#view").bounding_box()
    at = np.concatenate([places_mm, np.ones((len(places_mm), 1))], axis=1) @ (lens @ eye).T
    flat = at[:, :2] / at[:, 3:]
    return np.column_stack(
        [box["x"] + (flat[:, 0] + 1) / 2 * box["width"], box["y"] + (1 - flat[:, 1]) / 2 * box["height"]]
    )


@browsed
@pytest.mark.slow
@pytest.mark.parametrize("screen", SCREENS)
def test_taps_aimed_at_twenty_notes_hit_those_notes(browser, address, screen):
    paths = stage().string_paths_mm(stage().desk.situation(Setting()))[NOTES]
    with seen(browser, address, screen) as shown:
        assert shown.evaluate("[innerWidth, innerHeight]") == list(SCREENS[screen][:2])
        assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth")
        shown.get_by_role("button", name="from above").click()
        # where strings do not cross, in the middle of the free part before the bridge
        places = on_the_glass(shown, 0.9 * paths[:, 0] + 0.1 * paths[:, 1])
        for note, (x, y) in zip(NOTES, places):
            if screen == "desk":
                shown.mouse.click(x, y)
            else:
                shown.touchscreen.tap(x, y)
            assert shown.evaluate("board.note") == note
            first = shown.locator("#note strong").inner_text()
            assert first.startswith(f"Note {note + 1}, {note_name(note + 1)},")
            assert shown.locator(".label.picked").inner_text().startswith(note_name(note + 1))
        shown.evaluate("board.pick(board.data.states[board.state].worst)")  # one of the worst: it is named once
        words = shown.evaluate("[...board.labels.children].map((each) => each.textContent)")
        assert len(words) == len(set(words))


@browsed
@pytest.mark.slow
def test_what_is_drawn_stands_where_it_is_aimed_at_and_in_its_colours(browser, address, tmp_path):
    with seen(browser, address, "desk") as shown:
        shown.get_by_role("button", name="from above").click()
        image = picture(shown, tmp_path)
        situation = stage().desk.situation(Setting())
        paths = stage().string_paths_mm(situation)
        rgb = unpacked(DATA["states"][2]["colours"]["deviation"]["rgb"], "u1", 3).astype(int)
        for note, (x, y) in zip(NOTES, on_the_glass(shown, 0.9 * paths[NOTES, 0] + 0.1 * paths[NOTES, 1])):
            near = image[round(y) - 2 : round(y) + 3, round(x) - 2 : round(x) + 3].reshape(-1, 3)
            assert np.abs(near - rgb[note]).max(axis=1).min() < 60  # a thin line is mixed with what is beside it
        # the panel is drawn no darker than leaves neutral strings plain: contrast as WCAG 2.1 defines it
        x_mm, y_mm = stage().plan.rear_mm[:26].mean(axis=0)
        panel = on_the_glass(shown, np.array([[x_mm + 150.0, y_mm + 60.0, 8.0]]))[0]
        wood = image[round(panel[1]) - 8 : round(panel[1]) + 8, round(panel[0]) - 8 : round(panel[0]) + 8]
        assert contrast(np.median(wood.reshape(-1, 3), axis=0), colours.NEUTRAL) >= 1.9
        shown.locator("#state").select_option(label="strung after planing")
        assert (np.abs(picture(shown, tmp_path) - colours.NEUTRAL).max(axis=2) <= 1).sum() > 300
        shown.locator("#colour").select_option("crown")
        ramp = picture(shown, tmp_path)
        assert np.abs(ramp - image).max(axis=2).mean() > 5
        assert shown.locator("#heading").inner_text() == "crown of the panel, mm"


def picture(shown, folder):
    from PIL import Image

    shown.screenshot(path=folder / "p.png")
    return np.asarray(Image.open(folder / "p.png").convert("RGB")).astype(int)


def contrast(one, other):
    def luminance(rgb):
        share = np.array(rgb) / 255.0
        return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]

    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@browsed
@pytest.mark.slow
def test_turn_and_zoom_have_limits_and_a_drag_picks_nothing(browser, address):
    with seen(browser, address, "desk") as shown:
        shown.set_viewport_size({"width": 900, "height": 600})  # a hundred turns of the wheel, each drawn
        for preset in ("from the keyboard", "from above"):
            shown.get_by_role("button", name=preset).click()
            shown.mouse.move(500, 200)
            shown.mouse.down()
            shown.mouse.move(500, 580, steps=8)
            shown.mouse.up()
            assert shown.evaluate("board.note") == -1
            up = shown.evaluate(
                "new board.camera.position.constructor(0, 1, 0).transformDirection(board.camera.matrixWorld).z"
            )
            assert up >= -1e-3
            for turn in (-1, 1):
                for _ in range(25):
                    shown.mouse.wheel(0, 600 * turn)
            shown.wait_for_timeout(300)
            farthest = shown.evaluate("board.camera.position.length() / (board.camera.zoom || 1)")
            assert farthest < 60_000  # mm: the board is two metres long
            inside = on_the_glass(shown, np.array([DATA["box"][0], DATA["box"][1]]))
            assert np.ptp(inside, axis=0).max() > 40  # px: still to be seen


@browsed
@pytest.mark.slow
def test_keys_step_turn_and_zoom_and_everything_is_named(browser, address):
    with seen(browser, address, "desk") as shown:
        view = shown.locator("#view")
        view.focus()
        shown.keyboard.press("ArrowRight")
        worst = DATA["states"][2]["worst"]
        assert shown.evaluate("board.note") == worst
        shown.keyboard.press("ArrowLeft")
        assert shown.evaluate("board.note") == worst - 1
        before = shown.evaluate("board.camera.position.toArray()")
        shown.keyboard.press("Shift+ArrowLeft")
        turned = shown.evaluate("board.camera.position.toArray()")
        assert np.linalg.norm(np.subtract(turned, before)) > 50
        shown.keyboard.press("+")
        away = "board.camera.position.distanceTo(board.controls.target)"
        nearer = shown.evaluate(away)
        shown.keyboard.press("-")
        assert shown.evaluate(away) > nearer
        shown.keyboard.press("Escape")
        assert shown.evaluate("board.note") == -1
        for role, name in (
            ("application", "The board in three dimensions"), ("combobox", "state"), ("combobox", "before"),
            ("combobox", "colour"),
            ("button", "under the ribs"), ("button", "note →"), ("group", "seen from"), ("img", "off target, °"),
            ("status", ""),
        ):  # fmt: skip
            assert shown.get_by_role(role, name=name).count() == 1
        shown.get_by_role("button", name="under the ribs").click()
        assert shown.locator("#colour").input_value() == "crown"


@browsed
@pytest.mark.slow
@pytest.mark.parametrize("screen", SCREENS)
def test_before_and_after_are_seen_from_the_same_side_with_the_numbers_of_both(browser, address, screen):
    names = [state["name"] for state in DATA["states"]]
    now, then = names.index("strung as it is now"), names.index("strung after planing")
    was = stage().desk.situation(Setting()).told(39)
    with seen(browser, address, screen) as shown:
        swap = shown.get_by_role("button", name="show before")
        assert swap.is_disabled()  # it is the state that is shown
        shown.locator("#state").select_option(label="strung after planing")
        shown.evaluate("board.pick(39)")
        note = shown.locator("#note").inner_text()
        for line in (*stage().desk.situation(Setting(shown=Shown.PLANED)).told(39), f"{was[1]}   {was[2]}"):
            assert line in note
        camera = "[board.camera.position.toArray(), board.state]"
        place, state = shown.evaluate(camera)
        assert state == then
        swap.click()
        assert shown.evaluate(camera) == [place, now]
        assert shown.locator("#note").inner_text() == note
        assert shown.locator("#said p").all_inner_texts()[:2] == ["Shown: before.", "strung as it is now"]
        strings = "board.parts.find((part) => part.surface.name === 'strings').mesh.geometry.attributes.color.array"
        rgb = unpacked(DATA["states"][now]["colours"]["deviation"]["rgb"], "u1", 3)[39].tolist()
        notes = next(each["notes"] for each in DATA["surfaces"] if each["name"] == "strings")
        at = unpacked(notes, "u1").tolist().index(39)
        assert shown.evaluate(f"[...{strings}.slice({3 * at}, {3 * at + 3})]") == rgb
        shown.get_by_role("button", name="show after").click()
        assert shown.evaluate(camera) == [place, then]


@browsed
@pytest.mark.slow
@pytest.mark.parametrize("screen", SCREENS)
def test_nothing_lies_over_the_board_or_over_other_words(browser, address, screen):
    with seen(browser, address, screen) as shown:
        scene, aside = shown.locator("main").bounding_box(), shown.locator("aside").bounding_box()
        wide, high, _ = SCREENS[screen]
        assert min(scene["width"] / wide, scene["height"] / high) >= 0.44
        assert scene["x"] + scene["width"] <= aside["x"] + 0.5 or scene["y"] + scene["height"] <= aside["y"] + 0.5
        boxes = [each.bounding_box() for each in shown.locator("aside > *:visible").all()]
        for above, below in pairwise(boxes):
            assert above["y"] + above["height"] <= below["y"] + 0.5
        corners = np.array([[x, y, 0.0] for x in (0, 1) for y in (0, 1)])
        low, high_mm = np.array(DATA["box"])
        at = on_the_glass(shown, low + corners * (high_mm - low))
        assert (at >= [scene["x"] - 1, scene["y"] - 1]).all()
        assert (at <= [scene["x"] + scene["width"] + 1, scene["y"] + scene["height"] + 1]).all()
        labels = [each.bounding_box() for each in shown.locator(".label.worst:visible").all()]
        for k, one in enumerate(labels):
            for other in labels[k + 1 :]:
                apart = abs(one["x"] + one["width"] / 2 - other["x"] - other["width"] / 2)
                clear = abs(one["y"] + one["height"] / 2 - other["y"] - other["height"] / 2)
                assert (
                    apart >= (one["width"] + other["width"]) / 2 - 1
                    or clear >= (one["height"] + other["height"]) / 2 - 1
                )
