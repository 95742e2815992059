"""The board as it was learned from readings on it: what every command that predicts starts from."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bellywork.answers.sureness import Sureness
    from bellywork.board import Board
    from bellywork.estimate.bands import Bands, Boards
    from bellywork.estimate.estimate import Estimate
    from bellywork.instrument import Instrument


def add_as_described(parser: argparse.ArgumentParser) -> None:
    """Add the way to leave readings of the board's stiffness aside."""
    parser.add_argument(
        "--as-described",
        action="store_true",
        help="leave aside what was read of the board's stiffness and the shop's memory: the board as described",
    )


def add_band(parser: argparse.ArgumentParser) -> None:
    """Add the band of a board of which nothing was read; of a learned one it is always told."""
    parser.add_argument(
        "--band",
        action="store_true",
        help="also tell the 95 %% band where nothing was read (slow the first time)",
    )


class Learning:
    """A board as the words of a command ask for it: as learned from what was read of it, or as described.

    With --rim it is taken as described: a rim of one's own contradicts the one that was learned.
    """

    def __init__(self, board: Board, words: argparse.Namespace) -> None:
        from bellywork.instrument import prepared

        rim = getattr(words, "rim", None)
        self.described = prepared(board, rim=rim)
        self.taught = board.can_be_learned and rim is None and not words.as_described
        self.banded = self.taught or getattr(words, "band", False)

    @cached_property
    def estimate(self) -> Estimate:
        """The estimate. Raises MissingLayer without a body."""
        from bellywork.estimate.estimate import estimated

        return estimated(self.described, as_described=not self.taught)

    @property
    def ready(self) -> Instrument:
        """The instrument that answers."""
        return self.estimate.ready if self.taught else self.described

    def sureness(self, bands_of: Callable[[Boards], Bands]) -> Sureness:
        """The bands of an answer; `bands_of` gives those for boards about an estimate."""
        from bellywork.answers.sureness import sureness_of

        return sureness_of(self.estimate, bands_of)
