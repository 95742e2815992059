"""Colours: even to the eye, safe for colour-blind eyes, neutral inside the tolerance.

Interpolated in CIELAB (CIE 1976, white D65), so that equal steps of a value look equal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Rgb = NDArray[np.uint8]

# Blue against ochre: apart in lightness and for every common kind of colour blindness. Pale where the tolerance ends.
LOW_FAR, LOW_NEAR = (12, 44, 132), (112, 166, 226)
HIGH_NEAR, HIGH_FAR = (240, 164, 62), (138, 44, 0)
NEUTRAL, UNKNOWN = (164, 164, 160), (84, 84, 84)
RAMP = ((222, 190, 124), (178, 142, 78), (120, 104, 88), (40, 52, 94), (8, 14, 44))  # ever darker, from below the wood

# Wood is pale and greyish here, so that the colours that mean something stand out
SPRUCE, RIB, MAPLE = (243, 236, 222), (214, 198, 170), (214, 200, 178)
IRON, STEEL, RIM = (62, 60, 66), (96, 98, 104), (92, 60, 40)
INK, PAPER = (24, 24, 28), (250, 249, 246)
CONTOUR = (126, 98, 66)

# From linear sRGB to XYZ: IEC 61966-2-1, D65
_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
_WHITE = _TO_XYZ.sum(axis=1)


@dataclass(frozen=True, kw_only=True)
class Palette:
    """From values to colours.

    low, high   values at the ends; beyond them the end's colour
    neutral     about zero, within ± this the colour is neutral; None: a ramp from low to high without a middle
    """

    low: float
    high: float
    neutral: float | None

    def colours(self, values: ArrayLike) -> Rgb:
        """Red, green and blue (…, 3) of values (…,); a grey of its own where a value is NaN.

        >>> Palette(low=-1.0, high=1.0, neutral=0.1).colours([-2.0, 0.05, 1.0]).tolist()
        [[12, 44, 132], [164, 164, 160], [138, 44, 0]]
        """
        value = np.asarray(values, dtype=float)
        known = np.where(np.isfinite(value), value, self.low)
        if self.neutral is None:
            share = np.clip((known - self.low) / (self.high - self.low), 0.0, 1.0)
            out = _between(RAMP, share)
        else:
            below = np.clip((-self.neutral - known) / (-self.neutral - self.low), 0.0, 1.0)
            above = np.clip((known - self.neutral) / (self.high - self.neutral), 0.0, 1.0)
            out = np.where(
                (known < 0.0)[..., None], _between((LOW_NEAR, LOW_FAR), below), _between((HIGH_NEAR, HIGH_FAR), above)
            )
            out[np.abs(known) <= self.neutral] = NEUTRAL
        out[~np.isfinite(value)] = UNKNOWN
        return out


def fitting(values: ArrayLike, neutral: float | None) -> Palette:
    """A palette whose ends are round numbers about all finite values; symmetric where it has a neutral middle.

    A ramp's ends may cut off a hundredth of its length.

    >>> fitting([0.02, -0.34, 0.5], 0.1)
    Palette(low=-0.5, high=0.5, neutral=0.1)
    """
    finite = np.asarray(values, dtype=float)
    finite = finite[np.isfinite(finite)]
    if neutral is None:
        low, high = (float(finite.min()), float(finite.max())) if len(finite) else (0.0, 1.0)
        step = rounded_up(max(high - low, 1e-3)) / 10.0
        low, high = (float(f"{step * whole:.6g}") for whole in (np.floor(low / step + 0.1), np.ceil(high / step - 0.1)))
        return Palette(low=low, high=high, neutral=None)
    most = float(np.abs(finite).max()) if len(finite) else 0.0
    end = rounded_up(max(most, 2.0 * neutral))
    return Palette(low=-end, high=end, neutral=neutral)


def rounded_up(value: float) -> float:
    """The next round number that is no smaller."""
    power = 10.0 ** np.floor(np.log10(value))
    steps = np.array([1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0])
    return float(f"{power * steps[np.searchsorted(steps, value / power - 1e-9)]:.6g}")


def _between(stops: tuple[tuple[int, int, int], ...], share: NDArray[np.float64]) -> Rgb:
    """Colours at shares (…,) of the way through the stops, straight in CIELAB between them."""
    lab = _lab(np.array(stops, dtype=float) / 255.0)
    at = np.linspace(0.0, 1.0, len(stops))
    mixed = np.stack([np.interp(share, at, lab[:, k]) for k in range(3)], axis=-1)
    return np.asarray(np.rint(_rgb(mixed) * 255.0), dtype=np.uint8)


def _lab(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    t = linear @ _TO_XYZ.T / _WHITE
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


def _rgb(lab: NDArray[np.float64]) -> NDArray[np.float64]:
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * _WHITE
    linear = np.clip(xyz @ np.linalg.inv(_TO_XYZ).T, 0.0, 1.0)
    out: NDArray[np.float64] = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return out
