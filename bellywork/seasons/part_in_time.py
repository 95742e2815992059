"""One part of a board through time: how its points, seen through the basis, answer a movement; what they remember."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.mechanics.discrete import PANEL
from bellywork.mechanics.moisture import at_moisture
from bellywork.seasons.rheology import Memory, Stride
from bellywork.seasons.section_points import ACROSS, ACROSS_BENT, SectionPoints, multiplied, stretched

MOST_FUNCTIONS = 96
SINGLE = np.float32  # of the functions at the points: half the memory to go through; rounding moves nothing by 1e-6 mm
CHUNK = 2048


@dataclass(frozen=True, kw_only=True, eq=False)
class Step:
    """What a stride is to one part: its softened stiffness, strains at no movement, and set so far."""

    stiffness: Floats
    base: Floats
    crushed: Floats
    moisture_percent: float
    strides: Mapping[str, Stride]
    factors: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """How one part answers a movement: stress for a unit of scale, slopes, and set."""

    stress: Floats
    slopes: Floats
    crushed: Floats


class PartInTime:
    """The points of one part, seen through the basis."""

    def __init__(self, points: SectionPoints, fields: Floats) -> None:
        self.points = points
        n, r = points.scale.shape
        values = points.values(fields)
        self._first = np.einsum("prq,pq->pr", points.operators, values)
        self._first_slopes = np.einsum("pkq,pq->pk", points.slopes, values)
        self._strains = np.empty((n * r, MOST_FUNCTIONS), dtype=SINGLE, order="F")
        self._slopes = np.empty((n * points.slopes.shape[1], MOST_FUNCTIONS), dtype=SINGLE, order="F")
        self.by_law = {
            name: np.flatnonzero([law == name for law in points.laws]) for name in dict.fromkeys(points.laws)
        }

    def joined(self, move: Floats, place: int) -> None:
        """A function joins the basis."""
        values = self.points.values(move)
        self._strains[:, place] = np.einsum("prq,pq->pr", self.points.operators, values).ravel()
        self._slopes[:, place] = np.einsum("pkq,pq->pk", self.points.slopes, values).ravel()

    def prepared(
        self, strides: Mapping[str, Stride], memories: Mapping[str, Memory], crushed: Floats, moisture_percent: float
    ) -> Step:
        """A stride to a moisture, before anything is known of the movement at its end."""
        points = self.points
        base = self._first - points.growth(moisture_percent)
        factors = np.array([modulus_share(points, law, moisture_percent) for law in points.laws])
        looser = np.array([strides[law].looser for law in points.laws])
        stiffness = points.softened((1.0 + looser) / factors - 1.0)
        for law, places in self.by_law.items():
            base[:, places] -= strides[law].remembered(memories[law])
        if crushed.any():
            base = base + self._shortened(crushed)
        return Step(
            stiffness=stiffness,
            base=base,
            crushed=crushed,
            moisture_percent=moisture_percent,
            strides=strides,
            factors=factors,
        )

    def answered(self, step: Step, amplitude: Floats) -> Answer:
        """Stress at every point at a movement at the end of the stride; what is crushed on the way is crushed."""
        n, r = self.points.scale.shape
        m = len(amplitude)
        single = amplitude.astype(SINGLE)
        strain = step.base + (self._strains[:, :m] @ single).reshape(n, r)
        slopes = self._first_slopes + (self._slopes[:, :m] @ single).reshape(n, -1)
        if slopes.shape[1]:
            more = stretched(slopes)
            strain[:, : more.shape[1]] += more
        stress, crushed = multiplied(step.stiffness, strain), step.crushed
        law = step.strides["across"].law
        if self.points.part == PANEL and law.yields is not None:
            modulus = step.stiffness[0, ACROSS, ACROSS]
            layers = self.layers(stress)
            crushed = law.yields.settled(
                crushed - layers / modulus, np.asarray(modulus), crushed, step.moisture_percent
            )
            more_set = crushed - step.crushed
            if more_set.any():
                stress = multiplied(step.stiffness, strain + self._shortened(more_set))
        return Answer(stress=stress, slopes=slopes, crushed=crushed)

    def layers(self, stress: Floats) -> Floats:
        """Stress across the grain in the two layers, (points, 2)."""
        bent = self.points.layer_mm * stress[:, ACROSS_BENT]
        return np.column_stack([stress[:, ACROSS] - bent, stress[:, ACROSS] + bent])

    def _shortened(self, crushed: Floats) -> Floats:
        """Set of the two layers as section strains that elastic strain gains, (points, strains)."""
        out = np.zeros(self.points.scale.shape)
        out[:, ACROSS] = crushed.mean(axis=1)
        out[:, ACROSS_BENT] = (crushed[:, 1] - crushed[:, 0]) / (2.0 * self.points.layer_mm)
        return out

    def _turning(self, stress: Floats, slopes: Floats) -> Floats:
        """Forces against the slopes, (points, 1 or 2): section forces that turn with them."""
        if slopes.shape[1] < 2:
            return stress[:, : slopes.shape[1]] * slopes
        first, second = slopes.T
        return np.column_stack(
            [stress[:, 0] * first + stress[:, 2] * second, stress[:, 1] * second + stress[:, 2] * first]
        )

    def in_basis(self, answer: Answer, m: int) -> Floats:
        """Forces on the functions of the basis."""
        forces = answer.stress * self.points.scale
        against: Floats = self._strains[:, :m].T @ forces.ravel().astype(SINGLE)
        if answer.slopes.shape[1]:
            against = against + self._slopes[:, :m].T @ self._turning(forces, answer.slopes).ravel().astype(SINGLE)
        return against.astype(float)

    def nodal(self, answer: Answer, nodes: int) -> Floats:
        """Nodal forces (5, nodes) of the whole board."""
        forces = answer.stress * self.points.scale
        values = np.einsum("prq,pr->pq", self.points.operators, forces)
        values += np.einsum("pkq,pk->pq", self.points.slopes, self._turning(forces, answer.slopes))
        return self.points.gathered(values, nodes)

    def tangent(self, step: Step, answer: Answer, m: int) -> Floats:
        """Stiffness in the basis about an answer, softer where a layer is being crushed.

        A layer's stress b·s (b = 1 and ±z across the grain) and its set p go by b·U(dε + a dp) = −y′ dp, y the pressure
        under which it is crushed, so that dp = −b·U dε/(U_RR + y′); and scale · a = ½ scale_R b.
        """
        n, r = self.points.scale.shape
        k = answer.slopes.shape[1]
        strains, slopes = self._strains[:, :m].reshape(n, r, m), self._slopes[:, :m].reshape(n, k, m)
        forces, out = answer.stress * self.points.scale, np.zeros((m, m))
        for start in range(0, n, CHUNK):
            rows = slice(start, start + CHUNK)
            G, S, at = np.array(strains[rows]), np.array(slopes[rows]), answer.slopes[rows]
            for j in range(k):
                G[:, j] += at[:, j, None] * S[:, j]
            if k == 2:
                G[:, 2] += at[:, 0, None] * S[:, 1] + at[:, 1, None] * S[:, 0]
            stiffness = step.stiffness[rows] if len(step.stiffness) > 1 else step.stiffness
            stiff = np.matmul(stiffness, G) * self.points.scale[rows][:, :, None]
            out += G.reshape(-1, m).T @ stiff.reshape(-1, m)
            for layer, side in enumerate((-1.0, 1.0)):
                here = np.flatnonzero(answer.crushed[rows, layer] > step.crushed[rows, layer])
                if len(here):
                    at_layer = step.stiffness[0, ACROSS] @ G[here] + side * self.points.layer_mm[rows][here, None] * (
                        step.stiffness[0, ACROSS_BENT] @ G[here]
                    )
                    p = answer.crushed[rows, layer][here]
                    rate = step.strides["across"].law.crushing(p, step.moisture_percent)
                    yields = 0.5 * self.points.scale[rows][here, ACROSS] / (step.stiffness[0, ACROSS, ACROSS] + rate)
                    out -= at_layer.T @ (yields[:, None] * at_layer)
            for i, j, force in ((0, 0, 0), (1, 1, 1), (0, 1, 2), (1, 0, 2))[: k * k]:
                out += S[:, i].T @ (forces[rows, force, None] * S[:, j])
        return out

    def after(self, step: Step, answer: Answer, memories: Mapping[str, Memory]) -> tuple[dict[str, Memory], Floats]:
        """What the part remembers after the stride, and the stress across the grain in its two layers, N/mm²."""
        elastic = self.points.elastic(answer.stress) / step.factors if self.by_law else answer.stress
        remembered = {
            law: step.strides[law].after(memories[law], elastic[:, places]) for law, places in self.by_law.items()
        }
        return remembered, self.layers(answer.stress) if self.points.part == PANEL else np.zeros((0, 2))


def modulus_share(points: SectionPoints, law: str, moisture_percent: float) -> float:
    """The modulus that a law goes by at a moisture, over that of the part's wood as it is given."""
    assert points.wood is not None
    name = {"along": "E_L", "across": "E_R", "shear": "G_LR", "rolling": "G_RT"}[law]
    return float(getattr(at_moisture(points.wood, moisture_percent), name) / getattr(points.wood, name))
