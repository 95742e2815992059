"""What a strung board will show after a week, a year, fifty years: the middle of what is known, and its band."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.errors import BoardError, MissingLayer
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.making import Belly
from bellywork.seasons.history import LONGEST_DAYS, YEAR_DAYS, Air, History, history
from bellywork.seasons.rheology import Laws
from bellywork.seasons.service import Fitting, Service, grown_per_percent_mm, in_time, served
from bellywork.seasons.sorption import MIDDLE, Sorption, lag_days
from bellywork.seasons.spruce import spruce_laws, spruce_prior

GROWTH_SHARES = (0.8, 1.2)  # swelling across the grain: two trees' published values differ by so much
UNITS_DAYS = {"d": 1.0, "w": 7.0, "m": YEAR_DAYS / 12.0, "y": YEAR_DAYS}
TOLD = ("height_mm", "net_deg", "downforce_N", "rib_rise_mm", "across_MPa", "set_strain")


@dataclass(frozen=True, kw_only=True, eq=False)
class Life:
    """What a board goes through.

    air           around it
    finish        "bare" or "varnished": how fast its wood follows
    start_day     day of the air (see `Air.at`) on which it is strung
    before_days   from gluing into the rim to stringing
    temperature_C
    """

    air: Air
    start_day: float
    finish: str = "varnished"
    before_days: float = 30.0
    temperature_C: float = 20.0


@dataclass(frozen=True, kw_only=True)
class Known:
    """One guess at everything that is not known of the wood, as factors; `single` and `lag_days` as in `Sorption`."""

    laws: Laws
    single: float
    lag_days: float
    growth_share: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Outlook:
    """A strung board at asked times after its stringing; arrays begin with (times,).

    day           of each time, since the strings came on
    middle        by name of the quantity, see TOLD and `Service`
    low, high     between which it lies in two of three cases, for what is not known of creep, moisture and swelling
    service       the middle's whole way
    life          what it went through
    """

    day: Floats
    middle: dict[str, Floats]
    low: dict[str, Floats]
    high: dict[str, Floats]
    service: Service
    life: Life


def outlook(
    board: Board | Instrument,
    *,
    life: Life,
    days: Sequence[float],
    longest_days: float = LONGEST_DAYS,
    progress: Callable[[str], None] | None = None,
) -> Outlook:
    """A board followed from its gluing in through its years, once for the middle and twice for each thing not known.

    days   since stringing, above 0

    Heights of the bare board are taken as measured on the day of stringing, those of the strung board as measured at
    the last of `days`.

    The band holds what is not known of creep, of creep with moisture, of hysteresis and lag and of swelling, each at
    both ends of its prior in turn, added as squares. It does not hold what is not known of the board's stiffness.

    Raises MissingLayer where body, plan, scale or string line are lacking, BoardError and SolveError as `history` and
    `served` do.
    """
    asked = np.asarray(days, dtype=float)
    if not (len(asked) and np.all(asked > 0.0)):
        raise BoardError("An outlook needs times after the stringing, above 0.")
    ready = prepared(board)
    belly, plan = ready.belly, ready.board.needed_plan("An outlook")
    fitting = _fitting(ready, life, float(asked.max()))
    middle, *varied = cases(life)
    boards = {1.0: in_time(belly, plan.pins_mm, middle.laws)}

    def followed(known: Known) -> Service:
        share = known.growth_share
        if share not in boards:
            boards[share] = in_time(belly, plan.pins_mm, middle.laws, growth_share=share)
        past = lived(belly, life, known, asked, longest_days)
        return served(boards[share].under(known.laws), past, fitting)

    service = followed(middle)
    here = _told(service, life, asked)
    below = {name: np.zeros_like(value) for name, value in here.items()}
    above = {name: np.zeros_like(value) for name, value in here.items()}
    for k, known in enumerate(varied):
        if progress is not None:
            progress(f"{k + 1} of {len(varied)}")
        for name, value in _told(followed(known), life, asked).items():
            off = value - here[name]
            below[name] += np.minimum(off, 0.0) ** 2
            above[name] += np.maximum(off, 0.0) ** 2
    return Outlook(
        day=asked,
        middle=here,
        low={name: value - np.sqrt(below[name]) for name, value in here.items()},
        high={name: value + np.sqrt(above[name]) for name, value in here.items()},
        service=service,
        life=life,
    )


def _fitting(ready: Instrument, life: Life, last_day: float) -> Fitting:
    """The strings of an instrument, with the day on which its heights were measured."""
    line = ready.board.needed_strings("An outlook")
    if ready.board.measured_in is State.PRELOADED:
        raise MissingLayer("An outlook needs heights of the bare or the strung board; these are of the preloaded one.")
    strung = ready.board.measured_in is State.STRUNG
    return Fitting(
        line=line,
        pull_N=ready.pull_N,
        measured_day=life.before_days + (last_day if strung else 0.0),
        strung_day=life.before_days,
        grown_per_percent_mm=grown_per_percent_mm(
            ready.belly.board.discrete, line, ready.board.needed_plan("An outlook")
        ),
    )


def days_in(text: str) -> float:
    """Days in words: a number and d, w, m or y. Raises BoardError for anything else.

    >>> days_in("1w"), round(days_in("6m"), 1), days_in("10y")
    (7.0, 182.6, 3652.5)
    """
    match = re.fullmatch(r"(\d+(?:\.\d+)?)([dwmy])", text.strip())
    if match is None or float(match[1]) <= 0.0:
        raise BoardError(f"Found '{text}' as a time; expected a number and d, w, m or y, as 1w, 6m or 10y.")
    return float(match[1]) * UNITS_DAYS[match[2]]


def cases(life: Life) -> list[Known]:
    """The middle, then each thing not known at both ends of its prior."""
    laws, prior = spruce_laws(), spruce_prior()
    lag, *lags = lag_days(life.finish)
    usual = Known(laws=laws, single=MIDDLE, lag_days=lag, growth_share=1.0)
    return [
        usual,
        *(replace(usual, laws=laws.varied(**{name: share})) for name, shares in prior.items() for share in shares),
        *(replace(usual, single=end) for end in (0.0, 1.0)),
        *(replace(usual, lag_days=end) for end in lags),
        *(replace(usual, growth_share=end) for end in GROWTH_SHARES),
    ]


def lived(belly: Belly, life: Life, known: Known, asked: Floats, longest_days: float = LONGEST_DAYS) -> History:
    """The history of a board from its gluing in to the last of the days asked for, which count from its stringing."""
    return history(
        life.air,
        Sorption(lag_days=known.lag_days, single=known.single, temperature_C=life.temperature_C),
        days=life.before_days + float(asked.max()),
        start_percent=belly.making.glued_in_moisture_percent,
        start_day=life.start_day - life.before_days,
        changes=[life.before_days],
        asked=(life.before_days + asked).tolist(),
        longest_days=longest_days,
    )


def _told(service: Service, life: Life, asked: Floats) -> dict[str, Floats]:
    stops = [service.at(life.before_days + float(day)) for day in asked]
    return {name: np.asarray(getattr(service, name))[stops] for name in TOLD}
