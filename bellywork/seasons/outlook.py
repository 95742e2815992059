"""What a strung board will show after a week, a year, fifty years: the middle of what is known, and its band."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, MissingLayer
from bellywork.geometry.reference_notes import reference_notes
from bellywork.geometry.string_line import topped
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.climate import crushing_limit_MPa
from bellywork.seasons.along import top_along
from bellywork.seasons.history import LONGEST_DAYS, YEAR_DAYS
from bellywork.seasons.known import Known, cases, lived
from bellywork.seasons.life import Life
from bellywork.seasons.pitch import wire_N
from bellywork.seasons.service import Service, grown_per_percent_mm, in_time, served
from bellywork.seasons.strings import Fitting

UNITS_DAYS = {"d": 1.0, "w": 7.0, "m": YEAR_DAYS / 12.0, "y": YEAR_DAYS}
MOST_YEARS = 100.0
LONGER = 2.0  # steps of the band's runs: they are told against the middle in as long steps, so that these hardly count
NOT_HELD = (
    "Creep and set are those of Norway spruce, in all parts. The band of a later day holds what is not known of creep, "
    "moisture and swelling, and not what is not known of the board itself."
)
# what is kept of a way through the years, beside the strings' lines
KEPT = (
    "day", "moisture_percent", "pull_N", "net_deg", "downforce_N", "height_mm", "rib_rise_mm", "across_MPa",
    "set_strain", "missed_mm",
)  # fmt: skip
TOLD = ("height_mm", "net_deg", "downforce_N", "rib_rise_mm", "across_MPa", "set_strain")


@dataclass(frozen=True, kw_only=True, eq=False)
class Outlook:
    """A strung board at asked times after its stringing; arrays begin with (times,).

    day           of each time, since the strings came on
    note          the notes; rib, span_mm: name of each rib, and the length over which its rise is told
    reference     True at the notes to be worked at
    middle        by name of the quantity, see TOLD and `Service`
    low, high     between which it lies in 95 of 100 cases, for what is not known of creep, moisture and swelling
    service       the middle's whole way
    life          what it went through
    limit_MPa     pressure across the grain at which the panel's wood begins to be crushed, at its moisture at each stop
                  of `service`; NaN unknown
    """

    day: Floats
    note: tuple[int, ...]
    reference: Bools
    rib: tuple[str, ...]
    span_mm: Floats
    middle: dict[str, Floats]
    low: dict[str, Floats]
    high: dict[str, Floats]
    service: Service
    life: Life
    limit_MPa: Floats

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What it stands on, in sentences."""
        return (*self.life.assumptions, NOT_HELD)

    def place(self, day: float) -> int:
        """Which of its times a day is. Raises BoardError where it was not asked for."""
        found = np.flatnonzero(np.abs(self.day - day) < 1e-6)
        if not len(found):
            raise BoardError(f"The outlook was not asked for day {day:g}.")
        return int(found[0])

    def most_pressed(self) -> tuple[float, float, float]:
        """Day, greatest pressure across the grain over its limit as a share, and that pressure in N/mm², under the
        strings, by the middle; the share is NaN where the limit is not known.
        """
        on = np.flatnonzero(np.array(self.service.strung))
        pressed = -self.service.across_MPa[on]
        share = pressed / self.limit_MPa[on]
        k = int(np.argmax(np.nan_to_num(share, nan=-np.inf)))
        return float(self.service.day[on][k] - self.life.before_days), float(share[k]), float(pressed[k])

    def last_year(self) -> tuple[Floats, Floats]:
        """Least and most net bearing at each note within the last year, or since the stringing, by the middle."""
        last = self.life.before_days + float(self.day.max())
        since = max(last - YEAR_DAYS, self.life.before_days)
        then = np.array(self.service.strung) & (self.service.day >= since - 1e-6) & (self.service.day <= last + 1e-6)
        net = self.service.net_deg[then]
        return net.min(axis=0), net.max(axis=0)


def outlook(
    board: Board | Instrument,
    *,
    life: Life,
    days: Sequence[float],
    banded: bool = True,
    longest_days: float = LONGEST_DAYS,
    progress: Callable[[str], None] | None = None,
) -> Outlook:
    """A board followed from its gluing in through its years, once for the middle and twice for each thing not known.

    days     since stringing; 0: just strung
    banded   False: the middle alone, a dozen times as quick; low and high are then the middle too

    Heights of the bare board are taken as measured on the day of stringing, those of the strung board as measured at
    the last of `days`.

    The band holds what is not known of creep, of creep with moisture, of hysteresis and lag and of swelling, each at
    both ends of its prior in turn, added as squares. It does not hold what is not known of the board's stiffness.

    Raises MissingLayer where body, plan, scale or string line are lacking, BoardError and SolveError as `history` and
    `served` do.
    """
    asked = np.asarray(days, dtype=float)
    if not (len(asked) and np.all(asked >= 0.0)):
        raise BoardError("An outlook needs times after the stringing, 0 or more.")
    ready = prepared(board)
    line = ready.board.needed_strings("An outlook")
    for needed in (ready.board.needed_body, ready.board.needed_plan, ready.board.needed_scale):
        needed("An outlook")
    every = cases(life) if banded else cases(life)[:1]
    arrays = ready.kept_on_disk(
        "outlook",
        (life, asked, every, longest_days),
        lambda: _followed(ready, life, asked, every, longest_days, progress),
    )
    service = _service(line, arrays)
    body = ready.board.needed_body("An outlook")
    return Outlook(
        day=asked,
        note=tuple(line.note.tolist()),
        reference=reference_notes(line),
        rib=tuple(body.ribs[int(k)].name for k in arrays["rib"]),
        span_mm=arrays["span_mm"],
        middle=_told(service, life, asked),
        low={name: arrays[f"low {name}"] for name in TOLD},
        high={name: arrays[f"high {name}"] for name in TOLD},
        service=service,
        life=life,
        limit_MPa=np.array([crushing_limit_MPa(body, float(moisture)) for moisture in service.moisture_percent]),
    )


def _followed(
    ready: Instrument,
    life: Life,
    asked: Floats,
    every: Sequence[Known],
    longest_days: float,
    progress: Callable[[str], None] | None,
) -> dict[str, Floats]:
    """The way of the middle, and the ends of the band at the times asked for, as arrays to be kept."""
    belly, plan = ready.belly, ready.board.needed_plan("An outlook")
    strings = fitting(ready, life, float(asked.max()))
    middle, *varied = every
    along = top_along(ready) if life.untuned == "holding" else None
    boards = {1.0: in_time(belly, plan.pins_mm, middle.laws, along=along)}

    def followed(known: Known, step_days: float) -> Service:
        share = known.growth_share
        if share not in boards:
            boards[share] = in_time(belly, plan.pins_mm, middle.laws, along=along, growth_share=share)
        past = lived(belly, life, known, asked, step_days)
        return served(boards[share].under(known.laws), past, strings)

    service, longer_days = followed(middle, longest_days), LONGER * longest_days
    here = _told(service, life, asked)
    beside = _told(followed(middle, longer_days), life, asked) if varied else here
    below = {name: np.zeros_like(value) for name, value in here.items()}
    above = {name: np.zeros_like(value) for name, value in here.items()}
    for k, known in enumerate(varied):
        if progress is not None:
            progress(f"{k + 1} of {len(varied)}")
        for name, value in _told(followed(known, longer_days), life, asked).items():
            off = known.reach * (value - beside[name])
            below[name] += np.minimum(off, 0.0) ** 2
            above[name] += np.maximum(off, 0.0) ** 2
    ribs = [each for each in belly.board.discrete.stations if each.side < 0]
    places = {f"rib {rib.name}": k for k, rib in enumerate(ready.board.needed_body("An outlook").ribs)}
    return {
        "rib": np.array([places[each.name] for each in ribs], dtype=float),
        "span_mm": np.array([np.hypot(*(each.points_mm[-1] - each.points_mm[0])) for each in ribs]),
        "strung": np.array(service.strung, dtype=float),
        "front_mm": np.array([line.bridge_front_mm for line in service.line]),
        "rear_mm": np.array([line.bridge_rear_mm for line in service.line]),
        **{name: np.asarray(getattr(service, name)) for name in KEPT},
        **{f"low {name}": value - np.sqrt(below[name]) for name, value in here.items()},
        **{f"high {name}": value + np.sqrt(above[name]) for name, value in here.items()},
    }


def _service(line: StringLine, arrays: Mapping[str, Floats]) -> Service:
    """A way through the years from the arrays that were kept of it."""
    return Service(
        strung=tuple(bool(on) for on in arrays["strung"]),
        line=tuple(topped(line, *tops) for tops in zip(arrays["front_mm"], arrays["rear_mm"])),
        **{name: arrays[name] for name in KEPT if name != "missed_mm"},
        missed_mm=float(arrays["missed_mm"]),
    )


def fitting(ready: Instrument, life: Life, last_day: float) -> Fitting:
    """The strings of an instrument, with the day on which its heights were measured."""
    line, plan = ready.board.needed_strings("An outlook"), ready.board.needed_plan("An outlook")
    measured = ready.board.measured_in
    if measured not in (State.BARE, State.STRUNG):
        raise MissingLayer(f"An outlook needs heights of the bare or the strung board; these are {measured.value}.")
    strung, scale = ready.board.measured_in is State.STRUNG, ready.board.needed_scale("An outlook")
    return Fitting(
        line=line,
        pull_N=ready.pull_N,
        measured_day=life.before_days + (last_day if strung else 0.0),
        strung_day=life.before_days,
        grown_per_percent_mm=grown_per_percent_mm(ready.belly.board.discrete, line, plan),
        finer_mm_N=ready.finer_mm_N(plan.pins_mm),
        left_alone_N=scale.unisons * wire_N(scale) if life.untuned else None,
    )


def days_in(text: str) -> float:
    """Days in words: a number and d, w, m or y, up to MOST_YEARS. Raises BoardError for anything else.

    >>> days_in("1w"), round(days_in("6m"), 1), days_in("10y")
    (7.0, 182.6, 3652.5)
    """
    match = re.fullmatch(r"(\d+(?:\.\d+)?)([dwmy])", text.strip())
    if match is None or float(match[1]) <= 0.0:
        raise BoardError(f"Found '{text}' as a time; expected a number and d, w, m or y, as 1w, 6m or 10y.")
    days = float(match[1]) * UNITS_DAYS[match[2]]
    if days > MOST_YEARS * YEAR_DAYS:
        raise BoardError(f"Found '{text}' as a time; expected {MOST_YEARS:g} years at most.")
    return days


def times_to(years: float) -> tuple[float, ...]:
    """Days at which a board is usually looked at: just strung, a day, a week, a month, half a year, then years.

    >>> [days_in_words(day) for day in times_to(10.0)]
    ['just strung', '1 day', '1 week', '1 month', '6 months', '1 year', '3 years', '10 years']

    Raises BoardError for years that are not above 0.
    """
    if not 0.0 < years <= MOST_YEARS:
        raise BoardError(f"Found {years:g} years, expected more than 0 and at most {MOST_YEARS:g}.")
    last = years * YEAR_DAYS
    usual = (
        0.0,
        1.0,
        7.0,
        YEAR_DAYS / 12.0,
        YEAR_DAYS / 2.0,
        *(YEAR_DAYS * year for year in (1.0, 3.0, 10.0, 30.0, 100.0)),
    )
    return (*(day for day in usual if day < last - 1e-6), last)


def days_in_words(day: float) -> str:
    """A time in words.

    >>> [days_in_words(day) for day in (1.0, 3.0, 14.0, 365.25 / 4.0, 365.25 * 1.5, 45.0)]
    ['1 day', '3 days', '2 weeks', '3 months', '18 months', '45 days']
    """
    if day == 0.0:
        return "just strung"
    for word, length in (("year", YEAR_DAYS), ("month", YEAR_DAYS / 12.0), ("week", 7.0)):
        count = day / length
        if abs(count - round(count)) < 1e-6 and count > 0.5:
            return f"{count:.0f} {word}{'s' if round(count) > 1 else ''}"
    return f"{day:.0f} day{'s' if day != 1.0 else ''}"


def _told(service: Service, life: Life, asked: Floats) -> dict[str, Floats]:
    stops = [service.at(life.before_days + float(day)) for day in asked]
    return {name: np.asarray(getattr(service, name))[stops] for name in TOLD}
