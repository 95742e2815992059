"""What comes back when the strings come off, held against the model: how soft this very board is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.survey.rib_fit import SIGMAS

UNKNOWN_SHARE = 0.2  # 95 % half width of the compliance where nothing was measured: wood scatters (common practice)
LEAST, MOST = 0.2, 5.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Softness:
    """The board's compliance against the model's.

    factor, uncertainty   and its 95 % half width
    measured              True where spring-back was fitted; else the factor is 1 and the width common practice
    names                 what sprang back; measured_mm, uncertainty_mm, predicted_mm: each with the fitted factor
    leverage              change of the factor for 1 mm more of each measured
    loose                 True where one factor does not explain what was measured
    """

    factor: float
    uncertainty: float
    measured: bool
    names: tuple[str, ...]
    measured_mm: Floats
    uncertainty_mm: Floats
    predicted_mm: Floats
    leverage: Floats
    loose: bool

    def set_uncertainty_mm(self, rise_uncertainty_mm: float, loss_mm: float, name: str) -> float:
        """95 % half width of a set that is what was made, less `loss_mm` to the load, less the rise that was read.

        Where the same reading told the softness too (`name` among what sprang back), its error in the one makes up for
        part of that in the other: var = (loss/factor · σ_f)² + σ_rise² (1 − 2 leverage · loss/factor).
        """
        load = loss_mm / self.factor
        shared = float(self.leverage[self.names.index(name)]) * load if load and name in self.names else 0.0
        return float(np.hypot(self.uncertainty * load, rise_uncertainty_mm * np.sqrt(max(1.0 - 2.0 * shared, 0.0))))


def softness(
    names: tuple[str, ...], measured_mm: Floats, uncertainty_mm: Floats, predicted: Callable[[float], Floats]
) -> Softness:
    """The compliance factor that explains best what sprang back, by bounded least squares.

    measured_mm, uncertainty_mm   rise on unstringing at ribs and bridge, and 95 % half widths
    predicted                     the same by the model, for a factor

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
            predicted_mm=none, leverage=none, loose=False,
        )  # fmt: skip
    sigma = uncertainty_mm / SIGMAS
    fit = least_squares(lambda p: (predicted(float(p[0])) - measured_mm) / sigma, [1.0], bounds=(LEAST, MOST))
    misfit, spare = 2.0 * float(fit.cost), len(names) - 1
    loose = bool(spare > 0 and misfit > chi2.ppf(0.95, spare))
    wide = SIGMAS / max(float(np.linalg.norm(fit.jac)), 1e-300) * (np.sqrt(misfit / spare) if loose else 1.0)
    factor = float(fit.x[0])
    return Softness(
        factor=factor,
        uncertainty=float(wide),
        measured=True,
        names=names,
        measured_mm=measured_mm,
        uncertainty_mm=uncertainty_mm,
        predicted_mm=predicted(factor),
        leverage=np.asarray(fit.jac[:, 0] / sigma / max(float(np.sum(fit.jac**2)), 1e-300)),
        loose=loose,
    )
