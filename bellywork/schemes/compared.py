"""Rib schemes side by side, each against the first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.scheme import Scheme
from bellywork.errors import SolveError
from bellywork.measures import counted
from bellywork.schemes.assessed import Base, SchemeResult, assessed
from bellywork.schemes.cores import on_all_cores


@dataclass(frozen=True, kw_only=True, eq=False)
class Difference:
    """A scheme less the first one; arrays have one entry per note. Compliance is told as a share, in %.

    modes_hz   of as many modes as both have
    """

    ribs_kg: float
    mass_kg: float
    worst_sink_mm: float
    bending_share: float
    compliance_percent: Floats
    sink_mm: Floats
    net_deg: Floats
    modes_hz: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Comparison:
    """Schemes in the order given, and the difference of each to the first; assumptions in sentences."""

    schemes: tuple[SchemeResult, ...]
    differences: tuple[Difference, ...]
    assumptions: tuple[str, ...]


def compared(
    base: Base,
    schemes: Sequence[Scheme],
    *,
    with_damp: bool = True,
    progress: Callable[[str], None] | None = None,
) -> Comparison:
    """Assess schemes, on all cores (joblib), and set them side by side.

    with_damp   also the change from 30 to 60 % RH, where the board's making is described
    progress    told what is done, scheme by scheme

    Raises as `assessed` does.
    """
    if progress is not None:
        progress(counted(len(schemes), "scheme"))
    results = tuple(on_all_cores(partial(_named, base, with_damp), schemes))
    return Comparison(
        schemes=results,
        differences=tuple(difference(results[0], each) for each in results),
        assumptions=base.assumptions,
    )


def _named(base: Base, with_damp: bool, scheme: Scheme) -> SchemeResult:
    """A scheme assessed; where it cannot be, the error says which."""
    try:
        return assessed(base, scheme, with_damp=with_damp)
    except SolveError as error:
        raise SolveError(f"The scheme '{scheme.name}' cannot be assessed. {error}") from None


def difference(first: SchemeResult, other: SchemeResult) -> Difference:
    """What differs in `other` from `first`; both are of one board."""
    common = min(len(first.modes_hz), len(other.modes_hz))
    return Difference(
        ribs_kg=other.ribs_kg - first.ribs_kg,
        mass_kg=other.mass_kg - first.mass_kg,
        worst_sink_mm=float(np.max(other.sink_mm) - np.max(first.sink_mm)),
        bending_share=other.bending_share - first.bending_share,
        compliance_percent=100.0 * (other.compliance_mm_per_N / first.compliance_mm_per_N - 1.0),
        sink_mm=other.sink_mm - first.sink_mm,
        net_deg=other.net_deg - first.net_deg,
        modes_hz=other.modes_hz[:common] - first.modes_hz[:common],
    )
