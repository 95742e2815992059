"""A strip of panel on ribs, free of load, as fibres over its depth: an independent road to what the board must do.

Plane sections stay plane: strain = stretch + height × curvature. Each fibre is wood held at that strain less its free
growth; stretch and curvature follow from no force and no moment.
"""

from dataclasses import dataclass

import numpy as np

from bellywork.seasons.history import History
from bellywork.seasons.rheology import Law, Memory, Stride, held

ROUNDS = 50


@dataclass(frozen=True, kw_only=True, eq=False)
class Layer:
    """Wood between two heights, mm: its law along the strip, modulus N/mm², width mm, growth per % of moisture."""

    law: Law
    modulus_MPa: float
    width_mm: float
    bottom_mm: float
    top_mm: float
    growth: float
    fibres: int = 24

    @property
    def heights(self) -> np.ndarray:
        edges = np.linspace(self.bottom_mm, self.top_mm, self.fibres + 1)
        return (edges[1:] + edges[:-1]) / 2.0

    @property
    def stiffness(self) -> float:
        """Of one fibre, N."""
        return self.modulus_MPa * self.width_mm * (self.top_mm - self.bottom_mm) / self.fibres


def curvatures(layers: list[Layer], past: History, *, flat_percent: float) -> np.ndarray:
    """Curvature, 1/mm, crown up positive, at each stop of a history; flat and free of stress at `flat_percent`."""
    memories = [Memory.fresh(each.law, (each.fibres,)) for each in layers]
    aged = [past.aged_days(each.law.shift) for each in layers]
    bent, out = np.zeros(2), []
    for k, moisture in enumerate(past.stop_moisture_percent):
        days = [0.0 if k == 0 else each[k - 1] for each in aged]
        moved = 0.0 if k == 0 else past.travelled[k - 1]
        strides = [Stride(each.law, aged_days=d, travelled=moved) for each, d in zip(layers, days)]
        bent, memories = balanced(layers, strides, memories, bent, moisture, moisture - flat_percent)
        out.append(bent[1])  # longer at the top: a crown
    return np.array(out)


def balanced(layers, strides, memories, bent, moisture, swollen):
    """Stretch and curvature without force and moment, and the memories after."""
    for _ in range(ROUNDS):
        force, tangent, after = np.zeros(2), np.zeros((2, 2)), []
        for each, stride, memory in zip(layers, strides, memories):
            arms = np.stack([np.ones(each.fibres), each.heights])
            strain = bent @ arms - each.growth * swollen
            here = held(stride, memory, strain=strain, modulus_MPa=each.modulus_MPa, moisture_percent=moisture)
            nudged = held(stride, memory, strain=strain + 1e-8, modulus_MPa=each.modulus_MPa, moisture_percent=moisture)
            rate = (nudged.elastic - here.elastic) / 1e-8
            force += arms @ here.elastic * each.stiffness
            tangent += (arms * rate) @ arms.T * each.stiffness
            after.append(here)
        step = np.linalg.solve(tangent, -force)
        bent = bent + step
        if np.abs(step @ np.array([1.0, 10.0])) < 1e-9:
            return bent, after
    raise AssertionError("no balance")


def sagitta_mm(curvature: float, length_mm: float) -> float:
    """Rise of the middle of an arc of this length, mm."""
    half = curvature * length_mm / 2.0
    return float(length_mm / 2.0 * (1.0 - np.cos(half)) / half)
