"""Moisture that lags behind the air and remembers which way it came.

Wood that takes up water holds less of it than wood that gives it off, at the same humidity. Between the two curves the
moisture stays where it is (horizontal scanning) at one end of what is known, and follows one single curve at the other;
real wood is between. Published for one tree: Maas and Wittel 2026.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats
from bellywork.errors import BoardError
from bellywork.mechanics.moisture import equilibrium_moisture_percent, relative_humidity_percent

MIDDLE = 0.5  # of the way from horizontal scanning to the single curve: what is told where one number is asked for


def adsorbed_percent(rh_percent: ArrayLike) -> Floats:
    """Moisture in % of wood that came from dryness to this relative humidity in %.

    >>> adsorbed_percent([35.0, 65.0]).round(2).tolist(), desorbed_percent([35.0, 65.0]).round(2).tolist()
    ([5.75, 10.55], [7.23, 12.51])
    """
    return _boundary("adsorption", rh_percent)


def desorbed_percent(rh_percent: ArrayLike) -> Floats:
    """Moisture in % of wood that came from wetness to this relative humidity in %."""
    return _boundary("desorption", rh_percent)


@dataclass(frozen=True, kw_only=True)
class Sorption:
    """How a board's wood follows the air.

    lag_days       days in which it follows two thirds of the way (first order); 0: at once
    single         0: horizontal scanning between the two curves, 1: one single curve
    temperature_C  of the air

    The single curve is the handbook's, and the two boundaries stand to it as the published ones do to their mean.
    """

    lag_days: float
    single: float = MIDDLE
    temperature_C: float = 20.0

    def bounds_percent(self, rh_percent: float) -> tuple[float, float]:
        """The least and the most moisture that wood may have at this humidity, %."""
        once = equilibrium_moisture_percent(rh_percent, self.temperature_C)
        if rh_percent <= 0.0:
            return once, once
        low, high = float(adsorbed_percent(rh_percent)), float(desorbed_percent(rh_percent))
        middle = (low + high) / 2.0
        return once * min(low, high) / middle, once * max(low, high) / middle

    def followed(self, days: Floats, rh_percent: Floats, start_percent: float) -> Floats:
        """Moisture in % at each of these days, of wood that begins at rest at `start_percent`.

        The humidity that the wood feels follows the air's, a straight line between the days, in first order; moisture
        follows that at once. Raises BoardError for humidities outside 0 to 100 %.
        """
        felt = relative_humidity_percent(start_percent, self.temperature_C)
        kept, out = start_percent, np.empty(len(days))
        for k, (day, rh) in enumerate(zip(days, rh_percent)):
            if k == 0:
                felt = felt if self.lag_days > 0.0 else float(rh)
            else:
                felt = _lagged(felt, float(rh_percent[k - 1]), float(rh), float(day - days[k - 1]), self.lag_days)
            low, high = self.bounds_percent(felt)
            kept = min(max(kept, low), high)
            once = equilibrium_moisture_percent(felt, self.temperature_C)
            out[k] = kept + self.single * (once - kept)
        return out


def grown_along(from_percent: ArrayLike, to_percent: ArrayLike) -> Floats:
    """Free strain along the grain between two moistures in %, on two lines: steep when dry, next to none above.

    >>> round(1000.0 * float(grown_along(9.0, 5.0)), 2)  # mm on a metre
    -0.66
    """
    row = sorption_table()["along_grain"]

    def size(moisture: ArrayLike) -> Floats:
        w = np.asarray(moisture, dtype=float) / 100.0
        below, above = np.minimum(w, row["knee"]), np.maximum(w - row["knee"], 0.0)
        return np.asarray(row["below"] * below + row["above"] * above)

    return np.asarray(size(to_percent) - size(from_percent))


@cache
def sorption_table() -> dict[str, Any]:
    """The whole of ``sorption_norway_spruce.toml``."""
    text = files("bellywork.board.data").joinpath("sorption_norway_spruce.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def lag_days(finish: str) -> tuple[float, float, float]:
    """Days of lag of a "bare" or "varnished" panel, and the least and the most they may be."""
    rows = sorption_table()["lag"]
    if finish not in rows:
        raise BoardError(f"A panel is {' or '.join(rows)}, not {finish!r}.")
    return rows[finish]["days"], rows[finish]["least"], rows[finish]["most"]


def _boundary(name: str, rh_percent: ArrayLike) -> Floats:
    a, b, c = sorption_table()[name]["abc"]
    h = np.asarray(rh_percent, dtype=float) / 100.0
    return np.asarray(100.0 * h / (a + b * h + c * h * h))


def _lagged(felt: float, first: float, last: float, days: float, lag_days: float) -> float:
    """What is felt after so many days in which the air went evenly from first to last; exact."""
    x = days / lag_days if lag_days > 0.0 else np.inf
    if x == 0.0:
        return felt
    kept, mean = float(np.exp(-x)), float(-np.expm1(-x) / x)
    return felt * kept + first * (mean - kept) + last * (1.0 - mean)
