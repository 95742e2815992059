"""Wood in one direction through time: it creeps, creeps again whenever its moisture moves, and is crushed for good.

    strain = e + growth + Σ creep + Σ swing + set,     e the elastic strain, stress / modulus

Each creep term runs after the elastic strain, d(creep)/dt = a(w) (share · e − creep)/span, and each swing term runs
alike over the moisture travelled, Σ|Δw| (Kelvin chains; form: Hassani, Wittel, Hering and Herrmann 2015, CMAME
283:1032). With e a straight line over a stride from x = 0 to x, the solution is exact,

    creep₁ = creep₀ κ + share [e₀ (φ − κ) + e₁ (1 − φ)],     κ = e^(−x/span),  φ = (1 − κ) span/x,

stable for any stride, and linear in e₁: wood that is 1 + A times softer, A = Σ share (1 − φ), beside a strain that it
remembers. Set grows with the stress as (stress/K)^n and never goes back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Floats, floats, keep
from bellywork.errors import BoardError, SolveError

LEAST_SET = 1e-7  # strain: wood begins to be crushed under the pressure that brings as much
ROUNDS = 60


@dataclass(frozen=True, kw_only=True, eq=False)
class Chain:
    """Kelvin elements in a row: `share` of the elastic strain each, on the way `span` (days, or moisture travelled)."""

    span: Floats
    share: Floats

    def __post_init__(self) -> None:
        span = floats(self.span, (-1,), "span")
        keep(self, span=span, share=floats(self.share, span.shape, "share"))
        if not (np.all(span > 0.0) and np.all(self.share >= 0.0)):
            raise BoardError("A Kelvin chain needs spans above 0 and shares of 0 or more.")

    def crept(self, way: ArrayLike) -> Floats:
        """Creep over elastic strain at constant stress, after a way: Σ share (1 − e^(−way/span)).

        >>> chain = Chain(span=np.array([1.0, 10.0]), share=np.array([0.2, 0.4]))
        >>> [round(float(x), 3) for x in chain.crept([0.0, 1.0, 1000.0])]
        [0.0, 0.164, 0.6]
        """
        away = -np.expm1(-np.asarray(way, dtype=float)[..., None] / self.span)
        return np.asarray(away @ self.share)

    def scaled(self, factor: float) -> Chain:
        """The same chain with every share so many times as large."""
        return replace(self, share=self.share * factor)


@dataclass(frozen=True, kw_only=True)
class Shift:
    """How much faster time runs in damp wood: ln a = p1 + (y_r − p1)/(1 + e^(−(moisture − p0))), moisture in %."""

    p0: float
    p1: float
    y_r: float

    def speed(self, moisture_percent: ArrayLike) -> Floats:
        """a: how many times faster time runs.

        >>> shift = Shift(p0=17.48, p1=-0.020, y_r=2.93)  # pressed across the grain
        >>> [round(float(a), 1) for a in shift.speed([8.0, 13.0, 17.0, 20.0])]
        [1.0, 1.0, 3.0, 15.0]
        """
        up = 1.0 + np.exp(-(np.asarray(moisture_percent, dtype=float) - self.p0))
        return np.asarray(np.exp(self.p1 + (self.y_r - self.p1) / up))


@dataclass(frozen=True, kw_only=True, eq=False)
class Yielding:
    """Set under pressure, strain = (stress/K)^n (Ramberg and Osgood), K in N/mm², at several moistures in %, ascending.

    The law has set under any pressure; here it is counted from LEAST_SET on, so that it begins under a pressure of its
    own and grows from 0 without a jump, which a balance could not settle on.

    Between two moistures the pressure that brings a given set is taken on the straight line; beyond them the nearest.
    """

    moisture_percent: Floats
    K_MPa: Floats
    n: Floats

    def __post_init__(self) -> None:
        count = (len(self.moisture_percent),)
        keep(self, **{name: floats(getattr(self, name), count, name) for name in ("moisture_percent", "K_MPa", "n")})

    def pressure(self, strain: ArrayLike, moisture_percent: float) -> tuple[Floats, Floats]:
        """Pressure in N/mm² under which wood sets by a strain of 0 or more, and its rate with the strain, N/mm²."""
        weights = [np.interp(moisture_percent, self.moisture_percent, one) for one in np.eye(len(self.n))]
        reached = np.asarray(strain, dtype=float)[..., None] + LEAST_SET
        powers = reached ** (1.0 / self.n) * self.K_MPa * weights
        return powers.sum(-1), (powers / self.n / reached).sum(-1)

    def set_at(self, pressure_MPa: ArrayLike, moisture_percent: float) -> Floats:
        """Set of fresh wood under a pressure, as strain of 0 or more."""
        target = np.atleast_1d(np.asarray(pressure_MPa, dtype=float))
        least, _ = self.pressure(0.0, moisture_percent)
        log = np.zeros_like(target)  # the pressure is convex in ln strain: Newton from above comes down evenly
        for _ in range(ROUNDS):
            here, rate = self.pressure(np.exp(log) - LEAST_SET, moisture_percent)
            move = np.where(target > least, (here - target) / (rate * np.exp(log)), 0.0)
            log = log - move
            if np.all(np.abs(move) < 1e-10):
                return np.where(target > least, np.exp(log) - LEAST_SET, 0.0).reshape(np.shape(pressure_MPa))
        raise SolveError(f"No set was found for {target.max():.3g} N/mm² across the grain.")

    def settled(self, shortening: Floats, modulus: Floats, before: Floats, moisture_percent: float) -> Floats:
        """Set p ≥ `before` of wood that is shortened by so much in all: pressure(p)/modulus + p = shortening.

        Concave in p: Newton from below goes up evenly.
        """
        out = np.array(before, dtype=float)
        over = np.asarray(shortening * modulus > self.pressure(0.0, moisture_percent)[0])  # nothing less crushes
        if not over.any():
            return out
        limit, _ = self.pressure(out[over], moisture_percent)
        over[over] = shortening[over] - out[over] > limit / np.broadcast_to(modulus, over.shape)[over]
        p, wanted, E = out[over], shortening[over], np.broadcast_to(modulus, over.shape)[over]
        for _ in range(ROUNDS):
            here, rate = self.pressure(p, moisture_percent)
            move = (wanted - here / E - p) / (rate / E + 1.0)
            p = p + move
            if np.all(np.abs(move) <= 1e-12 + 1e-9 * p):
                out[over] = p
                return out
        raise SolveError("The set across the grain was not found: wood is pressed far beyond its strength.")


@dataclass(frozen=True, kw_only=True, eq=False)
class Law:
    """How wood creeps in one direction: with time, with moisture travelled, and the set under pressure; None: none."""

    creep: Chain
    shift: Shift
    swing: Chain
    yields: Yielding | None = None

    def crushing(self, strain: Floats, moisture_percent: float) -> Floats:
        """Rate of the pressure that crushes with the set, N/mm²; 0 where nothing can be crushed."""
        return np.zeros_like(strain) if self.yields is None else self.yields.pressure(strain, moisture_percent)[1]

    def varied(self, *, creep: float = 1.0, swing: float = 1.0) -> Law:
        """The same law with creep, and creep with moisture, so many times as large."""
        return replace(self, creep=self.creep.scaled(creep), swing=self.swing.scaled(swing))


@dataclass(frozen=True, kw_only=True, eq=False)
class Memory:
    """What wood remembers, at any number of points; strains without a unit, pull and growth positive.

    crept    (elements of the chain in time, then of that in moisture, …)
    elastic  the elastic strain at this moment (…)
    set      what was crushed for good (…), 0 or more
    """

    crept: Floats
    elastic: Floats
    set: Floats

    @classmethod
    def fresh(cls, law: Law, shape: tuple[int, ...] = ()) -> Memory:
        """Wood that was never loaded."""
        return cls(
            crept=np.zeros((len(law.creep.span) + len(law.swing.span), *shape)),
            elastic=np.zeros(shape),
            set=np.zeros(shape),
        )

    @property
    def remembered(self) -> Floats:
        """All strain that would stay if the load were taken off at this moment."""
        strain: Floats = self.crept.sum(0) - self.set
        return strain


class Stride:
    """One step of a law: so many days under way, already made faster by moisture, and so much moisture travelled.

    looser   A: how much softer the wood is over this stride, as a share of its elastic strain; 0 where nothing passes
    """

    def __init__(self, law: Law, *, aged_days: float, travelled: float) -> None:
        self.law = law
        terms = zip(_terms(law.creep, aged_days), _terms(law.swing, travelled))
        self._kept, self._start, self._end = (np.concatenate(both) for both in terms)
        self.looser = float(self._end.sum())

    def remembered(self, memory: Memory) -> Floats:
        """Creep of both chains at the end of the stride as far as it does not depend on the stress there."""
        out: Floats = np.tensordot(self._kept, memory.crept, 1)
        out += self._start.sum() * memory.elastic
        return out

    def after(self, memory: Memory, elastic: Floats, set_: Floats | None = None) -> Memory:
        """What is remembered after the stride, with the elastic strain and the set at its end."""
        elastic = np.asarray(elastic, dtype=float)
        crept = np.tensordot(np.column_stack([self._start, self._end]), np.stack([memory.elastic, elastic]), 1)
        crept += self._kept.reshape(-1, *(1,) * memory.elastic.ndim) * memory.crept
        return Memory(crept=crept, elastic=elastic, set=memory.set if set_ is None else set_)


def loaded(
    stride: Stride, memory: Memory, *, stress_MPa: Floats, modulus_MPa: float, moisture_percent: float
) -> Memory:
    """Wood after a stride at whose end it bears this stress, N/mm², pull positive; the stress goes there evenly."""
    stress = np.broadcast_to(np.asarray(stress_MPa, dtype=float), memory.elastic.shape)
    crushed = memory.set
    if stride.law.yields is not None:
        crushed = np.maximum(crushed, stride.law.yields.set_at(np.maximum(-stress, 0.0), moisture_percent))
    return stride.after(memory, stress / modulus_MPa, crushed)


def held(stride: Stride, memory: Memory, *, strain: Floats, modulus_MPa: float, moisture_percent: float) -> Memory:
    """Wood after a stride at whose end it is stretched by `strain` beside its free growth; its stress is
    `memory.elastic` times the modulus.

    Raises SolveError where it is pressed far beyond its strength.
    """
    left = np.asarray(strain, dtype=float) - stride.remembered(memory)
    crushed, softer = memory.set, modulus_MPa / (1.0 + stride.looser)
    if stride.law.yields is not None:
        crushed = stride.law.yields.settled(-left, np.asarray(softer), memory.set, moisture_percent)
    return stride.after(memory, (left + crushed) / (1.0 + stride.looser), crushed)


@dataclass(frozen=True, kw_only=True, eq=False)
class Laws:
    """The laws of a wood: along and across the grain in the plane, shear with the grain, rolling shear."""

    along: Law
    across: Law
    shear: Law
    rolling: Law

    def varied(self, *, creep: float = 1.0, swing_across: float = 1.0, swing_along: float = 1.0) -> Laws:
        """The same wood with creep, and creep with moisture across the grain and else, so many times as large."""
        swings = {"across": swing_across}
        return Laws(
            **{name: law.varied(creep=creep, swing=swings.get(name, swing_along)) for name, law in self.named().items()}
        )

    def named(self) -> Mapping[str, Law]:
        """The laws by name."""
        return {"along": self.along, "across": self.across, "shear": self.shear, "rolling": self.rolling}


def _terms(chain: Chain, way: float) -> tuple[Floats, Floats, Floats]:
    """Per element: what is kept of it, and what it takes of the elastic strain at the start and at the end."""
    x = way / chain.span
    kept = np.exp(-x)
    mean = np.where(x > 1e-5, -np.expm1(-x) / np.maximum(x, 1e-5), 1.0 - x / 2.0)
    return kept, chain.share * (mean - kept), chain.share * (1.0 - mean)
