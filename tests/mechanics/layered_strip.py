"""A strip of panel with a stiffener over part of it, solved apart: Ritz's method with polynomials, no grid, no splines.

Half of a symmetrical strip on rollers, a force in its middle: the panel alone from 0 to `bare`, panel and stiffener
from there to the middle. Same strains as the board's, written down afresh in one dimension.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre

FIELDS = "ubwpdl"  # along, panel's rotation, down; the stiffener's own rotation, slip and lift


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A strip of width 1 and length `span`: panel with E, G and thickness, stiffener with E, G and height; N, mm.

    foot     pressure by how far the stiffener's foot is squeezed, N/mm³
    on_top   whether the force stands on the stiffener; else on the panel
    """

    span: float
    bare: float
    panel: tuple[float, float, float]
    stiffener: tuple[float, float, float]
    foot: float
    on_top: bool


def sink(strip: Strip, degree: int = 24) -> float:
    """Sink of the middle, where the force stands, under 1 N there, mm; the strip 1 mm wide."""
    (E, G, t), (Es, Gs, h), half = strip.panel, strip.stiffener, strip.span / 2.0
    soft = 1.2 / (Gs * h)
    together = np.linalg.inv([[soft, -soft * h / 12.0], [-soft * h / 12.0, soft * h**2 / 9.0]])
    n = degree + 1
    stiffness = np.zeros((9 * n, 9 * n))
    at, weight = legendre.leggauss(2 * degree)
    for start, low, high, names in ((0, 0.0, strip.bare, "ubw"), (3 * n, strip.bare, half, FIELDS)):
        values, slopes = functions(low + (high - low) * (at + 1.0) / 2.0, low, high, degree)
        weights = weight * (high - low) / 2.0

        def operator(names=names, values=values, slopes=slopes, **parts: tuple[float, float]) -> np.ndarray:
            zero = np.zeros_like(values)
            return np.hstack([parts[f][0] * values + parts[f][1] * slopes if f in parts else zero for f in names])

        strains = [
            (operator(u=(0, 1)), E * t),
            (operator(b=(0, 1)), E * t**3 / 12.0),
            (operator(w=(0, 1), b=(1, 0)), 5.0 / 6.0 * G * t),
        ]
        if names == FIELDS:
            strains += [
                (operator(u=(0, 1), b=(0, t / 2.0), p=(0, h / 2.0), d=(0, 1)), Es * h),
                (operator(p=(0, 1)), Es * h**3 / 12.0),
                (operator(w=(1, 0), l=(-1, 0)), strip.foot),
            ]
        matrix = sum(modulus * (B.T * weights) @ B for B, modulus in strains)
        if names == FIELDS:
            pair = operator(l=(0, 1), p=(1, 0)), operator(d=(1, 0))
            matrix = matrix + sum(together[i, j] * (pair[i].T * weights) @ pair[j] for i in (0, 1) for j in (0, 1))
        size = len(names) * n
        stiffness[start : start + size, start : start + size] = matrix

    def row(*terms: tuple[int, np.ndarray]) -> np.ndarray:
        out = np.zeros(9 * n)
        for place, values in terms:
            out[place * n : (place + 1) * n] += values
        return out

    left, joint = (functions(np.array([x]), 0.0, strip.bare, degree)[0][0] for x in (0.0, strip.bare))
    right, middle = (functions(np.array([x]), strip.bare, half, degree)[0][0] for x in (strip.bare, half))
    held = [row((2, left))]  # the roller; what joins; what a symmetrical strip does not do in its middle
    held += [row((k, joint), (3 + k, -right)) for k in range(3)]
    held += [row((3 + k, middle)) for k in (0, 1, 3, 4)]
    scale = 1.0 / np.sqrt(np.maximum(np.diag(stiffness), 1e-3))
    # only what meets all of these conditions: the null space of their rows
    rows = np.array(held) * scale
    _, _, directions = np.linalg.svd(rows / np.linalg.norm(rows, axis=1)[:, None])
    free = scale[:, None] * directions[len(held) :].T
    pushed = row((8 if strip.on_top else 5, middle))
    load = 0.5 * pushed
    moved = free @ np.linalg.solve(free.T @ stiffness @ free, free.T @ load)
    return float(moved @ pushed)


def functions(x: np.ndarray, low: float, high: float, degree: int) -> tuple[np.ndarray, np.ndarray]:
    """Legendre polynomials on low to high, and their slopes: (points, degree + 1)."""
    s = (2.0 * x - low - high) / (high - low)
    slopes = [legendre.legval(s, legendre.legder(np.eye(degree + 1)[k])) for k in range(1, degree + 1)]
    return legendre.legvander(s, degree), np.column_stack([np.zeros_like(s), *slopes]) * 2.0 / (high - low)
