"""The shape of one rib as it was read in one state: rise over its span, radius, S; how sure; what was misread."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats, Ints

SHARES = np.linspace(0.0, 1.0, 33)  # of the span, at which a shape is kept
FIRST, MIDDLE, LAST = 8, 16, 24  # a quarter, half and three quarters of them
BENT_MM, BENT_SIGMAS = 0.5, 3.0  # what is told as bent locally: the most of some twenty places, so no two in a hundred


class Shape(Enum):
    """Crowned, flat (within the uncertainty), reversed, or S: up on one side and down on the other."""

    CROWNED = "crowned"
    FLAT = "flat"
    REVERSED = "reversed"
    S = "S"


@dataclass(frozen=True, kw_only=True, eq=False)
class RibShape:
    """A rib's shape in one state. `mm` are over the straight line between the ends of the span, crown up positive.

    span_mm                        of thread or straightedge
    rise_mm, rise_uncertainty_mm   rise of the middle, and its 95 % half width by the readings alone
    shape                          in a word
    profile_mm                     height at SHARES of the span
    bent_mm, bent_at_mm            where the rib departs most from an arc through its middle, beyond doubt: by how much,
                                   up positive, and how far from the start of the span; 0 where it does so nowhere
    position_mm                    of each reading, from the start of the span
    outliers                       places in the readings of those that were left out, the worst first
    residual_mm                    how far each reading lies above what all others say of it
    uncertainty_mm                 95 % half width of each reading
    """

    span_mm: float
    rise_mm: float
    rise_uncertainty_mm: float
    shape: Shape
    profile_mm: Floats
    bent_mm: float
    bent_at_mm: float
    position_mm: Floats
    outliers: Ints
    residual_mm: Floats
    uncertainty_mm: Floats

    @property
    def radius_mm(self) -> float:
        """Of the arc of that rise over the span, positive crowned; inf where flat."""
        return radius_of(self.rise_mm, self.span_mm) if abs(self.rise_mm) > self.rise_uncertainty_mm else float("inf")

    @property
    def radius_range_mm(self) -> tuple[float, float]:
        """Ends of its 95 % range, as the rise may be: nan where flat."""
        if not np.isfinite(self.radius_mm):
            return float("nan"), float("nan")
        ends = (radius_of(self.rise_mm + sign * self.rise_uncertainty_mm, self.span_mm) for sign in (1.0, -1.0))
        low, high = sorted(ends)
        return low, high

    def height_mm(self, position_mm: ArrayLike) -> Floats:
        """Height over the line between the span's ends, at positions from its start."""
        return np.asarray(np.interp(np.asarray(position_mm, dtype=float) / self.span_mm, SHARES, self.profile_mm))


def shape_of(profile_mm: Floats, rise_wide_mm: float, odd_wide_mm: float) -> Shape:
    """In a word, from heights at SHARES and the 95 % half widths of the rise and of the odd part.

    The odd part is what (1 − ξ²) ξ must be multiplied by for the difference of the two quarter points; where it is
    greater than the rise, (1 − ξ²)(rise + odd ξ) changes sign between the ends.
    """
    rise, odd = float(profile_mm[MIDDLE]), float(profile_mm[LAST] - profile_mm[FIRST]) / 0.75
    if abs(odd) > max(abs(rise), odd_wide_mm):
        return Shape.S
    if abs(rise) <= rise_wide_mm:
        return Shape.FLAT
    return Shape.CROWNED if rise > 0.0 else Shape.REVERSED


def bent(lost_mm: Floats, wide_mm: Floats) -> tuple[float, float]:
    """Where a rib's loss departs most from an arc, beyond doubt: by how much the rib is higher there, and at which
    share of the span; 0 and 0 where it does so nowhere.

    lost_mm, wide_mm   departure of the loss from an arc through its middle at SHARES, and one standard deviation
    """
    sure = np.abs(lost_mm) - BENT_SIGMAS * wide_mm
    told = (sure > 0.0) & (np.abs(lost_mm) > BENT_MM)
    if not np.any(told):
        return 0.0, 0.0
    most = int(np.argmax(np.where(told, np.abs(lost_mm), 0.0)))
    return -float(lost_mm[most]), float(SHARES[most])


def radius_of(rise_mm: float, span_mm: float) -> float:
    """Radius of an arc of this rise over this chord: L²/8h + h/2, with the rise's sign.

    >>> round(radius_of(8.3, 1100) / 304.8)  # the trade's table: 60 ft
    60
    """
    return span_mm**2 / (8.0 * rise_mm) + rise_mm / 2.0 if rise_mm else float("inf")
