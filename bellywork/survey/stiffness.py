"""What load and air of its day take of each rib, and how far that is known: by the one estimate of the board."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.pairs import Pair, PairKind
from bellywork.estimate.settled import settled_by
from bellywork.estimate.spring_back import SpringBack
from bellywork.estimate.words import softness


@dataclass(frozen=True, kw_only=True, eq=False)
class Softness:
    """The board's compliance against the description's.

    factor, uncertainty   under a load on the whole bridge, and its 95 % half width
    measured              whether anything was read under a load and bare
    names                 what came back; measured_mm, uncertainty_mm, predicted_mm: each freed of the weather between
                          its two days, and as the estimated board has it
    loose                 True where it scatters more than its uncertainty allows
    weather, weather_uncertainty
                          what the humidity did, as a share of what it is reckoned to do, and its 95 % half width
    """

    factor: float
    uncertainty: float
    measured: bool
    names: tuple[str, ...]
    measured_mm: Floats
    uncertainty_mm: Floats
    predicted_mm: Floats
    loose: bool
    weather: float
    weather_uncertainty: float


def softness_of(estimate: Estimate, model: LoadedBoard) -> Softness:
    """The softness of an estimated board; `model` is that board at the places that were read."""
    factor, wide = softness(estimate)
    weather = [unknown.key for unknown in estimate.unknowns].index("weather")
    told, none = estimate.learned, np.zeros(0)
    back = None if told is None else told.observed.came_back
    now = None if back is None else _of(tuple(replace(pair, damp_mm=0.0) for pair in back.pairs), estimate, model)
    return Softness(
        factor=factor,
        uncertainty=wide,
        measured=back is not None,
        names=() if back is None else tuple(_told(pair) for pair in back.pairs),
        measured_mm=none if back is None else back.read_mm - back.aired_mm(estimate.value),
        uncertainty_mm=none if back is None else SIGMAS * back.scatter_mm,
        predicted_mm=none if now is None else now.predicted_mm(_unmoved(estimate), estimate.value),
        loose=told is not None and told.loose,
        weather=float(1.0 + estimate.value[weather]),
        weather_uncertainty=float(SIGMAS * np.sqrt(estimate.covariance[weather, weather])),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Taken:
    """What its day took of each thread's rise, (threads,) each, mm.

    sunk_mm, aired_mm  how far each thread's points had sunk, and how far the air had lifted them
    load_mm, damp_mm   what the load took of the middle over the ends, and what the air added
    slope_mm           change of load less damp for each unit of an unknown, (threads, unknowns)
    """

    sunk_mm: list[Floats]
    aired_mm: list[Floats]
    load_mm: Floats
    damp_mm: Floats
    slope_mm: Floats


def taken(estimate: Estimate, model: LoadedBoard) -> Taken:
    """What load and air took of every thread of an estimated board, on its day."""
    settled, damp = settled_by(model), model.damp_mm()
    pairs = tuple(
        Pair(
            kind=PairKind.RIB,
            name=thread.rib.name,
            read_mm=0.0,
            scatter_mm=1.0,
            damp_mm=-float(damp[k]),
            day=day,
            threads=(k, k),
        )
        for k, (thread, day) in enumerate(zip(model.threads, model.days(settled)))
    )
    here, still = _of(pairs, estimate, model), _unmoved(estimate)
    sunk = model.sunk_mm(settled, settling=1.0 + float(estimate.value[here.unknown["days"]]))
    return Taken(
        sunk_mm=sunk,
        aired_mm=[(1.0 + float(estimate.value[here.unknown["weather"]])) * each for each in model.aired_mm()],
        load_mm=np.array([bow_mm(each) for each in sunk]),
        damp_mm=-here.aired_mm(estimate.value),
        slope_mm=here.slopes_mm(still, estimate.slopes.slope_mm_N, estimate.value),
    )


def _of(pairs: tuple[Pair, ...], estimate: Estimate, model: LoadedBoard) -> SpringBack:
    """Pairs on the estimated board itself."""
    return SpringBack.of(pairs, model, estimate.places, estimate.unknowns, estimate.slopes)


def _told(pair: Pair) -> str:
    """What came back, for a table in mm."""
    return f"{pair.name}, as sink" if pair.kind is PairKind.BEARING else pair.name


def _unmoved(estimate: Estimate) -> Floats:
    return np.zeros_like(estimate.slopes.compliance_mm_N)
