"""The offline page: its data against the scene, and itself in a browser without any network."""

import base64
import json
import re
import shutil
import subprocess

import numpy as np
import pytest
from bellywork_viewer.page import page, written
from bellywork_viewer.shot import Pane, scenes
from bellywork_viewer.situation import Setting, Shown
from stages import stage

PAGE = page(stage(), Setting(shown=Shown.PLANED))
DATA = json.loads(re.search(r'<script id="data" type="application/json">(.*?)</script>', PAGE, re.DOTALL)[1])
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def test_nothing_is_fetched_from_anywhere():
    assert not re.findall(r"(?:src|href)\s*=|@import|https?://|fetch\(|XMLHttpRequest", PAGE)


def test_every_state_stands_in_it_with_the_scenes_arrays():
    names = [state["name"] for state in DATA["states"]]
    assert names == ["bare", "preloaded", "strung as it is now", "strung after planing"]
    assert DATA["state"] == 3
    panes = [Pane(stage=stage(), setting=Setting(shown=shown)) for shown in Shown]
    surfaces = scenes(panes, colour="deviation")[2].surfaces
    assert len(DATA["states"][2]["surfaces"]) == len(surfaces)
    for kept, surface in zip(DATA["states"][2]["surfaces"], surfaces.values()):
        vertices = np.frombuffer(base64.b64decode(kept["vertices"]), "<f4").reshape(-1, 3)
        np.testing.assert_allclose(vertices, surface.vertices_mm, atol=1e-3)
        faces = np.frombuffer(base64.b64decode(DATA["faces"][kept["faces"]]), "<u4").reshape(-1, 3)
        np.testing.assert_array_equal(faces, surface.faces)
        if surface.rgb is not None:
            rgb = np.frombuffer(base64.b64decode(kept["rgb"]), "u1").reshape(-1, 3)
            np.testing.assert_array_equal(rgb, surface.rgb)
    assert DATA["states"][2]["notes"][87][0] == "Note 88, C8, top, strung"
    assert [label["text"] for label in DATA["states"][2]["labels"]][:2] == ["C1", "C2"]


def test_a_page_is_marked_as_a_result_and_may_be_replaced(tmp_path):
    written(PAGE, tmp_path / "p.html")
    written(PAGE, tmp_path / "p.html")
    assert (tmp_path / "p.html").read_text(encoding="utf-8") == PAGE


@pytest.mark.skipif(BROWSER is None, reason="no Chromium here to load the page in; the project's own checks install it")
def test_in_a_browser_without_network_canvas_and_labels_are_there(tmp_path):
    from PIL import Image

    (tmp_path / "p.html").write_text(PAGE, encoding="utf-8")
    common = [
        BROWSER, "--headless", "--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
        "--proxy-server=127.0.0.1:9", "--window-size=900,600", "--virtual-time-budget=4000",
        f"--user-data-dir={tmp_path / 'profile'}",
    ]  # fmt: skip
    where = (tmp_path / "p.html").as_uri()
    subprocess.run([*common, f"--screenshot={tmp_path / 'p.png'}", where], check=True, capture_output=True, timeout=120)
    shown = subprocess.run(
        [*common, "--dump-dom", where], check=True, capture_output=True, text=True, timeout=120
    ).stdout
    assert re.search(r'<body data-drawn="\d{2,}"', shown)
    labels = re.findall(r'<div class="label octave" style="left: ([\d.]+)px; top: ([\d.]+)px;">(C\d)</div>', shown)
    assert [name for *_, name in labels] == [f"C{k}" for k in range(1, 9)]
    assert all(0 < float(x) < 900 and 0 < float(y) < 600 for x, y, _ in labels)
    image = np.asarray(Image.open(tmp_path / "p.png").convert("RGB")).astype(int)
    middle = image[120:420, 200:700]
    assert len(np.unique(middle.reshape(-1, 3), axis=0)) > 50
    # after planing, strings and bridge tops are neutral: the very colour stands in the picture
    assert (np.abs(image - [164, 164, 160]).max(axis=2) <= 1).sum() > 300
