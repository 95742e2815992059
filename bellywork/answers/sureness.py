"""How sure an answer is, told: its bands, and what was learned of the board."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.estimate.bands import Band, Bands, Boards, untaught
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.words import doubts, learned_words
from bellywork.quantities import said

PRESS = "'bellywork press BOARD --where' names the places whose reading narrows it most"
TIME_BAND = (
    "In brackets: where 95 of 100 such boards lie, for what is not known of creep, moisture and swelling; what is not "
    "known of this board's stiffness comes on top."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sureness:
    """The bands of an answer.

    bands      by quantity, and of the whole downforce
    before     the same with nothing learned; None: nothing was
    learned    what was learned, in one sentence
    doubts     what to look at among the readings
    """

    bands: Bands
    before: Bands | None = None
    learned: str = ""
    doubts: tuple[str, ...] = ()

    def words(self, quantity: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """The bands in words once, by the quantity of the headline; names of the notes."""
        low, high = self.bands.bands[quantity]
        half = (high - low) / 2.0
        if self.before is None:
            most = int(np.argmax(half))
            return (
                f"± is the band in which 95 of 100 boards described like this one lie, for wood, ribs and rim scatter: "
                f"up to ±{said(quantity, float(half[most]))} at {names[most]}. Press trials narrow it; {PRESS}.",
            )
        then = _half(self.before.bands[quantity])
        most = int(np.argmax(then))
        return (
            self.learned,
            f"± is the band in which 95 of 100 such boards lie; at {names[most]} it was "
            f"±{said(quantity, float(then[most]))} and is ±{said(quantity, float(half[most]))}.",
        )

    @property
    def total(self) -> dict[str, float]:
        """Ends of the band of all downforce together, as JSON has them."""
        return dict(zip(("downforce_N_low", "downforce_N_high"), self.bands.total_N))


@dataclass(frozen=True, kw_only=True, eq=False)
class Ageing(Sureness):
    """The bands of an answer for a later day."""

    def words(self, quantity: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """The bands in words once, by the quantity of the headline; names of the notes."""
        low, high = self.bands.bands[quantity]
        most = int(np.argmax(high - low))
        ends = (said(quantity, float(end[most])) for end in (low, high))
        return (f"{TIME_BAND} Widest at {names[most]}: {' to '.join(ends)}.",)


def sureness_of(estimate: Estimate, bands_of: Callable[[Boards], Bands]) -> Sureness:
    """The bands of an answer about an estimate; `bands_of` gives those for boards about it."""
    return Sureness(
        bands=bands_of(Boards.of(estimate)),
        before=None if estimate.learned is None and estimate.shop is None else bands_of(untaught(estimate)),
        learned=learned_words(estimate),
        doubts=doubts(estimate),
    )


def banded(sureness: Sureness | None) -> tuple[Bands, ...]:
    """The bands for a table of notes; nothing where there are none."""
    return () if sureness is None else (sureness.bands,)


def _half(band: Band) -> np.ndarray:
    return np.asarray((band[1] - band[0]) / 2.0)
