"""Pictures without a screen."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.errors import OutputError
from bellywork.files.write import write_result
from bellywork_viewer import gl
from bellywork_viewer import palette as colours
from bellywork_viewer.cameras import PRESETS
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.draw import Drawn
from bellywork_viewer.palette import Rgb
from bellywork_viewer.scene import Scene, Stage
from bellywork_viewer.situation import Setting

SIZE = (1600, 1000)


@dataclass(frozen=True, kw_only=True, eq=False)
class Pane:
    """One of the pictures side by side: a board and what is asked of it."""

    stage: Stage
    setting: Setting


def scenes(panes: Sequence[Pane], *, colour: str, heights: float = 1.0) -> tuple[Scene, ...]:
    """The scenes of panes, all with one palette, so that a colour means the same in each."""
    situations = [pane.stage.desk.situation(pane.setting) for pane in panes]
    values = [pane.stage.values(situation, colour) for pane, situation in zip(panes, situations)]
    palette = COLOURS[colour].palette(np.concatenate(values), panes[0].stage.board.rules)
    return tuple(
        pane.stage.drawn(situation, colour=colour, heights=heights, palette=palette)
        for pane, situation in zip(panes, situations)
    )


def arranged(
    plotter: Any, panes: Sequence[Pane], shown: Sequence[Scene], *, preset: str, size: tuple[int, int]
) -> list[Drawn]:
    """Scenes on a plotter that has a pane for each, seen by one camera."""
    text = max(round(9.0 * min(size[0] / len(panes) / 1100.0, size[1] / 800.0)), 8)
    drawn = []
    for k, scene in enumerate(shown):
        each = Drawn(plotter, pane=(0, k) if len(panes) > 1 else None, text_size=text)
        each.show(scene)
        drawn.append(each)
        plotter.set_background(_hex(colours.PAPER))
    if len(panes) > 1:
        plotter.link_views()
    for each in drawn:
        each.look_from(preset, panes[0].stage, shown[0], size[0] / len(panes) / size[1])
    return drawn


def picture(
    panes: Sequence[Pane],
    *,
    colour: str = "deviation",
    preset: str = "keyboard",
    size: tuple[int, int] = SIZE,
    heights: float = 1.0,
) -> Rgb:
    """The picture (height, width, 3) of one or more panes.

    colour, preset   keys of `COLOURS` and `PRESETS`

    Raises OutputError where nothing can be drawn here.
    """
    gl.made_ready()
    import pyvista as pv

    if preset not in PRESETS:
        raise OutputError(f"Found the camera '{preset}', expected one of {', '.join(PRESETS)}.")
    plotter = pv.Plotter(off_screen=True, window_size=size, shape=(1, len(panes)), border=len(panes) > 1)
    try:
        arranged(plotter, panes, scenes(panes, colour=colour, heights=heights), preset=preset, size=size)
        plotter.enable_anti_aliasing("ssaa", all_renderers=True)
        plotter.render()
        return np.asarray(plotter.screenshot(return_img=True), dtype=np.uint8)
    finally:
        plotter.close()


def png(image: Rgb) -> bytes:
    """A picture as PNG, the same bytes for the same picture, marked as a result of bellywork."""
    from PIL import Image, PngImagePlugin

    marks = PngImagePlugin.PngInfo()
    marks.add_text("Software", "bellywork")
    out = io.BytesIO()
    Image.fromarray(image).save(out, format="png", pnginfo=marks)
    return out.getvalue()


def written(image: Rgb, path: Path) -> None:
    """Write a picture as PNG, whole or not at all; raises OutputError."""
    write_result(path, png(image))


def _hex(rgb: tuple[int, int, int]) -> str:
    return "#" + bytes(rgb).hex()
