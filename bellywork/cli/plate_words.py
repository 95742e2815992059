"""Words for a move of the plate, the same for every command."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bellywork.cli.common import finite

if TYPE_CHECKING:
    from bellywork.board.plate import PlateMove

HAND = "set the plate first, so much higher; the setting that 'crown' tells, or your own (--units)"


def tilts(text: str) -> tuple[float, float]:
    """Two tilts from a command line."""
    parts = text.split(",")
    if len(parts) != 2:
        raise argparse.ArgumentTypeError(f"found '{text}', expected two numbers as 0.5,-1")
    return finite(parts[0]), finite(parts[1])


def add_plate_move(parser: argparse.ArgumentParser, what: str) -> None:
    """Add the plate's move: up and two tilts."""
    parser.add_argument("--plate-up", type=finite, default=0.0, metavar="UP", help=what)
    parser.add_argument(
        "--tilt",
        type=tilts,
        default=(0.0, 0.0),
        metavar="X,Y",
        help="and rising further towards the treble and towards the tail (upright: the bottom), in mm per m or inches "
        "per foot",
    )


def plate_move(words: argparse.Namespace) -> PlateMove | None:
    """The move that was asked for; None: the plate stays."""
    from bellywork.board.plate import PlateMove
    from bellywork.measures import MEASURES

    along, across = (MEASURES["tilt"].inside_of(each, words.units) for each in words.tilt)
    up = MEASURES["height"].inside_of(words.plate_up, words.units)
    move = PlateMove(up_mm=up, tilt_x_mm_per_m=along, tilt_y_mm_per_m=across)
    return None if move == PlateMove() else move
