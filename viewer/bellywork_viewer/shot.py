"""Pictures without a screen."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.errors import MissingLayer, OutputError
from bellywork.files.write import write_result
from bellywork_viewer import gl
from bellywork_viewer import palette as colours
from bellywork_viewer.cameras import LEFT, PRESETS
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.draw import Drawn
from bellywork_viewer.palette import Palette, Rgb
from bellywork_viewer.scene import Scene, Stage
from bellywork_viewer.situation import Setting, Shown, Situation

SIZE = (1600, 1000)
WORDY_PX = 480  # a narrower picture has no room for words at the ends of its colours
MOST_PX = 24_000_000  # smoothing needs four times the memory; 6000x3750 has been drawn, 8000x5000 came out black


@dataclass(frozen=True, kw_only=True, eq=False)
class Pane:
    """One of the pictures side by side: a board and what is asked of it."""

    stage: Stage
    setting: Setting


def scenes(
    panes: Sequence[Pane], *, colour: str, heights: float = 1.0, palette: Palette | None = None, picked: int = -1
) -> tuple[Scene, ...]:
    """The scenes of panes, all with one palette, so that a colour means the same in each.

    palette   one to be kept; None: one that fits these scenes      picked: the note made plain on the first
    """
    situations = [pane.stage.desk.situation(pane.setting) for pane in panes]
    used = palette or session_palette([pane.stage for pane in panes], [[each] for each in situations], colour)
    return tuple(
        pane.stage.drawn(situation, colour=colour, heights=heights, palette=used, picked=picked if k == 0 else -1)
        for k, (pane, situation) in enumerate(zip(panes, situations))
    )


def told_states(stage: Stage, setting: Setting) -> tuple[Shown, ...]:
    """The states that the board tells; preloaded only where that is described.

    Raises MissingLayer where the state asked for is not told.
    """
    out = []
    for shown in Shown:
        try:
            stage.desk.situation(replace(setting, shown=shown))
        except MissingLayer:
            if shown is setting.shown:
                raise
            continue
        out.append(shown)
    return tuple(out)


def session_palette(stages: Sequence[Stage], situations: Sequence[Sequence[Situation]], colour: str) -> Palette:
    """One palette for several situations of each stage: a colour means the same in all of them.

    Raises MissingLayer where the quantity is known in none of them.
    """
    values = [stage.values(each, colour) for stage, told in zip(stages, situations) for each in told]
    if not any(np.isfinite(each).any() for each in values):
        raise MissingLayer(
            f"The {COLOURS[colour].quantity.label} is not known here: it is where loads were pressed on the board "
            "(trials.csv) or a shop remembers others, in a state that was not measured itself."
        )
    return COLOURS[colour].palette(np.concatenate(values), stages[0].board.rules, stages[0].units)


def arranged(
    plotter: Any,
    panes: Sequence[Pane],
    shown: Sequence[Scene],
    *,
    preset: str,
    size: tuple[int, int],
    left: float = LEFT,
) -> list[Drawn]:
    """Scenes on a plotter that has a pane for each, seen by one camera."""
    text = max(round(9.0 * min(size[0] / len(panes) / 1100.0, size[1] / 800.0)), 8)
    drawn = []
    for k, scene in enumerate(shown):
        each = Drawn(
            plotter, pane=(0, k) if len(panes) > 1 else None, text_size=text, ends=size[0] / len(panes) >= WORDY_PX
        )
        each.show(scene)
        drawn.append(each)
        plotter.set_background(_hex(colours.PAPER))
    if len(panes) > 1:
        plotter.link_views()
    for each in drawn:
        each.look_from(preset, panes[0].stage, shown[0], size[0] / len(panes) / size[1], left=left)
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

    Raises OutputError where nothing can be drawn here, or nothing as large.
    """
    if preset not in PRESETS:
        raise OutputError(f"Found the camera '{preset}', expected one of {', '.join(PRESETS)}.")
    if size[0] * size[1] > MOST_PX:
        most = f"{MOST_PX / 1e6:.0f} million pixels, such as 6000x4000"
        raise OutputError(
            f"Found a picture of {size[0]}x{size[1]}, expected no more than {most}; give a smaller --size."
        )
    gl.made_ready()
    import pyvista as pv

    plotter = pv.Plotter(off_screen=True, window_size=size, shape=(1, len(panes)), border=len(panes) > 1)
    try:
        arranged(plotter, panes, scenes(panes, colour=colour, heights=heights), preset=preset, size=size)
        plotter.enable_anti_aliasing("ssaa", all_renderers=True)
        plotter.render()
        return checked(np.asarray(plotter.screenshot(return_img=True), dtype=np.uint8))
    finally:
        plotter.close()


def checked(image: Rgb) -> Rgb:
    """The picture, if it shows anything: a driver that cannot draw so large hands back one single colour.

    Raises OutputError otherwise.
    """
    if np.all(image == image[0, 0]):
        size = f"{image.shape[1]}x{image.shape[0]}"
        raise OutputError(f"Found a picture of {size} in one single colour, expected a board; give a smaller --size.")
    return image


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
