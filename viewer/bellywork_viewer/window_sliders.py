"""The sliders of the window: what each sets, and one that neither queues its drags nor hides its number."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from bellywork.measures import Units
from bellywork.quantities import said
from bellywork_viewer import palette as colours

LEFT, RIGHT, LOWEST, APART = 0.02, 0.19, 0.2, 0.07  # of the window: ends, first row, from row to row


@dataclass(frozen=True, kw_only=True)
class Slider:
    """A slider.

    what          of the setting that it changes; words: what stands at it
    quantity      that its value is told as
    low, high     its ends
    step, step_in its steps where lengths are read in mm, and in inches; counted from where the board is
    dear          True where a new value takes long: it is taken when the slider is let go
    """

    what: str
    words: str
    quantity: str
    low: float
    high: float
    step: float
    step_in: float
    dear: bool = False

    def stepped(self, value: float, home: float, units: Units) -> float:
        """The nearest step to a value, counted from home, so that home itself can be had again."""
        step = self.step if units.length == "mm" else self.step_in
        return home + round((value - home) / step) * step

    def title(self, value: float, units: Units) -> str:
        """What stands under the slider."""
        return f"{self.words}  {said(self.quantity, value, units)}"


# an inch slider steps by 0.002 in, and by 0.0005 in/ft
SLIDERS = (
    Slider(what="target_shift_deg", words="all targets", quantity="deviation_deg", low=-1.0, high=1.0,
           step=0.05, step_in=0.05),
    Slider(what="rh_percent", words="humidity, RH", quantity="rh_percent", low=30.0, high=65.0, step=5.0, step_in=5.0,
           dear=True),
    Slider(what="tilt_y_mm_per_m", words="plate tilt to the {far}", quantity="tilt_y_mm_per_m", low=-2.0, high=2.0,
           step=0.05, step_in=0.0005 * 1000.0 / 12.0),
    Slider(what="tilt_x_mm_per_m", words="plate tilt to the treble", quantity="tilt_x_mm_per_m", low=-2.0, high=2.0,
           step=0.05, step_in=0.0005 * 1000.0 / 12.0),
    Slider(what="plate_up_mm", words="plate up", quantity="plate_up_mm", low=-3.0, high=3.0, step=0.05,
           step_in=0.0508),
)  # fmt: skip


class Row:
    """A slider on a plotter.

    changed   is called with each new step. While the slider is dragged no more often than the picture can follow: what
    a drag passes over while the last change is still being drawn is left out, where it ends never is.
    """

    def __init__(
        self, plotter: Any, slider: Slider, row: int, *, home: float, at: float, units: Units,
        changed: Callable[[float], None], clock: Callable[[], float] = time.monotonic,
    ) -> None:  # fmt: skip
        self.plotter, self.slider, self.home, self.at, self.units = plotter, slider, home, at, units
        self._changed, self._clock, self._free = changed, clock, 0.0
        y = LOWEST + APART * row
        self.widget = plotter.add_slider_widget(
            self.dragged, (min(slider.low, home), max(slider.high, home)), value=at, title=slider.title(at, units),
            pointa=(LEFT, y), pointb=(RIGHT, y), style="modern", color=colours.INK, title_color=colours.INK,
            title_height=0.018, interaction_event="always", tube_width=0.003, slider_width=0.018,
        )  # fmt: skip
        self.widget.AddObserver("StartInteractionEvent", lambda *_: self._held(True))
        self.widget.AddObserver("EndInteractionEvent", lambda *_: self._held(False))
        shown = self.widget.GetRepresentation()
        shown.ShowSliderLabelOff()  # its number stands in the title, where no other slider covers it
        shown.GetSelectedProperty().SetColor(*(each / 255.0 for each in colours.HIGH_NEAR))
        shown.GetTitleProperty().SetShadow(False)
        shown.GetTitleProperty().SetBold(False)

    def dragged(self, value: float) -> None:
        """The slider moves, held or not."""
        if not self.slider.dear and self._clock() >= self._free:
            self.let_go(value)

    def let_go(self, value: float) -> None:
        """Where the slider stands now counts."""
        stepped = self.slider.stepped(value, self.home, self.units)
        if abs(stepped - self.at) < 1e-9:
            return
        begun = self._clock()
        self.at = stepped
        self.widget.GetRepresentation().SetTitleText(self.slider.title(stepped, self.units))
        self._changed(stepped)
        self._free = 2.0 * self._clock() - begun

    def back(self, value: float) -> None:
        """Stand at a value, without calling anyone."""
        self.at = value
        self.widget.GetRepresentation().SetValue(value)
        self.widget.GetRepresentation().SetTitleText(self.slider.title(value, self.units))

    def _held(self, held: bool) -> None:
        """While it is held, only changes are drawn, not every step of the mouse."""
        interactor = self.plotter.iren.interactor
        if held:
            interactor.EnableRenderOff()
            return
        interactor.EnableRenderOn()
        self.let_go(self.widget.GetRepresentation().GetValue())
        self.back(self.at)  # the handle stands where the number says
