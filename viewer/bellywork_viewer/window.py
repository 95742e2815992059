"""The window: keys, sliders and clicks on a scene. The plotter is given, so that tests can collect its calls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from bellywork.errors import BellyworkError
from bellywork_viewer import palette as colours
from bellywork_viewer.cameras import WINDOW_LEFT
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.draw import backed, font_file
from bellywork_viewer.palette import Palette
from bellywork_viewer.picking import STILL_PX, nearest_string
from bellywork_viewer.shot import SIZE, Pane, arranged, scenes, session_palette, told_states
from bellywork_viewer.situation import Setting, Shown, Situation
from bellywork_viewer.window_keys import KEYS, SHORT_HELP, help_text
from bellywork_viewer.window_sliders import SLIDERS, Row, Slider

TALL = 5.0


class Window:
    """A board, or two side by side, to be looked at and tried on. What is changed is changed on the first.

    plotter   a PyVista plotter with a pane for each, or anything that takes its calls
    """

    def __init__(
        self,
        plotter: Any,
        panes: Sequence[Pane],
        *,
        colour: str = "deviation",
        preset: str = "keyboard",
        size: tuple[int, int] = SIZE,
        heights: float = 1.0,
    ) -> None:
        self.plotter, self.panes, self.colour, self.size, self.preset = plotter, list(panes), colour, size, preset
        self.heights, self.picked, self.help, self.said = heights, -1, False, ""
        self._start, self._down = self.panes[0].setting, (0.0, 0.0)
        self._palettes: dict[str, Palette] = {}
        self.situation: Situation = self.panes[0].stage.desk.situation(self.setting)
        self.scenes = self._scenes(self.panes)
        self.drawn = arranged(plotter, self.panes, self.scenes, preset=preset, size=size, left=WINDOW_LEFT)
        self._keys()
        far = self.panes[0].stage.board.kind.far
        self.rows = [self._row(replace(each, words=each.words.format(far=far)), k) for k, each in enumerate(SLIDERS)]
        plotter.iren.add_observer("LeftButtonPressEvent", lambda *_: self.pressed(self._mouse()))
        plotter.iren.add_observer("LeftButtonReleaseEvent", lambda *_: self.released(self._mouse()))
        self._words()

    @property
    def setting(self) -> Setting:
        """What is asked of the first board."""
        return self.panes[0].setting

    def show_state(self, state: str) -> None:
        """Another state of the first board."""
        self.change(shown=Shown(state))

    def colour_by(self, colour: str) -> None:
        """Another quantity in colour; one that is not known is said, and nothing changes."""
        before, self.colour = self.colour, colour
        self.change()
        if self.said:
            self.colour = before

    def look_from(self, preset: str) -> None:
        """Another camera; under the ribs neither strings nor bridges are seen, so the panel is coloured there."""
        self.preset = preset
        if preset == "underside" and not COLOURS[self.colour].on_panel:
            self.colour_by("crown")
        aspect = self.size[0] / len(self.panes) / self.size[1]
        for each in self.drawn:
            each.look_from(preset, self.panes[0].stage, self.scenes[0], aspect, left=WINDOW_LEFT)
        self.plotter.render()

    def switch_heights(self) -> None:
        """Heights true, or drawn so many times; the camera takes in the whole again."""
        self.heights = TALL if self.heights == 1.0 else 1.0
        self.change()
        self.look_from(self.preset)

    def switch_help(self) -> None:
        """The keys, or none."""
        self.help = not self.help
        self._words()
        self.plotter.render()

    def close(self) -> None:
        """No more window."""
        self.plotter.iren.terminate_app()

    def pressed(self, place_px: tuple[float, float]) -> None:
        """The left button goes down."""
        self._down = place_px

    def released(self, place_px: tuple[float, float]) -> None:
        """The left button comes up: a click if it has not moved, and a pick if a string is near."""
        if np.hypot(place_px[0] - self._down[0], place_px[1] - self._down[1]) > STILL_PX:
            return
        paths = self.panes[0].stage.string_paths_mm(self.situation) * [1.0, 1.0, self.heights]
        found = nearest_string(self.drawn[0].on_screen_px(paths), np.array(place_px))
        if found is not None:
            self.pick(found)

    def pick(self, at: int) -> None:
        """Make a note plain and tell its numbers."""
        self.picked = at
        self.change()

    def step_note(self, step: int) -> None:
        """The next note on either side, from the worst where none was picked."""
        start = self.picked if self.picked >= 0 else self.situation.worst
        self.pick(min(max(start + step, 0), len(self.situation.line.note) - 1))

    def pick_worst(self) -> None:
        """The note farthest from its target."""
        self.pick(self.situation.worst)

    def reset(self) -> None:
        """Everything changed on the board as it was; the state shown stays."""
        for row in self.rows:
            row.back(self._at(row.slider, self._start))
        self.change(**{slider.what: getattr(self._start, slider.what) for slider in SLIDERS})

    def change(self, **what: Any) -> None:
        """Change the setting of the first board and redraw; what cannot be is said, and nothing changes."""
        wanted = replace(self.setting, **what)
        try:
            panes = [Pane(stage=self.panes[0].stage, setting=wanted), *self.panes[1:]]
            situation = panes[0].stage.desk.situation(wanted)
            shown = self._scenes(panes)
        except BellyworkError as error:
            self.said = str(error)
        else:
            self.panes, self.situation, self.scenes, self.said = panes, situation, shown, ""
            for each, scene in zip(self.drawn, self.scenes):
                each.show(scene)
        self._words()
        self.plotter.render()

    def _scenes(self, panes: Sequence[Pane]) -> Any:
        return scenes(panes, colour=self.colour, heights=self.heights, palette=self._palette(), picked=self.picked)

    def _palette(self) -> Palette:
        """One scale for each colour as long as the window is open: that of every state as the boards were given."""
        if self.colour not in self._palettes:
            told = [
                [pane.stage.desk.situation(replace(self._start, shown=shown)) for shown in self._told(pane)]
                for pane in self.panes
            ]
            self._palettes[self.colour] = session_palette([pane.stage for pane in self.panes], told, self.colour)
        return self._palettes[self.colour]

    def _told(self, pane: Pane) -> Sequence[Shown]:
        return told_states(pane.stage, replace(self._start, shown=pane.setting.shown))

    def _keys(self) -> None:
        """The keys of the table and no others: the toolkit's own keys would change the picture unasked."""
        self.plotter.iren.clear_key_event_callbacks()
        interactor = self.plotter.iren.interactor
        tag: int = interactor.AddObserver("CharEvent", lambda *_: interactor.GetCommand(tag).SetAbortFlag(1), 10.0)
        for key in KEYS:
            act = getattr(self, key.method)
            self.plotter.add_key_event(key.key, act if key.value is None else partial(act, key.value))

    def _row(self, slider: Slider, row: int) -> Row:
        home = float(self._home(slider))
        at = self._at(slider, self.setting)

        def changed(value: float) -> None:
            of_board = slider.what == "rh_percent" and value == home
            self.change(**{slider.what: None if of_board else value})

        if self.drawn[0].pane is not None:
            self.plotter.subplot(0, 0)
        units = self.panes[0].stage.units
        return Row(self.plotter, slider, row, home=home, at=at, units=units, changed=changed)

    def _home(self, slider: Slider) -> float:
        """Where a slider stands for the board as it was measured."""
        return self.panes[0].stage.desk.ready.rh_percent if slider.what == "rh_percent" else 0.0

    def _at(self, slider: Slider, setting: Setting) -> float:
        value = getattr(setting, slider.what)
        return self._home(slider) if value is None else float(value)

    def _mouse(self) -> tuple[float, float]:
        x, y = self.plotter.iren.interactor.GetEventPosition()
        return float(x), float(y)

    def _words(self) -> None:
        told = self.situation.told(self.picked, self.panes[0].stage.units) if self.picked >= 0 else ()
        meaning = COLOURS[self.colour].quantity.meaning
        # the keys take the place of the note's numbers: elsewhere they would lie over the board
        here = [help_text()] if self.help else [*told, *([""] if told else []), meaning]
        self._write("\n".join([*([self.said] if self.said else []), *here]), "note", "upper_right")
        self._write(SHORT_HELP, "help", "lower_right")

    def _write(self, words: str, name: str, position: str) -> None:
        if self.drawn[0].pane is not None:
            self.plotter.subplot(0, len(self.drawn) - 1)
        self.plotter.remove_actor(f"words {name}", render=False)
        text = self.plotter.add_text(
            words, name=f"words {name}", position=position, font_size=9, color=colours.INK, font_file=font_file(),
            render=False,
        )  # fmt: skip
        backed(text, 0.9)


def opened(panes: Sequence[Pane], *, colour: str, preset: str, size: tuple[int, int], heights: float = 1.0) -> None:
    """Open a window on the screen and wait until it is closed; raises OutputError where nothing can be drawn."""
    from bellywork_viewer import gl

    gl.made_ready()
    import pyvista as pv

    plotter = pv.Plotter(window_size=size, shape=(1, len(panes)), border=len(panes) > 1, title="bellywork")
    Window(plotter, panes, colour=colour, preset=preset, size=size, heights=heights)
    plotter.show()
