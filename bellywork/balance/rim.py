"""The rim is an assumption: its name in words, and another in its place."""

from __future__ import annotations

from dataclasses import replace

from bellywork.board.board import Board
from bellywork.board.body import Body

RIM_RANGE = ("clamped", "hinged")
COARSE_CELL_MM = 60.0  # the difference between rims needs no fine grid; checked in tests/balance/test_rim_range.py


def body_on_rim(body: Body, rim: str | None) -> Body:
    """The body with its outline held in one named way all round; unchanged where `rim` is None."""
    from bellywork.board.rims import rim_support

    return body if rim is None else replace(body, outline=body.outline.supported(rim_support(rim)))


def board_on_rim(board: Board, rim: str | None) -> Board:
    """The board with its body's outline held in one named way all round; unchanged where `rim` or the body is None."""
    return board if board.body is None else replace(board, body=body_on_rim(board.body, rim))


def body_now(board: Board, what_for: str) -> tuple[Body, str]:
    """The board's body with its woods at the moisture of the measurement, and a sentence that says so.

    Raises MissingLayer without a body.
    """
    from bellywork.mechanics.climate import body_in, moisture_in

    body, moisture = board.needed_body(what_for), moisture_in(board.climate)
    if moisture is None:
        return body, "No humidity is noted: the woods' stiffness is taken as their tables or the folder give it."
    return body_in(body, moisture), f"The woods' stiffness is that at {moisture:.1f} % moisture."


def rim_words(body: Body) -> str:
    """How the rim holds the panel, in words: one name, or the names of its stretches."""
    names = list(dict.fromkeys(side.name for side in body.outline.support))
    return names[0] if len(names) == 1 else " and ".join([", ".join(names[:-1]), names[-1]]) + " by stretches"
