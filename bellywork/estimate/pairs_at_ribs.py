"""Ribs read under a load and bare: how far each middle rose, by all that was read along it."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.state import State
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.pairs import Pair, PairKind, at_home, scatter_mm
from bellywork.estimate.rib_fit import rib_fit
from bellywork.estimate.settled import settled_by
from bellywork.estimate.threads import RibThread, alike

SAME_PLACE_MM, FEWEST = 5.0, 4  # of two readings; how many of them make a shape


def pairs_at_ribs(model: LoadedBoard) -> list[Pair]:
    """Threads of one rib and span, bare and under a load."""
    threads, settled = model.threads, settled_by(model)
    found = [
        (a, b)
        for a, bare in enumerate(threads)
        for b, loaded in enumerate(threads)
        if alike(bare, loaded) and bare.state is State.BARE and loaded.state is not State.BARE
    ]
    days, sunk, damp = model.days(settled), model.sunk_mm(settled), model.damp_mm()
    still = model.on([at_home(day) for day in days])
    # the load bends a rib otherwise than in an arc: the shape is fitted to what was read and what it had sunk together
    free = [thread.height_mm + freed_by(thread, gone) for thread, gone in zip(threads, sunk)]
    # the error of a thread that stands in several pairs counts in each as often
    often = [sum(k in each for each in found) for k in range(len(threads))]
    out = []
    for a, b in found:
        rise, wide, gain = _rose(threads[a], threads[b], free[a], free[b], (often[a], often[b]))
        aired = bow_mm(sunk[b]) - bow_mm(still[at_home(days[b])].panel_mm[model.ends[b]])
        out.append(
            Pair(
                kind=PairKind.RIB,
                name=f"rib {threads[a].rib.name}",
                read_mm=rise + bow_mm(sunk[b]),
                scatter_mm=scatter_mm(wide, aired),
                damp_mm=float(damp[a] - damp[b]),
                day=days[b],
                threads=(a, b),
                gain=gain,
            )
        )
    return out


def _rose(
    bare: RibThread, loaded: RibThread, bare_mm: Floats, loaded_mm: Floats, often: tuple[int, int]
) -> tuple[float, float, tuple[Floats, Floats]]:
    """By how much a rib's middle stands higher in one thread than in the other, its 95 % half width, and its change for
    each reading of the two; `often` is how many times each thread's variance counts.

    Where both were read at the same places their difference is fitted: whatever shape the rib is in drops out, and what
    was misread once shows.
    """
    apart = np.abs(bare.position_mm[:, None] - loaded.position_mm)
    one, other = np.arange(len(apart)), np.argmin(apart, axis=1)
    same = apart[one, other] < SAME_PLACE_MM
    one, other = one[same], other[same]
    gains = np.zeros(len(bare_mm)), np.zeros(len(loaded_mm))
    if len(one) >= FEWEST and len(set(other.tolist())) == len(other):
        scatter = bare.uncertainty_mm[one] * often[0] ** 0.5, loaded.uncertainty_mm[other] * often[1] ** 0.5
        wide = np.hypot(*scatter)
        fit = rib_fit(bare.position_mm[one], bare_mm[one] - loaded_mm[other], span_mm=bare.span_mm, uncertainty_mm=wide)
        gains[0][one], gains[1][other] = fit.gain, -fit.gain
        return fit.rise_mm, fit.rise_uncertainty_mm, gains
    fits = [
        rib_fit(thread.position_mm, height, span_mm=thread.span_mm, uncertainty_mm=thread.uncertainty_mm * many**0.5)
        for thread, height, many in zip((bare, loaded), (bare_mm, loaded_mm), often)
    ]
    wide_mm = float(np.hypot(fits[0].rise_uncertainty_mm, fits[1].rise_uncertainty_mm))
    return fits[0].rise_mm - fits[1].rise_mm, wide_mm, (fits[0].gain, -fits[1].gain)


def freed_by(thread: RibThread, sunk_mm: Floats) -> Floats:
    """What a thread's readings lack for the sink of its points, (readings,): its ends go down with the panel."""
    start, _, end = sunk_mm[-3:]
    share = thread.position_mm / thread.span_mm
    return np.asarray(sunk_mm[:-3] - start - share * (end - start))
