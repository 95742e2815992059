"""A program for a virtual screen: opens the window, presses, drags and clicks in it, and tells what came of it.

    python on_a_screen.py WIDTHxHEIGHT FOLDER [UNITS]

writes pictures into the folder and one JSON object to its output.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pyvista as pv
from bellywork_viewer.scene import Stage
from bellywork_viewer.shot import Pane
from bellywork_viewer.situation import Setting
from bellywork_viewer.window import Window
from bellywork_viewer.window_keys import KEYS
from PIL import Image

from bellywork.files.read import read_board
from bellywork.measures import units_named

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


class Screen:
    """A window with hands: events go in where the window system would put them."""

    def __init__(self, size: tuple[int, int], folder: Path, units: str) -> None:
        self.folder = folder
        self.plotter = pv.Plotter(window_size=size)
        stage = Stage(read_board(SAMPLES / "seven_foot_grand").board, units=units_named(units))
        self.window = Window(self.plotter, [Pane(stage=stage, setting=Setting())], size=size)
        self.plotter.show(auto_close=False, interactive_update=True)
        self.hand = self.plotter.iren.interactor

    def key(self, name: str) -> None:
        self.hand.SetKeyEventInformation(0, 0, name if len(name) == 1 else "\0", 0, name)
        for event in ("KeyPressEvent", "CharEvent", "KeyReleaseEvent"):
            self.hand.InvokeEvent(event)

    def drag(self, *places: tuple[float, float]) -> None:
        self.move(places[0])
        self.hand.InvokeEvent("LeftButtonPressEvent")
        for place in places[1:]:
            self.move(place)
        self.hand.InvokeEvent("LeftButtonReleaseEvent")

    def move(self, place: tuple[float, float]) -> None:
        self.hand.SetEventInformation(round(place[0]), round(place[1]), 0, 0)
        self.hand.InvokeEvent("MouseMoveEvent")

    def handle(self, row: int, value: float) -> tuple[float, float]:
        """Where a slider's handle stands for a value, in pixels."""
        shown, (wide, high) = self.window.rows[row].widget.GetRepresentation(), self.plotter.window_size
        share = (value - shown.GetMinimumValue()) / (shown.GetMaximumValue() - shown.GetMinimumValue())
        ends = [shown.GetPoint1Coordinate().GetValue()[:2], shown.GetPoint2Coordinate().GetValue()[:2]]
        x, y = (np.array(ends[0]) * (1.0 - share) + np.array(ends[1]) * share) * (wide, high)
        return float(x), float(y)

    def under(self, before: np.ndarray, after: np.ndarray) -> int:
        """How many points of strings and panel lie in the rectangle of what has changed between two pictures."""
        rows, columns = np.nonzero((before != after).any(axis=2))
        high = self.plotter.window_size[1]
        low, top = np.array([columns.min(), high - rows.max()]), np.array([columns.max(), high - rows.min()])
        window = self.window
        paths = window.panes[0].stage.string_paths_mm(window.situation).reshape(-1, 3)
        points = np.vstack([paths, window.scenes[0].surfaces["panel"].vertices_mm])
        places = window.drawn[0].on_screen_px(points)
        assert ((places > 0.0) & (places < self.plotter.window_size)).all()
        return int(((places > low) & (places < top)).all(axis=1).sum())

    def picture(self, name: str) -> np.ndarray:
        image = self.plotter.screenshot(return_img=True)
        Image.fromarray(image).save(self.folder / f"{name}.png")
        return image


def told(screen: Screen) -> dict:
    window = screen.window
    setting = window.setting
    return {
        "picked": window.picked, "shown": setting.shown.value, "plate": setting.plate_up_mm,
        "tilt": [setting.tilt_x_mm_per_m, setting.tilt_y_mm_per_m], "rh": setting.rh_percent,
        "shift": setting.target_shift_deg, "colour": window.colour, "preset": window.preset, "heights": window.heights,
        "help": window.help, "palette": [window.scenes[0].palette.low, window.scenes[0].palette.high],
        "sliders": [row.widget.GetEnabled() for row in window.rows],
        "titles": [row.widget.GetRepresentation().GetTitleText() for row in window.rows],
        "wire": [a.prop.style for a in screen.plotter.renderer.actors.values() if isinstance(a, pv.Actor)],
    }  # fmt: skip


def main(size: str, folder: str, units: str = "mm") -> None:
    wide, high = (int(each) for each in size.split("x"))
    screen = Screen((wide, high), Path(folder), units)
    window, out = screen.window, {}
    screen.picture("start")
    out["start"] = told(screen)
    for row, value in ((4, 0.5), (3, -0.4), (2, 0.3), (0, 0.2), (1, 55.0)):
        home = window.rows[row].at
        steps = np.linspace(home, value, 8)
        screen.drag(*(screen.handle(row, each) for each in steps))
    screen.picture("dragged")
    out["dragged"] = told(screen)
    screen.key("BackSpace")
    out["back"] = told(screen)
    before = screen.picture("without keys")
    screen.key("x")
    out["under the keys"] = screen.under(before, screen.picture("with keys"))
    screen.key("x")
    out["keys"] = {}
    for key in KEYS:
        if key.method != "close":
            screen.key(key.key)
            out["keys"][key.key] = told(screen)
            if key.key in ("F8", "x", "m"):
                screen.picture(key.key)
    for key in ("x", "BackSpace", "F3", "F6", "d", "m"):
        screen.key(key)
    out["before toolkit keys"] = told(screen)
    before = screen.picture("before")
    for letter in "acefjklprstuvwyz3C":
        screen.key(letter)
    screen.key("Up")
    screen.key("plus")
    out["after toolkit keys"] = told(screen)
    out["toolkit keys changed"] = int((screen.picture("after") != before).sum())
    out["clicks"] = []
    paths = window.panes[0].stage.string_paths_mm(window.situation)
    for k in range(0, 88, 9):
        place = window.drawn[0].on_screen_px((0.75 * paths[k, 0] + 0.25 * paths[k, 1])[None])[0]
        screen.drag(tuple(place))
        out["clicks"].append([k, window.picked])
    screen.picture("picked")
    here = window.picked
    screen.drag((0.5 * wide, 0.5 * high), (0.55 * wide, 0.5 * high), (0.6 * wide, 0.48 * high))
    out["after a turn"] = [here, window.picked]
    screen.drag((0.9 * wide, 0.7 * high))
    out["after a click on paper"] = [here, window.picked]
    sys.stdout.write(json.dumps(out))
    screen.plotter.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
