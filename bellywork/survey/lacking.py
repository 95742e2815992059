"""What every thread of a survey lacks of what was made, once load and air are taken out: readings of the set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.pairs_at_ribs import freed_by
from bellywork.estimate.rib_fit import END_SHARE
from bellywork.estimate.threads import RibThread, between_rims
from bellywork.geometry.crown_surface import crown_surface
from bellywork.survey.set_field import Lacking, RibLine
from bellywork.survey.stiffness import Taken

LEAST_MM = 1e-6  # a load or a damp that takes less takes nothing


def rib_lines(body: Body) -> tuple[RibLine, ...]:
    """Every rib of a body between the rims, with the rise it was made with there."""
    crown, out = crown_surface(body), []
    for rib in body.ribs:
        middle, way, length = between_rims(body, rib)
        line = RibLine(name=rib.name, middle_mm=middle, way=way, length_mm=length, made_mm=0.0)
        out.append(replace(line, made_mm=bow_mm(crown.rise_mm(body.outline.onto(line.ends_mm)))))
    return tuple(out)


def lacking_of(ribs: tuple[RibLine, ...], estimate: Estimate, model: LoadedBoard, took: Taken) -> Lacking:
    """What the threads of an estimated board lack, and how far what load and air took of them is known.

    An unknown moves a thread's load in the load's own shape, and the weather what the air did in the air's.
    """
    threads, crown = model.threads, crown_surface(model.ready.board.needed_body("A survey"))
    place = {rib.name: k for k, rib in enumerate(ribs)}
    which = np.array([place[thread.rib.name] for thread in threads], dtype=np.int64)
    weather = [unknown.key for unknown in estimate.unknowns].index("weather")
    gone, doubt, at, ends = [], [], [], []
    for k, thread in enumerate(threads):
        load, damp = freed_by(thread, took.sunk_mm[k]), freed_by(thread, took.aired_mm[k])
        gone.append(freed_by(thread, crown.rise_mm(thread.points_mm)) - load + damp - thread.height_mm)
        part = np.outer(_over(load, took.load_mm[k]), took.slope_mm[k])
        part[:, weather] = _over(damp, took.damp_mm[k]) * took.slope_mm[k, weather]
        doubt.append(part)
        along = ribs[which[k]].along(thread.points_mm)
        at.append(along[:-3])
        ends.append(along[[-3, -1]])
    many = [len(each) for each in at]
    wide = np.concatenate([thread.uncertainty_mm for thread in threads]) / SIGMAS
    return Lacking(
        rib=np.repeat(which, many),
        thread=np.repeat(np.arange(len(threads)), many),
        at=np.concatenate(at),
        ends=np.array(ends),
        share=np.concatenate([thread.position_mm / thread.span_mm for thread in threads]),
        free=np.array([_ends_read(thread) for thread in threads]),
        gone_mm=np.concatenate(gone),
        read_mm=np.concatenate([thread.height_mm for thread in threads]),
        scatter_mm=wide,
        doubt_mm=np.concatenate(doubt),
        covariance=estimate.covariance,
        shared=_shared(estimate, many) * wide**2,
    )


def _over(profile_mm: Floats, bow: float) -> Floats:
    """A profile over its middle's height."""
    return np.zeros_like(profile_mm) if abs(bow) < LEAST_MM else np.asarray(profile_mm / bow)


def _ends_read(thread: RibThread) -> bool:
    share = thread.position_mm / thread.span_mm
    return bool(np.any(share <= END_SHARE) and np.any(share >= 1.0 - END_SHARE))


def _shared(estimate: Estimate, many: list[int]) -> Floats:
    """Change of each unknown's most likely value for 1 mm more of each reading of the threads, (unknowns, readings)."""
    out = np.zeros((len(estimate.unknowns), sum(many)))
    back = None if estimate.learned is None else estimate.learned.observed.came_back
    if estimate.learned is None or back is None:
        return out
    first = np.cumsum([0, *many])
    for pair, way in zip(back.pairs, estimate.learned.gain[:, estimate.learned.observed.of(back)].T):
        for thread, gain in zip(pair.threads or (), pair.gain):
            out[:, first[thread] : first[thread + 1]] += np.outer(way, gain)
    return out
