"""One offline page to send to a colleague: the board in three dimensions, its states, labels and numbers."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Sequence
from dataclasses import replace
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellywork.errors import MissingLayer
from bellywork.files.write import write_result
from bellywork_viewer.cameras import ANGLE_DEG, PRESETS
from bellywork_viewer.draw import STEPS, preset_camera
from bellywork_viewer.scene import STATE_WORDS, Scene, Stage
from bellywork_viewer.shot import Pane, scenes
from bellywork_viewer.situation import Setting, Shown

ASPECT = 1.6
CAMERA_WORDS = {
    "top": "from above",
    "keyboard": "from the keyboard",
    "bridge": "along the bridge",
    "underside": "under the ribs",
}


def page(
    stage: Stage, setting: Setting, *, colour: str = "deviation", preset: str = "keyboard", heights: float = 1.0
) -> str:
    """The page as HTML: every state of the board that it tells, with `setting.shown` first to be seen.

    Nothing in it is fetched from anywhere. A colour means the same in each state. Raises SolveError where no balance is
    found in the state asked for.
    """
    panes = [Pane(stage=stage, setting=replace(setting, shown=shown)) for shown in _told(stage, setting)]
    drawn = scenes(panes, colour=colour, heights=heights)
    faces: dict[bytes, int] = {}
    data = {
        "states": [_state(stage, pane.setting, scene, faces, heights) for pane, scene in zip(panes, drawn)],
        "state": [pane.setting.shown for pane in panes].index(setting.shown),
        "faces": [base64.b64encode(each).decode() for each in faces],
        "cameras": {name: _camera(stage, drawn[0], name) for name in PRESETS},
        "camera": preset,
        "angle": ANGLE_DEG,
        "aspect": ASPECT,
        "legend": _legend(drawn[0]),
    }
    template = files("bellywork_viewer").joinpath("page.html").read_text(encoding="utf-8")
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    title = escape(stage.board.name)  # put in at one go with the data: a name may itself look like a place to fill
    return re.sub(r"\{\{(title|data)\}\}", lambda place: title if place[1] == "title" else text, template)


def written(text: str, path: Path) -> None:
    """Write a page, whole or not at all; raises OutputError."""
    write_result(path, text)


def _told(stage: Stage, setting: Setting) -> Sequence[Shown]:
    """The states that the board tells; preloaded only where that is described."""
    out = []
    for shown in Shown:
        try:
            stage.desk.situation(replace(setting, shown=shown))
        except MissingLayer:
            if shown is setting.shown:
                raise
            continue
        out.append(shown)
    return out


def _state(stage: Stage, setting: Setting, scene: Scene, faces: dict[bytes, int], heights: float) -> dict[str, Any]:
    situation = stage.desk.situation(setting)
    paths = stage.string_paths_mm(situation) * [1.0, 1.0, heights]
    return {
        "name": STATE_WORDS.get(setting.shown, setting.shown.value),
        "title": [*scene.title, *scene.marked],
        "surfaces": [
            {
                "vertices": _packed(np.round(surface.vertices_mm, 3).astype("<f4")),
                "faces": faces.setdefault(surface.faces.astype("<u4").tobytes(), len(faces)),
                "rgb": None if surface.rgb is None else _packed(surface.rgb),
                "colour": surface.colour,
                "opacity": surface.opacity,
                "flat": surface.flat,
            }
            for surface in scene.surfaces.values()
        ],
        "labels": [
            {"text": label.text, "place": [round(x, 1) for x in label.place_mm], "kind": label.kind}
            for label in scene.labels
        ],
        "pins": np.round(paths, 1).tolist(),
        "notes": [situation.told(k, scene.units) for k in range(len(situation.line.note))],
    }


def _camera(stage: Stage, scene: Scene, preset: str) -> dict[str, Any]:
    seen = preset_camera(preset, stage, scene, ASPECT)
    return {"place": seen.place_mm, "at": seen.at_mm, "up": seen.up, "half": seen.half_height_mm,
            "words": CAMERA_WORDS[preset]}  # fmt: skip


def _legend(scene: Scene) -> dict[str, Any]:
    low, high, coloured = scene.palette.low, scene.palette.high, scene.coloured
    return {
        "heading": coloured.heading(scene.units),
        "low": coloured.low,
        "high": coloured.high,
        "scale": [coloured.scale(value, scene.units) for value in np.linspace(low, high, 5).tolist()],
        "rgb": _packed(scene.palette.colours(np.linspace(low, high, STEPS))),
    }


def _packed(array: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode()
