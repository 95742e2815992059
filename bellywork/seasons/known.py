"""What is not known of a board's wood and its moisture: one guess at all of it, and each thing varied in turn."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bellywork.board.arrays import Floats
from bellywork.mechanics.making import Belly
from bellywork.seasons.history import LONGEST_DAYS, History, history
from bellywork.seasons.life import Life
from bellywork.seasons.rheology import Laws
from bellywork.seasons.sorption import MIDDLE, Sorption, lag_days
from bellywork.seasons.spruce import spruce_laws, spruce_prior

GROWTH_SHARES = (0.8, 1.2)  # swelling across the grain: two trees' published values differ by so much
SIGMAS = 1.96  # standard deviations to either end of a band that holds 95 of 100
DEVIATIONS = ("creep",)  # priors that are a standard deviation either way; the others are the least and the most


@dataclass(frozen=True, kw_only=True)
class Known:
    """One guess at everything that is not known of the wood, as factors; `single` and `lag_days` as in `Sorption`.

    reach   how many times as far from the middle the end of the 95 % range lies: 1 where the guess is the least or the
            most that is held possible, SIGMAS where it is a standard deviation away
    """

    laws: Laws
    single: float
    lag_days: float
    growth_share: float
    reach: float = 1.0


def cases(life: Life) -> list[Known]:
    """The middle, then each thing not known at both ends of its prior."""
    laws, prior = spruce_laws(), spruce_prior()
    lag, *lags = lag_days(life.finish)
    usual = Known(laws=laws, single=MIDDLE, lag_days=lag, growth_share=1.0)
    return [
        usual,
        *(
            replace(usual, laws=laws.varied(**{name: share}), reach=SIGMAS if name in DEVIATIONS else 1.0)
            for name, shares in prior.items()
            for share in shares
        ),
        *(replace(usual, single=end) for end in (0.0, 1.0)),
        *(replace(usual, lag_days=end) for end in lags),
        *(replace(usual, growth_share=end, reach=SIGMAS) for end in GROWTH_SHARES),
    ]


def lived(belly: Belly, life: Life, known: Known, asked: Floats, longest_days: float = LONGEST_DAYS) -> History:
    """The history of a board from its gluing in to the last of the days asked for, which count from its stringing."""
    return history(
        life.rh_percent,
        Sorption(lag_days=known.lag_days, single=known.single, temperature_C=life.temperature_C),
        days=life.before_days + float(asked.max()),
        start_percent=belly.making.glued_in_moisture_percent,
        changes=[life.before_days],
        asked=(life.before_days + asked).tolist(),
        longest_days=longest_days,
    )
