"""The best scheme of a rule within bounds, under a wish; and what was traded for what on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.scheme import Least, RibRule, Scheme, Wish
from bellywork.errors import BellyworkError, BoardError
from bellywork.schemes.assessed import Base, SchemeResult, assessed
from bellywork.schemes.cores import on_all_cores
from bellywork.schemes.evenness import longest_bridge

CELL_MM = 44.0  # schemes rank alike on these and on the default ones: tests/schemes/test_schemes.py
POPULATION, GENERATIONS = 20, 12
AGAIN = 8
AMISS = 10.0  # how much a wish missed weighs against what is to be small


@dataclass(frozen=True, kw_only=True, eq=False)
class Standing:
    """How a scheme stands to a wish.

    ribs_kg             mass of its ribs
    sink_mm             greatest sink of any note; bending_share: greatest of any rib; crown_left_mm: least of any rib
    unevenness          scatter of the compliance along the longest bridge
    missed              by how much it misses the wish: shares that are over and mm of crown that lack, summed; 0: it
                        meets it
    """

    ribs_kg: float
    sink_mm: float
    bending_share: float
    crown_left_mm: float
    unevenness: float
    missed: float

    def value(self, least: Least) -> float:
        """What is to be as small as it can be."""
        return {Least.MASS: self.ribs_kg, Least.UNEVENNESS: self.unevenness, Least.SINK: self.sink_mm}[least]


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidate(Standing):
    """A rule that was tried, and how it stands."""

    rule: RibRule


@dataclass(frozen=True, kw_only=True, eq=False)
class Search:
    """What a search found.

    best       the rule nearest to the wish, and best among those that meet it; its numbers are those of the
               default grid, the others' of a coarser one
    pareto     candidates that no other beats in mass, sink and unevenness at once, by mass
    tried      every candidate; stopped: True where it was broken off
    """

    scheme: Scheme
    wish: Wish
    best: Candidate
    pareto: tuple[Candidate, ...]
    tried: tuple[Candidate, ...]
    stopped: bool

    @property
    def found(self) -> Scheme:
        """The best rule as a scheme of its own."""
        return replace(self.scheme, rule=self.best.rule, wish=None)


def searched(
    base: Base,
    scheme: Scheme,
    *,
    generations: int = GENERATIONS,
    population: int = POPULATION,
    progress: Callable[[int, Candidate], None] | None = None,
) -> Search:
    """Search the bounds of a scheme's wish for the best rule (differential evolution, scipy).

    Each generation is tried on all cores through joblib; `joblib.parallel_config(backend="dask")` around the call
    takes it to a cluster. A rule that fits no rib to the outline counts as missed. `progress` is told how many were
    tried and the best so far. Ctrl-C ends the search and keeps what was found.

    Raises BoardError for a scheme without rule or wish, or where nothing in the bounds can be a scheme.
    """
    from scipy.optimize import differential_evolution

    if scheme.rule is None or scheme.wish is None:
        raise BoardError(f"The scheme {scheme.name} has no rule and wish to search by: add [rule] and [search].")
    run = _Run(base=base, scheme=scheme, rule=scheme.rule, wish=scheme.wish, tried=[], progress=progress)
    names = list(scheme.wish.bounds)
    start = [min(max(float(getattr(scheme.rule, name)), low), high) for name, (low, high) in scheme.wish.bounds.items()]
    stopped = False
    try:
        differential_evolution(
            run.one, list(scheme.wish.bounds.values()), maxiter=generations - 1, tol=1e-3, rng=0, polish=False,
            popsize=max(population // len(names), 1), init="latinhypercube", x0=start, updating="deferred",
            workers=run.all, integrality=[name == "count" for name in names],
        )  # fmt: skip
    except KeyboardInterrupt:
        stopped = True
    if not run.tried:
        raise BoardError("Nothing was found: no rule within the bounds fits the outline, or the search ended at once.")
    return Search(
        scheme=scheme,
        wish=scheme.wish,
        best=run.best(),
        pareto=pareto(run.tried),
        tried=tuple(run.tried),
        stopped=stopped,
    )


def standing(result: SchemeResult, wish: Wish, bridge: str) -> Standing:
    """How a result stands to a wish; `bridge`: along which the compliance is to be even."""
    sink, crown = float(np.max(result.sink_mm)), min((rib.crown_left_mm for rib in result.ribs), default=0.0)
    over = [
        max(sink / wish.sink_most_mm - 1.0, 0.0),
        max(result.unevenness[bridge] / wish.unevenness_most - 1.0, 0.0),
        max(result.bending_share / wish.bending_share_most - 1.0, 0.0),
        max(wish.crown_left_least_mm - crown, 0.0),
    ]
    return Standing(
        ribs_kg=result.ribs_kg,
        sink_mm=sink,
        bending_share=result.bending_share,
        crown_left_mm=crown,
        unevenness=result.unevenness[bridge],
        missed=sum(over),
    )


def best_given(search: Search, given: Sequence[SchemeResult], base: Base) -> tuple[str, Standing] | None:
    """The best of given schemes that meet a search's wish, by name; None where none does."""
    bridge, wish = longest_bridge(base.bare), search.wish
    meeting = [(each.name, stands) for each in given if (stands := standing(each, wish, bridge)).missed == 0.0]
    return min(meeting, key=lambda each: each[1].value(wish.least), default=None)


def pareto(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Those that no other beats in mass, sink and unevenness at once, lightest first."""
    if not candidates:
        return ()
    values = np.array([[each.ribs_kg, each.sink_mm, each.unevenness] for each in candidates])
    beaten: Bools = np.array(
        [bool(np.any(np.all(values <= value, axis=1) & np.any(values < value, axis=1))) for value in values]
    )
    _, first = np.unique(values, axis=0, return_index=True)
    return tuple(sorted((candidates[k] for k in first if not beaten[k]), key=lambda each: each.ribs_kg))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Run:
    """One search on its way; `tried` grows."""

    base: Base
    scheme: Scheme
    rule: RibRule
    wish: Wish
    tried: list[Candidate]
    progress: Callable[[int, Candidate], None] | None

    def one(self, values: Floats) -> float:
        """Never called: `all` tries whole generations."""
        return self.all(None, [values])[0]

    def all(self, _: object, generation: Iterable[Floats]) -> list[float]:
        """Try a generation; the worth of each, smaller is better."""
        rules = [self._rule(values) for values in generation]
        found = on_all_cores(partial(_tried, self.base, self.scheme, self.wish), rules)
        self.tried.extend(each for each in found if each is not None)
        if self.progress is not None and self.tried:
            self.progress(len(self.tried), min(self.tried, key=self._rank))
        return [
            1e6 if each is None else each.value(self.wish.least) * (1.0 + AMISS * each.missed) + AMISS * each.missed
            for each in found
        ]

    def best(self) -> Candidate:
        """The best of those tried, the foremost tried again on the default grid until one meets the wish there too."""
        ranked = sorted(self.tried, key=self._rank)
        again: list[Candidate] = []
        for each in ranked[:AGAIN]:
            fine = _tried(self.base, self.scheme, self.wish, each.rule, None)
            if fine is not None:
                again.append(fine)
                if fine.missed == 0.0:
                    break
        return min(again, key=self._rank, default=ranked[0])

    def _rank(self, each: Candidate) -> tuple[float, float]:
        return each.missed, each.value(self.wish.least)

    def _rule(self, values: Floats) -> RibRule:
        changed = dict(zip(self.wish.bounds, np.asarray(values, dtype=float).tolist()))
        if "count" in changed:
            changed["count"] = round(changed["count"])
        rule = replace(self.rule, **changed)
        return replace(rule, end_height_mm=min(rule.end_height_mm, rule.treble_height_mm, rule.bass_height_mm))


def _tried(base: Base, scheme: Scheme, wish: Wish, rule: RibRule, cell_mm: float | None = CELL_MM) -> Candidate | None:
    """A rule as a candidate, or None where it fits no board."""
    try:
        result = assessed(base, replace(scheme, rule=rule), rough_cell_mm=cell_mm, with_modes=False)
    except BellyworkError:
        return None
    return Candidate(rule=rule, **vars(standing(result, wish, longest_bridge(base.bare))))
