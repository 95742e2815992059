"""Words of the commands that look at a later day: how long after the stringing, and the air till then."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser

if TYPE_CHECKING:
    from bellywork.board import Board
    from bellywork.seasons.life import Life


def add_after(parser: argparse.ArgumentParser, what: str) -> None:
    """Add a later day."""
    parser.add_argument("--after", metavar="TIME", help=what)


def add_air(parser: argparse.ArgumentParser) -> None:
    """Add what the board lives in: its air, and whether anybody tunes it."""
    parser.add_argument(
        "--air",
        metavar="AIR",
        help="its air: driest and dampest %% RH of a year as 30:65 (the default), twelve months with commas, one for "
        "all year, or a log FILE.csv of date and rh",
    )
    parser.add_argument(
        "--finish", choices=("varnished", "bare"), help="how fast the panel follows the air (default: varnished)"
    )
    parser.add_argument(
        "--untuned",
        choices=("holding", "slipping"),
        help="nobody tunes it once it is strung; strings hold at the bridge pins or slip over them (default: tuned)",
    )


def life_asked(board: Board, words: argparse.Namespace, days: float) -> Life:
    """The life that the words ask for; raises as `life_of`."""
    from bellywork.seasons.life import FINISHES, USUAL_AIR, life_of

    return life_of(
        board,
        USUAL_AIR if words.air is None else words.air,
        finish=words.finish or FINISHES[0],
        days=days,
        untuned=words.untuned or "",
    )


def air_alone(parser: Parser, words: argparse.Namespace, asked: str, given: bool) -> None:
    """Refuse air where no later day is asked for, and other what-ifs where one is."""
    if not given and (words.air, words.finish, words.untuned) != (None, None, None):
        parser.error(
            f"found --air, --finish or --untuned without {asked}, expected both: they tell how the board lives till "
            "then"
        )


def steps(what: str) -> Callable[[str], None] | None:
    """Say on a terminal how far a long work is; None where nobody looks."""
    if not sys.stderr.isatty():
        return None
    return lambda word: print(f"{what}: {word} …   ", end="\r", file=sys.stderr, flush=True)
