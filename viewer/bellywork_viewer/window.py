"""The window: keys, sliders and clicks on a scene. The plotter is given, so that tests can collect its calls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from bellywork.errors import BellyworkError
from bellywork_viewer import palette as colours
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.draw import font_file
from bellywork_viewer.shot import SIZE, Pane, arranged, scenes
from bellywork_viewer.situation import Setting, Shown, Situation
from bellywork_viewer.window_keys import KEYS, help_text

RH_STEP = 5.0  # each humidity is computed once, so they are few
TALL = 5.0


@dataclass(frozen=True, kw_only=True)
class Slider:
    """A slider: what it sets, its words, ends and steps; `when`: "always" while it moves, "end" when it is let go."""

    what: str
    words: str
    low: float
    high: float
    step: float
    when: str = "always"


SLIDERS = (
    Slider(what="net_deg", words="target everywhere, °", low=0.0, high=3.0, step=0.05),
    Slider(what="rh_percent", words="humidity, % RH", low=30.0, high=65.0, step=RH_STEP, when="end"),
    Slider(what="tilt_y_mm_per_m", words="plate tilt to the tail, mm per m", low=-2.0, high=2.0, step=0.05),
    Slider(what="tilt_x_mm_per_m", words="plate tilt to the treble, mm per m", low=-2.0, high=2.0, step=0.05),
    Slider(what="plate_up_mm", words="plate up, mm", low=-3.0, high=3.0, step=0.05),
)


class Window:
    """A board, or two side by side, to be looked at and tried on. What is changed is changed on the first.

    plotter   a PyVista plotter with a pane for each, or anything that takes its calls
    """

    def __init__(self, plotter: Any, panes: Sequence[Pane], *, colour: str = "deviation", preset: str = "keyboard",
                 size: tuple[int, int] = SIZE, heights: float = 1.0) -> None:  # fmt: skip
        self.plotter, self.panes, self.colour, self.size = plotter, list(panes), colour, size
        self.heights, self.picked, self.help, self.said = heights, -1, True, ""
        self._start = self.panes[0].setting
        self.situation: Situation = self.panes[0].stage.desk.situation(self.setting)
        shown = scenes(self.panes, colour=colour, heights=heights)
        self.scenes = shown
        self.drawn = arranged(plotter, self.panes, shown, preset=preset, size=size)
        for key in KEYS:
            act = getattr(self, key.method)
            plotter.add_key_event(key.key, act if key.value is None else partial(act, key.value))
        self._sliders = [self._slider(each, k) for k, each in enumerate(SLIDERS)]
        plotter.track_click_position(self.pick, side="left")
        self._words()

    @property
    def setting(self) -> Setting:
        """What is asked of the first board."""
        return self.panes[0].setting

    def show_state(self, state: str) -> None:
        """Another state of the first board."""
        self.change(shown=Shown(state))

    def colour_by(self, colour: str) -> None:
        """Another quantity in colour."""
        self.colour = colour
        self.change()

    def look_from(self, preset: str) -> None:
        """Another camera."""
        aspect = self.size[0] / len(self.panes) / self.size[1]
        for each in self.drawn:
            each.look_from(preset, self.panes[0].stage, self.scenes[0], aspect)
        self.plotter.render()

    def switch_heights(self) -> None:
        """Heights true, or drawn so many times."""
        self.heights = TALL if self.heights == 1.0 else 1.0
        self.change()

    def switch_help(self) -> None:
        """The keys, or none."""
        self.help = not self.help
        self._words()
        self.plotter.render()

    def pick(self, place_mm: Any) -> None:
        """Tell the numbers of the note nearest to a place."""
        if place_mm is not None:
            self.picked = self.panes[0].stage.nearest_note(place_mm)
            self._words()
            self.plotter.render()

    def step_note(self, step: int) -> None:
        """The next note on either side, from the worst where none was picked."""
        start = self.picked if self.picked >= 0 else self.situation.worst
        self.picked = min(max(start + step, 0), len(self.situation.line.note) - 1)
        self._words()
        self.plotter.render()

    def pick_worst(self) -> None:
        """The note farthest from its target."""
        self.picked = self.situation.worst
        self._words()
        self.plotter.render()

    def reset(self) -> None:
        """Everything changed on the board as it was; the state shown stays."""
        for slider, widget in zip(SLIDERS, self._sliders):
            if widget is not None:
                widget.GetRepresentation().SetValue(self._at(slider, self._start))
        self.change(**{slider.what: getattr(self._start, slider.what) for slider in SLIDERS})

    def change(self, **what: Any) -> None:
        """Change the setting of the first board and redraw; what cannot be is said, and nothing changes."""
        wanted = replace(self.setting, **what)
        try:
            panes = [Pane(stage=self.panes[0].stage, setting=wanted), *self.panes[1:]]
            self.situation = panes[0].stage.desk.situation(wanted)
            self.scenes = scenes(panes, colour=self.colour, heights=self.heights)
        except BellyworkError as error:
            self.said = str(error)
        else:
            self.panes, self.said = panes, ""
            for each, scene in zip(self.drawn, self.scenes):
                each.show(scene)
        self._words()
        self.plotter.render()

    def _slider(self, slider: Slider, row: int) -> Any:
        y = 0.17 + 0.085 * row
        return self.plotter.add_slider_widget(
            self._moved(slider), (slider.low, slider.high), value=self._at(slider, self.setting), title=slider.words,
            pointa=(0.015, y), pointb=(0.19, y), style="modern", color=colours.INK, title_height=0.016, fmt="%.2f",
            interaction_event=slider.when, title_color=colours.INK,
        )  # fmt: skip

    def _moved(self, slider: Slider) -> Callable[[float], None]:
        def moved(value: float) -> None:
            stepped = round(value / slider.step) * slider.step
            if abs(stepped - self._at(slider, self.setting)) >= slider.step / 2.0:
                self.change(**{slider.what: stepped})

        return moved

    def _at(self, slider: Slider, setting: Setting) -> float:
        """Where a slider stands for a setting; what is not set stands where the board is."""
        value = getattr(setting, slider.what)
        if value is not None:
            return float(value)
        board = self.panes[0].stage.board
        if slider.what == "net_deg":
            return float(round(self.situation.target_deg.mean() / slider.step) * slider.step)
        return float(min(max(board.climate.rh_percent or 42.0, slider.low), slider.high))

    def _words(self) -> None:
        told = self.situation.told(self.picked, self.panes[0].stage.units) if self.picked >= 0 else ()
        meaning = COLOURS[self.colour].quantity.meaning
        lines = "\n".join([self.said, *told, "", meaning] if self.said else [*told, "", meaning])
        self._write(lines, "note", "upper_right")
        self._write(help_text() if self.help else "", "help", "right_edge")

    def _write(self, words: str, name: str, position: str) -> None:
        if self.drawn[0].pane is not None:
            self.plotter.subplot(0, len(self.drawn) - 1)
        self.plotter.remove_actor(f"words {name}", render=False)
        if words:
            self.plotter.add_text(
                words, name=f"words {name}", position=position, font_size=8, color=colours.INK, font_file=font_file(),
                render=False,
            )  # fmt: skip


def opened(panes: Sequence[Pane], *, colour: str, preset: str, size: tuple[int, int], heights: float = 1.0) -> None:
    """Open a window on the screen and wait until it is closed; raises OutputError where nothing can be drawn."""
    from bellywork_viewer import gl

    gl.made_ready()
    import pyvista as pv

    plotter = pv.Plotter(window_size=size, shape=(1, len(panes)), border=len(panes) > 1, title="bellywork")
    Window(plotter, panes, colour=colour, preset=preset, size=size, heights=heights)
    plotter.show()
