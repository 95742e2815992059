"""A shop's memory: what its finished boards have in common, pooled into the prior of its next one.

Every board b of a shop differs from its description by θ_b (logarithms of factors on moduli and rim). The book says how
far such θ scatter between all boards, variance P. A part of it is the shop's own and the same for all of its boards:

    θ_b = μ + δ_b,   μ ~ N(0, M),   δ_b ~ N(0, T),   M + T = P.

The press trials of board b, by themselves, say Λ_b (information) and η_b = Λ_b times what they make most likely: with
the prior taken out of its estimate N(v_b, Σ_b), Λ_b = Σ_b⁻¹ − P⁻¹ and η_b = Σ_b⁻¹ v_b. With δ_b summed over, it says of
μ A_b = (1 + Λ_b T)⁻¹ Λ_b and a_b = (1 + Λ_b T)⁻¹ η_b. So μ is N(S Σ a_b, S), S = (M⁻¹ + Σ A_b)⁻¹, and the next board is
N(S Σ a_b, S + T): with no board that is the book's N(0, P), with many the shop's own mean and T. A normal hierarchy
(Gelman et al., Bayesian Data Analysis, chapter 5; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.shop import Shop
from bellywork.estimate.unknowns import SHARED_WORDS, Unknown, changed, scatter, unknowns_of
from bellywork.instrument import Instrument

if TYPE_CHECKING:
    from bellywork.estimate.estimate import Estimate

KEYS = tuple(SHARED_WORDS)  # a thickness or one rib's height is each board's own
SHARED = 0.5  # of the variance between boards that is one shop's own: no source, no measurement was found


def pooled(estimates: Sequence[Estimate]) -> Shop:
    """The memory of the boards of these estimates, each made with the book's prior."""
    book = np.array([scatter()[key] ** 2 for key in KEYS])
    own = np.diag((1.0 - SHARED) * book)
    information, towards = np.diag(1.0 / (SHARED * book)), np.zeros(len(KEYS))
    for estimate in estimates:
        said, way = _said(estimate)
        apart = np.linalg.inv(np.eye(len(KEYS)) + said @ own)
        information, towards = information + apart @ said, towards + apart @ way
    doubt = np.linalg.inv((information + information.T) / 2.0)
    bodies = [estimate.described.board.needed_body("A shop's memory") for estimate in estimates]
    return Shop(
        boards=tuple(estimate.described.board.name for estimate in estimates),
        woods=tuple(dict.fromkeys(body.panel.wood.name for body in bodies)),
        keys=KEYS,
        mean=doubt @ towards,
        covariance=doubt + own,
    )


def _said(estimate: Estimate) -> tuple[Floats, Floats]:
    """What a board's readings say of the shared unknowns by themselves: information, and that times the likeliest."""
    places = {unknown.key: k for k, unknown in enumerate(estimate.unknowns)}
    held = [k for k, key in enumerate(KEYS) if key in places]
    at = [places[KEYS[k]] for k in held]
    whole = np.linalg.inv(estimate.covariance[np.ix_(at, at)])
    size, way = np.linalg.eigh(whole - np.linalg.inv(estimate.prior[np.ix_(at, at)]))
    information, towards = np.zeros((len(KEYS), len(KEYS))), np.zeros(len(KEYS))
    information[np.ix_(held, held)] = (way * np.maximum(size, 0.0)) @ way.T
    towards[held] = whole @ estimate.value[at]
    return information, towards


def prior_of(unknowns: tuple[Unknown, ...], shop: Shop | None = None) -> Floats:
    """Covariance of unknowns before anything was read: the book's, or of a shop's usual board about itself."""
    out: Floats = np.diag([unknown.sigma**2 for unknown in unknowns])
    if shop is not None:
        places = {unknown.key: k for k, unknown in enumerate(unknowns)}
        held = [k for k, key in enumerate(shop.keys) if key in places]
        at = [places[shop.keys[k]] for k in held]
        out[np.ix_(at, at)] = shop.covariance[np.ix_(held, held)]
    return out


def usual(ready: Instrument) -> Instrument:
    """The instrument as its shop's boards usually are; the same where its folder names no shop."""
    shop, body = ready.board.shop, ready.board.body
    if shop is None or body is None:
        return ready
    unknowns = unknowns_of(body)
    mean = dict(zip(shop.keys, shop.mean.tolist()))
    values = np.array([mean.get(unknown.key, 0.0) for unknown in unknowns])
    return replace(ready, board=replace(ready.board, body=changed(body, unknowns, values)), _kept={})
