"""What a board goes through from its gluing in on: the air around it, when it was strung, how its wood is finished."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.errors import BoardError
from bellywork.files.cell_text import number_in
from bellywork.seasons.air_log import DAY_SECONDS, read_air_log
from bellywork.seasons.history import DRIEST_RH_PERCENT, Air, monthly_air, sine_air, still_air

BEFORE_DAYS = 30.0  # from gluing into the rim to stringing; common practice, no source
STRUNG_ON = (5, 1)  # month and day where nothing is said: spring, between the dry and the damp
USUAL_AIR = "30:65"
FINISHES = ("varnished", "bare")
UNTUNED = {  # what strings do that nobody tunes, in words
    "holding": "held by the bridge pins, so that speaking and back length stretch by themselves",
    "slipping": "slipping freely over the bridge pins, so that they stretch over their whole length",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Life:
    """What a board goes through.

    air               around it from its stringing on
    shop_rh_percent   relative humidity in the shop until then, %; None: as that air
    finish            "bare" or "varnished": how fast its wood follows
    start_day         day of the air (see `Air.at`) on which it is strung
    before_days       from gluing into the rim to stringing
    temperature_C
    strung            the day of stringing, in words
    untuned           "": the tuner keeps the strings at pitch; else they are left alone once they are there, a word of
                      UNTUNED
    """

    air: Air
    start_day: float
    shop_rh_percent: float | None = None
    finish: str = "varnished"
    before_days: float = BEFORE_DAYS
    temperature_C: float = 20.0
    strung: str = ""
    untuned: str = ""

    def rh_percent(self, days: Floats) -> Floats:
        """Relative humidity in % at days since the gluing into the rim; in the shop up to the day of stringing."""
        begin = self.start_day - self.before_days
        if self.shop_rh_percent is None:
            return self.air.at(begin + days)
        later = self.air.at(np.maximum(begin + days, self.start_day))
        return np.where(days <= self.before_days, self.shop_rh_percent, later)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What it stands on, in sentences."""
        shop, rh = "In", self.shop_rh_percent
        if rh is not None:
            shop = f"In the shop at {rh:g} % RH until it is strung, then in"
        return (
            f"{shop} air of {self.air.name}, {self.temperature_C:g} °C. The panel is {self.finish}.",
            f"Strung{f' on {self.strung}' if self.strung else ''}, {self.before_days:.0f} days after the board was "
            f"glued into its rim, and {self._tuning}.",
        )

    @property
    def _tuning(self) -> str:
        if not self.untuned:
            return "kept at pitch"
        return f"brought to pitch then and never again: the strings pull as they stretch, {UNTUNED[self.untuned]}"


def life_of(
    board: Board, air: str = USUAL_AIR, *, finish: str = FINISHES[0], days: float = 0.0, untuned: str = ""
) -> Life:
    """The life that a board is asked to lead; it is strung on the date of its measurement, else on the first of May.

    Until then the shop has the humidity of the measurement, where that is known; a log tells of the shop as well.

    air     as `air_named` reads it, or the name of a log (see `read_air_log`), which ends in .csv
    days    for how long after the stringing the air is asked for
    untuned as in `Life`

    Raises BoardError for air in other words and for a log that begins after the stringing, UnusableInput for a log that
    cannot be used.
    """
    try:
        date = datetime.date.fromisoformat(board.climate.date) if board.climate.date else None
    except ValueError:
        date = None
    warmth = 20.0 if board.climate.temperature_C is None else board.climate.temperature_C
    if air.lower().endswith(".csv"):
        return replace(_logged(Path(air), date, finish, warmth, days), untuned=untuned)
    if date is None:
        day, words = datetime.date(2001, *STRUNG_ON), "1 May (no date stands in [measured] of board.toml)"
    else:
        day, words = date, f"{date.isoformat()}, the date of the measurement"
    return Life(
        air=air_named(air),
        start_day=day.timetuple().tm_yday - 1.0,
        shop_rh_percent=board.climate.rh_percent,
        finish=finish,
        temperature_C=warmth,
        strung=words,
        untuned=untuned,
    )


def air_named(words: str) -> Air:
    """A year of air in words: two humidities with a colon, as a sine; twelve with commas, by month; one, all year.

    >>> air_named("35:60").name, air_named("45").name
    ('35 to 60 % RH, as a sine dampest on 1 August', '45 % RH all year')

    Raises BoardError for anything else.
    """
    colon, comma = words.split(":"), words.split(",")
    numbers = [number_in(part) for part in (colon if len(colon) > 1 else comma)]
    known = [number for number in numbers if number is not None and DRIEST_RH_PERCENT < number <= 100.0]
    if len(known) == len(numbers):
        if len(colon) == 2 and known[0] < known[1]:
            return sine_air(low_percent=known[0], high_percent=known[1])
        if len(colon) == 1 and len(known) == 12:
            return monthly_air(known)
        if len(colon) == 1 and len(known) == 1:
            return still_air(known[0])
    raise BoardError(
        f"Found '{words}' as air; expected relative humidities in %: the driest and the dampest of a year as 35:60, "
        "those of its twelve months from January on with commas, one for all year, or the name of a log that ends in "
        ".csv."
    )


def _logged(path: Path, date: datetime.date | None, finish: str, warmth: float, days: float) -> Life:
    """A life in measured air: strung on the date given, else a day after the log begins."""
    air, begin = read_air_log(path)
    first = begin.date()
    before = 1.0
    if date is not None:
        begun = (datetime.datetime.combine(date, datetime.time()) - begin).total_seconds() / DAY_SECONDS
        if begun < 1.0:
            raise BoardError(
                f"{path.name} begins on {first.isoformat()}; the board was strung on {date.isoformat()}. The log must "
                "begin a day before the stringing, or earlier."
            )
        before = min(begun, BEFORE_DAYS)
        start, words = begun, f"{date.isoformat()}, the date of the measurement"
    else:
        start, words = before, f"the day after {path.name} begins (no date stands in [measured] of board.toml)"
    held = float(air.days[-1]) - start
    if held < days:
        raise BoardError(
            f"{path.name} tells of {held:.0f} days after the stringing; {days:.0f} were asked for. Ask for less time, "
            "or give the humidities of a year's months instead of the log."
        )
    return Life(air=air, start_day=start, finish=finish, before_days=before, temperature_C=warmth, strung=words)
