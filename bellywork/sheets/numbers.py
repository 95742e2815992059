"""Numbers as a sheet shows them."""

from __future__ import annotations

import math

UNKNOWN = "–"


def number(value: float, digits: int, *, signed: bool = False) -> str:
    """A number with fixed decimals and a true minus; no '−0.00', and a dash for what is not known.

    >>> number(-0.5, 2), number(-0.001, 2), number(1.5, 1, signed=True), number(float("nan"), 2)
    ('−0.50', '0.00', '+1.5', '–')
    """
    if math.isnan(value):
        return UNKNOWN
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if signed and rounded else ''}.{digits}f}".replace("-", "−")
