"""One estimate of this very board: from its description, and from all that was read on it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.shop import Shop
from bellywork.estimate.inference import MISREAD, Posterior, beyond_chance, covariance, inferred
from bellywork.estimate.observed import Observed, observed_of
from bellywork.estimate.places import Places
from bellywork.estimate.sensitivity import Sensitivity
from bellywork.estimate.shop import prior_of, usual
from bellywork.estimate.unknowns import Unknown, changed
from bellywork.estimate.words import doubts, learned_words, shop_words
from bellywork.instrument import Instrument, prepared


@dataclass(frozen=True, kw_only=True, eq=False)
class Learned:
    """What readings taught.

    observed            the readings that were used
    predicted_mm        what the estimated board would have them read
    scatter_mm          one standard deviation of each: as it was told, or wider where a kind scatters more than that
    misfit, weight      of each reading: how far off over its scatter, and how much it counted
    gain                change of each unknown's most likely value for 1 mm more of each reading, (unknowns, readings)
    """

    observed: Observed
    predicted_mm: Floats
    scatter_mm: Floats
    misfit: Floats
    weight: Floats
    gain: Floats

    @property
    def misread(self) -> tuple[str, ...]:
        """Readings that no likely board would have given: where they were made."""
        return tuple(name for name, off in zip(self.observed.names, self.misfit) if abs(off) > MISREAD)

    @property
    def loose(self) -> bool:
        """Whether what came back scatters more than its uncertainty allows."""
        those = self.observed.of(self.observed.came_back)
        return bool(np.any(self.scatter_mm[those] > self.observed.scatter_mm[those]))


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
    learned      what readings taught; None: there were none that could be used
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
    shop = None if as_described else described.board.shop
    described = described if shop is None else usual(described)
    observed = observed_of(described, as_described=as_described)
    unknowns = observed.unknowns
    if not observed.kinds:
        return Estimate(
            described=described,
            ready=described if shop is None else _saying(described, shop_words(shop)),
            unknowns=unknowns,
            value=np.zeros(len(unknowns)),
            covariance=prior_of(unknowns, shop),
            places=observed.places,
            slopes=observed.slopes,
            shop=shop,
        )
    depends_on = (observed.depends_on, shop)
    found = described.kept_on_disk("estimate", depends_on, lambda: _learned(observed, shop))
    body = described.board.needed_body("An estimate of the board")
    whole = replace(described.board, body=changed(body, unknowns, found["value"]))
    estimate = Estimate(
        described=described,
        ready=replace(described, board=whole, _kept={}),
        unknowns=unknowns,
        value=found["value"],
        covariance=found["covariance"],
        places=observed.places,
        slopes=Sensitivity(**{name: found[name] for name in ("compliance_mm_N", "slope_mm_N", "bend_mm_N")}),
        learned=Learned(
            observed=observed,
            predicted_mm=observed.read_mm - found["misfit"] * found["scatter_mm"],
            **{name: found[name] for name in ("scatter_mm", "misfit", "weight", "gain")},
        ),
        shop=shop,
    )
    return replace(estimate, ready=_saying(estimate.ready, learned_words(estimate), *doubts(estimate)))


def _saying(ready: Instrument, *words: str) -> Instrument:
    return replace(ready, assumptions=(*ready.assumptions, *words), _kept={})


def _learned(observed: Observed, shop: Shop | None) -> dict[str, Floats]:
    """The posterior and the slopes of the board that it leads to."""
    unknowns, prior = observed.unknowns, prior_of(observed.unknowns, shop)

    def found_with(scatter_mm: Floats) -> Posterior:
        return inferred(
            read=observed.read_mm,
            scatter=scatter_mm,
            prior=prior,
            predicted=observed.predicted_mm,
            slopes=observed.slopes_mm,
        )

    scatter = observed.scatter_mm
    found = found_with(scatter)
    wider = np.ones(len(scatter))
    for those in observed.gauges:
        wider[those] = beyond_chance(found.misfit[those])
    if np.any(wider > 1.0):
        scatter = wider * scatter
        found = found_with(scatter)
    narrower = tuple(
        replace(unknown, sigma=float(wide)) for unknown, wide in zip(unknowns, np.sqrt(np.diag(found.covariance)))
    )
    there = observed.slopes.on(
        changed(observed.places.body, unknowns, found.value), narrower, observed.places.points_mm
    )
    slopes = observed.slopes_of(there.slope_mm_N, found.value)
    sure = covariance(slopes, found.weight / scatter**2, np.asarray(np.linalg.inv(prior)))
    # the body has no part in errors of the computation at a place: their most likely values are still in every answer,
    # and their second moment takes the place of their variance
    left_out = found.value * [unknown.waves is not None for unknown in unknowns]
    return {
        "value": found.value,
        "covariance": sure + np.outer(left_out, left_out),
        "scatter_mm": scatter,
        "misfit": found.misfit,
        "weight": found.weight,
        "gain": sure @ slopes.T * (found.weight / scatter**2),
        "compliance_mm_N": there.compliance_mm_N,
        "slope_mm_N": there.slope_mm_N,
        "bend_mm_N": there.bend_mm_N,
    }
