"""What comes back when the strings come off, held against the model: how soft this very board is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.survey.rib_fit import SIGMAS

UNKNOWN_SHARE = 0.2  # 95 % half width of the compliance where nothing was measured: wood scatters (common practice)
# 95 % half width of what a humidity does, as a share: one curve of moisture overstates the swing from 30 to 65 % RH by
# 40 % where wood holds still between adsorption and desorption (calculated from the curves of `seasons`)
WEATHER_SHARE = 0.4
LEAST, MOST = 0.2, 5.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Softness:
    """The board's compliance against the model's.

    factor, uncertainty   and its 95 % half width
    measured              True where spring-back was fitted; else the factor is 1 and the width common practice
    names                 what sprang back; measured_mm, uncertainty_mm, predicted_mm: each with the fitted factor,
                          freed of the weather between its two days
    leverage, weather_leverage
                          change of the factor, and of the weather's share, for 1 mm more of each measured
    loose                 True where one factor does not explain what was measured
    weather, weather_uncertainty
                          what the humidity did, as a share of what it is reckoned to do, and its 95 % half width
    shared                correlation of factor and weather
    """

    factor: float
    uncertainty: float
    measured: bool
    names: tuple[str, ...]
    measured_mm: Floats
    uncertainty_mm: Floats
    predicted_mm: Floats
    leverage: Floats
    weather_leverage: Floats
    loose: bool
    weather: float = 1.0
    weather_uncertainty: float = WEATHER_SHARE
    shared: float = 0.0

    def set_uncertainty_mm(
        self, rise_uncertainty_mm: float, loss_mm: float, name: str, weather_mm: float = 0.0
    ) -> float:
        """95 % half width of a set that is what was made, less `loss_mm` to the load, with `weather_mm` of the
        humidity, less the rise that was read.

        Where the same reading told softness and weather too (`name` among what sprang back), its error in the one makes
        up for part of that in the others: with l = loss/factor and a = weather/share, and r how far the two were told
        together, var = (l σ_f)² + (a σ_a)² − 2 r l σ_f a σ_a + σ_rise² (1 − 2 told), where told = leverage · l −
        weather leverage · a for a reading under load, and + weather leverage · a for one without.
        """
        load, air = loss_mm / self.factor, weather_mm / self.weather
        told = 0.0
        if name in self.names:
            k = self.names.index(name)
            under = -1.0 if load else 1.0
            told = float(self.leverage[k] * load + under * self.weather_leverage[k] * air)
        soft, damp = self.uncertainty * load, self.weather_uncertainty * air
        both = soft**2 + damp**2 - 2.0 * self.shared * soft * damp
        return float(np.sqrt(max(both, 0.0) + rise_uncertainty_mm**2 * max(1.0 - 2.0 * told, 0.0)))


def softness(
    names: tuple[str, ...],
    measured_mm: Floats,
    uncertainty_mm: Floats,
    predicted: Callable[[float], Floats],
    weather_mm: Floats | None = None,
) -> Softness:
    """The compliance factor that explains best what sprang back, by bounded least squares.

    measured_mm, uncertainty_mm   rise on unstringing at ribs and bridge, and 95 % half widths
    predicted                     the same by the model, for a factor
    weather_mm                    what the humidity is reckoned to have added to each between its two days; how much of
                                  that it did is sought as well, about 1 and within WEATHER_SHARE. None: nothing

    >>> found = softness(("rib 3",), np.array([1.2]), np.array([0.1]), lambda factor: np.array([1.0]) * factor)
    >>> round(found.factor, 3), round(found.uncertainty, 3)
    (1.2, 0.1)
    """
    from scipy.optimize import least_squares
    from scipy.stats import chi2

    none = np.zeros(0)
    if not names:
        return Softness(
            factor=1.0, uncertainty=UNKNOWN_SHARE, measured=False, names=(), measured_mm=none, uncertainty_mm=none,
            predicted_mm=none, leverage=none, weather_leverage=none, loose=False,
        )  # fmt: skip
    sigma, air = uncertainty_mm / SIGMAS, np.zeros(len(names)) if weather_mm is None else weather_mm

    def off(p: Floats) -> Floats:
        misfits = (predicted(float(p[0])) + p[1] * air - measured_mm) / sigma
        return np.append(misfits, (p[1] - 1.0) / (WEATHER_SHARE / SIGMAS))

    fit = least_squares(off, [1.0, 1.0], bounds=([LEAST, 0.0], [MOST, 2.0]))
    misfit, spare = 2.0 * float(fit.cost), len(names) - 1
    loose = bool(spare > 0 and misfit > chi2.ppf(0.95, spare))
    doubt = np.linalg.pinv(fit.jac.T @ fit.jac)
    wider = np.sqrt(misfit / spare) if loose else 1.0
    wide = SIGMAS * np.sqrt(np.diag(doubt)) * wider
    factor, weather = map(float, fit.x)
    return Softness(
        factor=factor,
        uncertainty=float(wide[0]),
        measured=True,
        names=names,
        measured_mm=measured_mm - weather * air,
        uncertainty_mm=uncertainty_mm,
        predicted_mm=predicted(factor),
        leverage=np.asarray((fit.jac[:-1] @ doubt[:, 0]) / sigma),
        weather_leverage=np.asarray((fit.jac[:-1] @ doubt[:, 1]) / sigma),
        loose=loose,
        weather=weather,
        weather_uncertainty=min(float(wide[1]), WEATHER_SHARE),
        shared=float(doubt[0, 1] / np.sqrt(doubt[0, 0] * doubt[1, 1])),
    )
