"""What an ordinary life alone takes of a board's crown, so that more than that can be told from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from bellywork.seasons.bearing_after import worked_bare
from bellywork.seasons.history import YEAR_DAYS
from bellywork.seasons.life import Life
from bellywork.seasons.outlook import outlook
from bellywork.survey.loss import RibLoss, Survey


@dataclass(frozen=True, kw_only=True)
class AgedRib:
    """One rib's set against what its years alone would have taken; mm.

    normal_mm, normal_low_mm, normal_high_mm   crown that creep and set take under the strings in an ordinary life, and
                                               the ends of its 95 % range
    beyond_mm, beyond_low_mm, beyond_high_mm   set less that, with the doubt of both
    """

    rib: str
    set_mm: float
    normal_mm: float
    normal_low_mm: float
    normal_high_mm: float
    beyond_mm: float
    beyond_low_mm: float
    beyond_high_mm: float


@dataclass(frozen=True, kw_only=True)
class Aged:
    """A survey against so many years of an ordinary life; ribs in the survey's order."""

    years: float
    ribs: tuple[AgedRib, ...]
    assumptions: tuple[str, ...]


def aged(survey: Survey, *, life: Life, years: float, progress: Callable[[str], None] | None = None) -> Aged:
    """Every surveyed rib against a board of this description that stood strung in this air for so many years.

    The loss of such a board is its ribs' rise just strung less that after whole years, in the same season, both under
    the strings, between the ribs' ends; a survey tells its own over the span of its thread.

    Raises as `outlook` does.
    """
    seen = outlook(worked_bare(survey.ready), life=life, days=(0.0, years * YEAR_DAYS), progress=progress)
    first = seen.middle["rib_rise_mm"][0]
    middle, low, high = (first - part["rib_rise_mm"][1] for part in (seen.middle, seen.high, seen.low))
    place = {name: k for k, name in enumerate(seen.rib)}
    found = [
        _aged(rib, float(middle[k]), float(low[k]), float(high[k]))
        for rib in survey.surest.values()
        if (k := place.get(rib.rib)) is not None
    ]
    return Aged(years=years, ribs=tuple(found), assumptions=seen.assumptions)


def _aged(rib: RibLoss, normal: float, low: float, high: float) -> AgedRib:
    beyond, sure = rib.set_mm - normal, rib.set_uncertainty_mm
    return AgedRib(
        rib=rib.rib,
        set_mm=rib.set_mm,
        normal_mm=normal,
        normal_low_mm=low,
        normal_high_mm=high,
        beyond_mm=beyond,
        beyond_low_mm=beyond - float(np.hypot(sure, high - normal)),
        beyond_high_mm=beyond + float(np.hypot(sure, normal - low)),
    )
