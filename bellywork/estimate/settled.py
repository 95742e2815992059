"""What wood settles under its load, or recovers, between two readings of a place, by their days."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from bellywork.board.state import Climate, State
from bellywork.estimate.loaded import LoadedBoard
from bellywork.estimate.threads import alike
from bellywork.seasons.spruce import settled_share

USUAL_DAYS = (
    7.0  # between two readings whose dates do not tell (common practice: a piano is let down and read in a week)
)


def settled_by(model: LoadedBoard) -> list[float]:
    """What the wood is reckoned to have settled under each thread that was read under a load, over the elastic sink:
    until that rib was read bare; one that never was, `USUAL_DAYS`. Nothing under the bare ones.
    """
    out = []
    for loaded in model.threads:
        if loaded.state is State.BARE:
            out.append(0.0)
            continue
        bare = [each for each in model.threads if each.state is State.BARE and alike(each, loaded)]
        days = min((days_apart(model, loaded.climate, each.climate) for each in bare), default=USUAL_DAYS)
        out.append(settled_share(days))
    return out


def days_apart(model: LoadedBoard, loaded: Climate, bare: Climate) -> float:
    """Days for which the wood settled between a reading under a load and one without, as `days_between` has it."""
    every = model.ready.board.readings
    return days_between(
        loaded,
        bare,
        loaded_days=[each.climate for each in every if each.state is not State.BARE] + [loaded],
        bare_days=[each.climate for each in every if each.state is State.BARE] + [bare],
    )


def days_between(
    loaded: Climate, bare: Climate, *, loaded_days: Sequence[Climate], bare_days: Sequence[Climate]
) -> float:
    """Days for which the wood settled under its load, or came back without it, by the later of two readings.

    It cannot have begun before the last reading of the other state, of all that were made (`loaded_days`, `bare_days`).
    `USUAL_DAYS` where a date is not noted.
    """
    if not (loaded.date and bare.date):
        return USUAL_DAYS
    under, free = (datetime.date.fromisoformat(each.date) for each in (loaded, bare))
    later, before = (free, loaded_days) if free > under else (under, bare_days)
    known = (datetime.date.fromisoformat(each.date) for each in before if each.date)
    return float(min((later - each).days for each in known if each <= later))
