"""The window under a virtual screen: every slider dragged, every key pressed, clicks on strings and beside them."""

import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from bellywork_viewer.window_keys import KEYS
from bellywork_viewer.window_sliders import SLIDERS

PROGRAM = Path(__file__).with_name("on_a_screen.py")
SIZE = (1366, 768)


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    if shutil.which("Xvfb") is None:
        pytest.skip("no virtual screen here; the project's own checks install it")
    folder, read, write = tmp_path_factory.mktemp("window"), *os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1700x1100x24"], pass_fds=[write], stderr=subprocess.DEVNULL
    )
    try:
        os.close(write)
        number = os.read(read, 16).decode().strip()
        given = {**os.environ, "DISPLAY": f":{number}"}
        given.pop("VTK_DEFAULT_OPENGL_WINDOW", None)
        words = [sys.executable, str(PROGRAM), "{}x{}".format(*SIZE), str(folder)]
        begun = time.monotonic()
        done = subprocess.run(words, env=given, capture_output=True, text=True, check=True, timeout=900)
        return {**json.loads(done.stdout), "folder": folder, "took_s": time.monotonic() - begun}
    finally:
        os.close(read)
        screen.terminate()
        screen.wait()


pytestmark = pytest.mark.slow


def test_each_slider_is_dragged_to_its_place_and_says_its_number(told):
    dragged = told["dragged"]
    assert dragged["plate"] == pytest.approx(0.5, abs=0.3)
    assert dragged["tilt"] == pytest.approx([-0.4, 0.3], abs=0.2)
    assert dragged["shift"] == pytest.approx(0.2, abs=0.1)
    assert dragged["rh"] in (52.0, 57.0)
    assert f"plate up  {dragged['plate']:+.2f} mm" in dragged["titles"]
    assert dragged["picked"] == -1  # a drag on a slider is no click on a string
    assert told["back"] == told["start"]


def test_every_key_does_what_the_table_says(told):
    keys = told["keys"]
    assert set(keys) == {key.key for key in KEYS} - {"q"}
    fields = {"show_state": "shown", "look_from": "preset", "colour_by": "colour"}
    for key in KEYS:
        if key.value == "band":  # nothing was learned of this board, so that is said and the colour stays
            assert keys[key.key]["colour"] == keys["n"]["colour"] == "force"
        elif key.method in fields:
            assert keys[key.key][fields[key.method]] == key.value
    assert keys["m"]["heights"] == 5.0
    assert keys["Right"]["picked"] == keys["Left"]["picked"] + 1
    assert keys["x"]["help"]
    assert all(sum(each["sliders"]) == len(SLIDERS) for each in keys.values())  # no key takes a slider away


def test_the_list_of_keys_lies_over_no_part_of_the_board(told):
    assert told["under the keys"] == 0


def test_the_toolkits_own_keys_change_nothing(told):
    assert told["after toolkit keys"] == told["before toolkit keys"]
    assert told["toolkit keys changed"] == 0


def test_clicks_pick_the_string_they_are_aimed_at_and_nothing_else_picks(told):
    assert all(aimed == picked for aimed, picked in told["clicks"])
    for other in ("after a turn", "after a click on paper"):
        before, after = told[other]
        assert before == after


def test_every_slider_stands_clear_of_the_others_and_of_the_board(told):
    from PIL import Image

    image = np.asarray(Image.open(told["folder"] / "start.png").convert("RGB")).astype(int)
    inked = (np.abs(image - image[5, SIZE[0] // 2]).max(axis=2) > 60)[:, : round(0.2 * SIZE[0])]
    rows = inked[round(0.4 * SIZE[1]) : round(0.88 * SIZE[1])].any(axis=1)
    # from above: the line of a slider, its title, the next slider: ten blocks with blank paper between them
    blocks = np.diff(np.concatenate([[0], rows.astype(int)])) == 1
    assert blocks.sum() == 2 * len(SLIDERS)
