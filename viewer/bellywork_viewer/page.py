"""One offline page to send to a colleague: the board in three dimensions, its states, colours and numbers."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellywork.errors import MissingLayer
from bellywork.files.write import write_result
from bellywork_viewer import palette as colours
from bellywork_viewer import words
from bellywork_viewer.cameras import ANGLE_DEG, PRESETS
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.draw import STEPS, preset_camera
from bellywork_viewer.palette import Palette
from bellywork_viewer.scene import Scene, Stage
from bellywork_viewer.shot import session_palette, told_states
from bellywork_viewer.situation import Setting, Situation
from bellywork_viewer.surfaces import Label

ASPECT = 1.6
CAMERA_WORDS = {
    "top": "from above",
    "keyboard": "from the keyboard",
    "bridge": "along the bridge",
    "underside": "under the ribs",
}
# In the order in which they need each other; the names are those by which they import each other
MODULES = {
    "./three.core.min.js": "three.core.min.js",
    "three": "three.module.min.js",
    "./OrbitControls.js": "OrbitControls.js",
    "./board.js": "board.js",
    "./page.js": "page.js",
}
HINT = (
    "Tap a string for its numbers.",
    "Drag to turn, two fingers or the right button to move, pinch or wheel to come nearer.",
    "Keys on the picture: arrows for the next note, with shift to turn, + and − to come nearer.",
)


def page(
    stage: Stage, setting: Setting, *, colour: str = "deviation", preset: str = "keyboard", heights: float = 1.0
) -> str:
    """The page as HTML: every state and every colour of the board, with `setting.shown` first to be seen.

    Nothing in it is fetched from anywhere. A colour means the same in each state. Raises SolveError where no balance is
    found in the state asked for, MissingLayer where nothing is known of the colour asked for.
    """
    data = page_data(stage, setting, colour=colour, preset=preset, heights=heights)
    start = shipped("start.js")
    places = {
        "title": escape(stage.board.name),
        "contours": escape(data["contours"]),
        "data": json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c"),
        "hash": "sha256-" + base64.b64encode(hashlib.sha256(start.encode()).digest()).decode(),
        "modules": "\n".join(
            [
                f'<script type="text/plain">{shipped("three.LICENSE.txt")}</script>',
                *(
                    f'<script type="text/plain" data-module="{name}">{shipped(file)}</script>'
                    for name, file in MODULES.items()
                ),
            ]
        ),
        "start": start,
    }
    # put in at one go: a name may itself look like a place to fill
    return re.sub(r"\{\{(\w+)\}\}", lambda place: places[place[1]], shipped("page.html"))


@cache
def shipped(file: str) -> str:
    """A file of the page, as it lies in the package."""
    return files("bellywork_viewer").joinpath("web", file).read_text(encoding="utf-8")


def page_palettes(stage: Stage, setting: Setting) -> dict[str, Palette]:
    """One palette for each colour, the same in every state that the board tells."""
    return _palettes(stage, _situations(stage, setting), "deviation")


def page_data(
    stage: Stage,
    setting: Setting,
    *,
    colour: str = "deviation",
    preset: str = "keyboard",
    heights: float = 1.0,
    palettes: dict[str, Palette] | None = None,
) -> dict[str, Any]:
    """What `web/board.js` draws: surfaces once, their heights by state, colours by state and quantity, words.

    palettes   those to be kept, as `page_palettes` gives them; None: those of this setting

    Arrays are packed little-endian in base64: float32 for places, unsigned integers for the rest.
    """
    situations = _situations(stage, setting)
    palettes = palettes or _palettes(stage, situations, colour)
    scenes = [stage.drawn(situation, heights=heights) for situation in situations]
    corners = [part.vertices_mm for scene in scenes for part in scene.surfaces.values()]
    return {
        "surfaces": _surfaces(scenes, stage.line.note),
        "states": [_state(stage, situation, scene, palettes, heights) for situation, scene in zip(situations, scenes)],
        "state": [situation.setting.shown for situation in situations].index(setting.shown),
        "colours": {name: _legend(scenes[0], name, palette) for name, palette in palettes.items()},
        "colour": colour,
        "cameras": {name: _camera(stage, scenes[0], name) for name in PRESETS},
        "camera": preset,
        "angle": ANGLE_DEG,
        "box": [
            np.min([each.min(axis=0) for each in corners], axis=0).tolist(),
            np.max([each.max(axis=0) for each in corners], axis=0).tolist(),
        ],
        "paper": colours.PAPER,
        "ink": colours.INK,
        "steel": colours.STEEL,
        "contours": scenes[0].contour_words,
        "hint": HINT,
    }


def _situations(stage: Stage, setting: Setting) -> list[Situation]:
    """What the board is in each state that it tells."""
    return [stage.desk.situation(replace(setting, shown=shown)) for shown in told_states(stage, setting)]


def _palettes(stage: Stage, situations: list[Situation], needed: str) -> dict[str, Palette]:
    """A palette for each colour of which anything is known; raises MissingLayer where that needed is not."""
    out = {}
    for name in COLOURS:
        try:
            out[name] = session_palette([stage], [situations], name)
        except MissingLayer:
            if name == needed:
                raise
    return out


def written(text: str, path: Path) -> None:
    """Write a page, whole or not at all; raises OutputError."""
    write_result(path, text)


def _surfaces(scenes: Sequence[Scene], notes: NDArray[Any]) -> list[dict[str, Any]]:
    """Every surface once, with its heights in each state; None where a state lacks it."""
    place = {int(note): k for k, note in enumerate(notes)}
    found: dict[tuple[str, bytes, bytes], dict[str, Any]] = {}
    for state, scene in enumerate(scenes):
        for part in scene.surfaces.values():
            xy = np.round(part.vertices_mm[:, :2], 3).astype("<f4")
            key = part.name, xy.tobytes(), part.faces.tobytes()
            if key not in found:
                found[key] = {
                    "name": part.name,
                    "xy": _packed(xy),
                    "faces": _packed(part.faces.astype("<u2")),
                    "notes": None
                    if part.note is None
                    else _packed(np.array([place[note] for note in part.note.tolist()], "u1")),
                    "rgb": None if part.note is not None or part.rgb is None else _packed(part.rgb),
                    "colour": part.colour or colours.SPRUCE,
                    "opacity": part.opacity,
                    "flat": part.flat,
                    "z": [None] * len(scenes),
                }
            found[key]["z"][state] = _packed(np.round(part.vertices_mm[:, 2], 3).astype("<f4"))
    return list(found.values())


def _state(
    stage: Stage, situation: Situation, scene: Scene, palettes: dict[str, Palette], heights: float
) -> dict[str, Any]:
    paths = stage.string_paths_mm(situation) * [1.0, 1.0, heights]
    return {
        "name": words.STATE_WORDS.get(situation.setting.shown, situation.setting.shown.value),
        "title": scene.title,
        "marked": scene.marked,
        "worst": situation.worst,
        "paths": np.round(paths, 1).tolist(),
        "notes": [situation.told(k, scene.units) for k in range(len(situation.line.note))],
        "labels": [_label(label) for label in words.octaves(situation, paths)],
        "picked": [_label(words.picked(situation, k, paths)) for k in range(len(situation.line.note))],
        "colours": {
            name: {
                "rgb": _packed(palettes[name].colours(stage.values(situation, name))),
                "known": bool(np.isfinite(stage.values(situation, name)).any()),
                "labels": [
                    _label(label) for label in words.worst(stage.board, situation, COLOURS[name], paths, scene.units)
                ],
            }
            for name in palettes
        },
    }


def _label(label: Label) -> dict[str, Any]:
    return {"text": label.text, "place": [round(x, 1) for x in label.place_mm], "kind": label.kind}


def _camera(stage: Stage, scene: Scene, preset: str) -> dict[str, Any]:
    seen = preset_camera(preset, stage, scene, ASPECT)
    return {"place": seen.place_mm, "at": seen.at_mm, "half": seen.half_height_mm, "aspect": ASPECT,
            "words": CAMERA_WORDS[preset]}  # fmt: skip


def _legend(scene: Scene, name: str, palette: Palette) -> dict[str, Any]:
    coloured, values = COLOURS[name], np.linspace(palette.low, palette.high, STEPS)
    return {
        "label": coloured.quantity.label,
        "meaning": coloured.quantity.meaning,
        "heading": coloured.heading(scene.units),
        "low": coloured.low,
        "high": coloured.high,
        "on_panel": coloured.on_panel,
        "scale": [coloured.scale(value, scene.units) for value in np.linspace(palette.low, palette.high, 5).tolist()],
        "ramp": _packed(palette.colours(values)),
    }


def _packed(array: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode()
