"""Places on the board as people name them: a point in plan, or a note."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.conventions import UNITS
from bellywork.errors import BoardError
from bellywork.files.cell_text import note_in
from bellywork.geometry.completed import completed
from bellywork.geometry.naming import notes_in_words


def places_mm(board: Board, words: Sequence[str], *, unit: str = "mm") -> Floats:
    """Places in plan, shape (places, 2), mm: each a point X,Y in this unit, or a note at the middle of its pin rows.

    Raises BoardError for a word that is neither or a note that the board does not have, MissingLayer for a note
    without the strings' plan.
    """
    return np.array([_place(board, word, unit) for word in words], dtype=float).reshape(-1, 2)


def _place(board: Board, word: str, unit: str) -> tuple[float, float]:
    note = note_in(word)
    if note is not None:
        whole = completed(board).board
        line, plan = whole.needed_strings("A place by its note"), whole.needed_plan("A place by its note")
        here = np.flatnonzero(line.note == note)
        if not len(here):
            raise BoardError(f"The board has no {notes_in_words([note])}.")
        x, y = plan.middle_mm[here[0]]
        return float(x), float(y)
    try:
        x, y = (UNITS[unit].inside(float(part)) for part in word.split(","))
    except ValueError:
        x = y = float("nan")
    if not np.isfinite(x + y):
        raise BoardError(
            f"Found '{word}' as a place, expected X,Y in {unit}, for example 620,480, or a note such as C4."
        )
    return x, y
