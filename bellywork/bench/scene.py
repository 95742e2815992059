"""The board in three dimensions as the bench shows it: the very scene of the offline page."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Any

from bellywork.bench.answered import Answered
from bellywork.errors import MissingExtra, MissingLayer


def scene_data(answer: Answered) -> dict[str, Any]:
    """What the page draws of an answer.

    Raises MissingLayer where the board is not described, or nothing is answered yet; SolveError where no balance is
    found.
    """
    ready = answer.ready
    if ready is None or ready.board.body is None or ready.board.plan is None or ready.board.scale is None:
        raise MissingLayer("To draw it the board needs panel and outline, string_plan.csv and scale.csv.")
    if find_spec("pyvista") is None:
        raise MissingExtra("To draw it this needs pyvista: pip install 'bellywork[viewer]'.")
    from bellywork_viewer.page import page_data
    from bellywork_viewer.scene import Stage
    from bellywork_viewer.situation import Setting, Shown

    return page_data(Stage(ready), Setting(shown=Shown.STRUNG))
