"""The board in three dimensions as the bench shows it: the very scene of the offline page, its plate moved or not."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Any

from bellywork.bench.answered import Answered
from bellywork.board.plate import PlateMove
from bellywork.errors import MissingExtra, MissingLayer
from bellywork.estimate.estimate import learned_of
from bellywork.measures import METRIC, Units


def scene_data(answer: Answered, move: PlateMove | None = None, units: Units = METRIC) -> dict[str, Any]:
    """What the page draws of an answer; a colour means the same with the plate moved as with the plate as it is.

    Raises MissingLayer where the board is not described, or nothing is answered yet; SolveError where no balance is
    found.
    """
    ready = answer.ready
    if ready is None or not ready.board.described:
        raise MissingLayer("To draw it the board needs panel and outline, string_plan.csv and scale.csv.")
    if find_spec("pyvista") is None:
        raise MissingExtra("To draw it this needs pyvista: pip install 'bellywork[viewer]'.")
    from bellywork_viewer.page import page_data, page_palettes
    from bellywork_viewer.scene import Stage
    from bellywork_viewer.situation import Setting, Shown

    estimate = None if answer.described is None else learned_of(answer.described)
    stage = ready.kept(("stage", units), lambda: Stage(ready, units=units, estimate=estimate))
    as_it_is, move = Setting(shown=Shown.STRUNG), move or PlateMove()
    moved = Setting(
        shown=Shown.STRUNG,
        plate_up_mm=move.up_mm,
        tilt_x_mm_per_m=move.tilt_x_mm_per_m,
        tilt_y_mm_per_m=move.tilt_y_mm_per_m,
    )
    palettes = ready.kept(("palettes", units), lambda: page_palettes(stage, as_it_is))
    return page_data(stage, moved, palettes=palettes)
