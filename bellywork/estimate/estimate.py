"""One estimate of this very board: from its description, and from all that was read on it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.shop import Shop
from bellywork.estimate.inference import covariance, inferred
from bellywork.estimate.observed import Dials, Places, dials_of
from bellywork.estimate.sensitivity import Sensitivity, sensitivity
from bellywork.estimate.shop import prior_of, usual
from bellywork.estimate.unknowns import Unknown, changed, unknowns_of
from bellywork.estimate.words import doubts, learned_words, shop_words
from bellywork.instrument import Instrument, prepared

MISREAD = 3.5  # times its scatter that a reading may be off before it is named


@dataclass(frozen=True, kw_only=True, eq=False)
class Learned:
    """What press trials taught.

    dials               the dials that were used
    predicted_mm        what the estimated board would have them read
    misfit, weight      of each dial: how far off over its scatter, and how much it counted
    """

    dials: Dials
    predicted_mm: Floats
    misfit: Floats
    weight: Floats

    @property
    def misread(self) -> tuple[str, ...]:
        """Dials that no likely board would have read so: their trial and row."""
        return tuple(name for name, off in zip(self.dials.names, self.misfit) if abs(off) > MISREAD)


@dataclass(frozen=True, kw_only=True, eq=False)
class Estimate:
    """A board as it is most likely, and how sure that is.

    described    the instrument as its folder describes it; with a shop, as that shop's boards usually are
    ready        the instrument as estimated: the one that answers; `described` itself where nothing was read
    unknowns     what is not known of it
    value        most likely value of each: natural logarithm of a factor, stiffer positive; mm for the thickness
    covariance   of the unknowns about `ready`
    places       points of which the compliance is known: the pins first
    slopes       of the estimated board there
    learned      what press trials taught; None: there were none
    shop         the shop's memory that it started from; None: the book's scatter
    """

    described: Instrument
    ready: Instrument
    unknowns: tuple[Unknown, ...]
    value: Floats
    covariance: Floats
    places: Places
    slopes: Sensitivity
    learned: Learned | None = None
    shop: Shop | None = None

    @property
    def prior(self) -> Floats:
        """Covariance of the unknowns before anything was read on any board: the book's."""
        return prior_of(self.unknowns)


def estimated(board: Board | Instrument, *, as_described: bool = False) -> Estimate:
    """The estimate of a board.

    as_described   leave aside what was read, and the shop's other boards: the description, and its scatter

    Raises MissingLayer without a body; BoardError and SolveError as the mechanics do.
    """
    described = prepared(board)
    return described.kept(("estimate", as_described), lambda: _estimated(described, as_described))


def learned_of(described: Instrument) -> Estimate | None:
    """The estimate of a board of which something was learned; None where there is nothing but its description."""
    return estimated(described) if described.board.can_be_learned else None


def _estimated(described: Instrument, as_described: bool) -> Estimate:
    body = described.board.needed_body("An estimate of the board")
    unknowns = unknowns_of(body)
    shop = None if as_described else described.board.shop
    described = described if shop is None else usual(described)
    dials = None if as_described else dials_of(described, unknowns)
    if dials is None:
        places = Places.of(described, np.zeros((0, 2)))
        return Estimate(
            described=described,
            ready=described if shop is None else _saying(described, shop_words(shop)),
            unknowns=unknowns,
            value=np.zeros(len(unknowns)),
            covariance=prior_of(unknowns, shop),
            places=places,
            slopes=sensitivity(described, unknowns, places.points_mm),
            shop=shop,
        )
    depends_on = (dials.places.points_mm, dials.load_N, dials.read_at, dials.read_mm, dials.scatter_mm, shop)
    found = described.kept_on_disk("estimate", depends_on, lambda: _learned(dials, shop))
    whole = replace(described.board, body=changed(body, unknowns, found["value"]))
    estimate = Estimate(
        described=described,
        ready=replace(described, board=whole, _kept={}),
        unknowns=unknowns,
        value=found["value"],
        covariance=found["covariance"],
        places=dials.places,
        slopes=Sensitivity(**{name: found[name] for name in ("compliance_mm_N", "slope_mm_N", "bend_mm_N")}),
        learned=Learned(
            dials=dials,
            predicted_mm=dials.read_mm - found["misfit"] * dials.scatter_mm,
            misfit=found["misfit"],
            weight=found["weight"],
        ),
        shop=shop,
    )
    return replace(estimate, ready=_saying(estimate.ready, learned_words(estimate), *doubts(estimate)))


def _saying(ready: Instrument, *words: str) -> Instrument:
    return replace(ready, assumptions=(*ready.assumptions, *words), _kept={})


def _learned(dials: Dials, shop: Shop | None) -> dict[str, Floats]:
    """The posterior and the slopes of the board that it leads to."""
    unknowns, prior = dials.unknowns, prior_of(dials.unknowns, shop)
    found = inferred(
        read=dials.read_mm,
        scatter=dials.scatter_mm,
        prior=prior,
        predicted=dials.predicted_mm,
        slopes=dials.slopes_mm,
    )
    narrower = tuple(
        replace(unknown, sigma=float(wide)) for unknown, wide in zip(unknowns, np.sqrt(np.diag(found.covariance)))
    )
    there = dials.slopes.on(changed(dials.places.body, unknowns, found.value), narrower, dials.places.points_mm)
    held = np.asarray(np.linalg.inv(prior))
    sure = covariance(dials.slopes_of(there.slope_mm_N), found.weight / dials.scatter_mm**2, held)
    # the body has no part in errors of the computation at a place: their most likely values are still in every answer,
    # and their second moment takes the place of their variance
    left_out = found.value * [unknown.waves is not None for unknown in unknowns]
    return {
        "value": found.value,
        "covariance": sure + np.outer(left_out, left_out),
        "misfit": found.misfit,
        "weight": found.weight,
        "compliance_mm_N": there.compliance_mm_N,
        "slope_mm_N": there.slope_mm_N,
        "bend_mm_N": there.bend_mm_N,
    }
