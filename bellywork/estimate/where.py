"""Where to press and read next: the places whose dials narrow the planing depths most.

With the covariance Σ of the unknowns, the slopes g of a depth and j of a dial, and the dial's scatter s, a reading
takes
(gᵀ Σ j)² / (s² + jᵀ Σ j) from the depth's variance, whatever it reads (the conditional variance of Gaussian variables,
any textbook). The place that takes most from the sum over the notes goes first; then Σ is made narrower by it, and the
next is looked for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.balance.sink import predicted_sink
from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats, Ints
from bellywork.conventions import note_name
from bellywork.estimate.dials import USUAL_DIAL_MM, usable
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.places import FINE_OVER_COARSE, SAME_MM, on_ribs
from bellywork.geometry.string_line import bearing, pin_forces_N, topped

MOST_PLACES = 7
EVERY_NOTE = 3  # of the notes of each bridge, its ends among them, that are looked at
SINK_MM = 0.6  # that a load should bring: many times a dial's error, and little against a crown
LOADS_N = (50.0, 250.0)  # from a small weight to what one person lays on with care (common practice, no source)
LOAD_STEP_N = 25.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Places where a load and the dial beside it could be put.

    name, place_mm      in words and in plan
    force_N, sink_mm    the load, and what the dial should then read
    slope_mm            change of that for each unit of an unknown, (places, unknowns)
    scatter_mm          one standard deviation of the dial
    """

    name: tuple[str, ...]
    place_mm: Floats
    force_N: Floats
    sink_mm: Floats
    slope_mm: Floats
    scatter_mm: float = USUAL_DIAL_MM / SIGMAS


@dataclass(frozen=True, kw_only=True, eq=False)
class Advice:
    """Places to press and read, the most telling first.

    candidates   all that were looked at; chosen: which of them, in order
    band_deg     95 % half width of the net bearing planed for, root mean square over the notes: now, and expected
                 after the first, the first two … places
    """

    candidates: Candidates
    chosen: tuple[int, ...]
    band_deg: Floats


def where_to_read(estimate: Estimate, *, most: int = MOST_PLACES) -> Advice:
    """The places whose reading narrows the planing depths most, each weighted by the bearing that a mm brings.

    Raises MissingLayer without string line, plan, scale and body.
    """
    goal, found = depth_slopes(estimate), candidates_of(estimate)
    chosen: list[int] = []
    for _ in range(min(most, len(found.name))):
        left = [k for k in range(len(found.name)) if k not in chosen]
        sigma = narrowed(estimate.covariance, found, chosen)
        taken = [_taken(goal, sigma, found.slope_mm[k], found.scatter_mm) for k in left]
        chosen.append(left[int(np.argmax(taken))])
    return Advice(candidates=found, chosen=tuple(chosen), band_deg=bands_after(estimate, found, chosen, goal=goal))


def bands_after(estimate: Estimate, found: Candidates, chosen: list[int], *, goal: Floats | None = None) -> Floats:
    """The band of `Advice` now and after each of these candidates."""
    goal = depth_slopes(estimate) if goal is None else goal
    every = [narrowed(estimate.covariance, found, chosen[:count]) for count in range(len(chosen) + 1)]
    return SIGMAS * np.sqrt([np.einsum("nk,kl,nl->", goal, sigma, goal) / len(goal) for sigma in every])


def narrowed(covariance: Floats, found: Candidates, chosen: list[int]) -> Floats:
    """The covariance after these candidates have been read."""
    for k in chosen:
        way = covariance @ found.slope_mm[k]
        covariance = covariance - np.outer(way, way) / (found.scatter_mm**2 + found.slope_mm[k] @ way)
    return covariance


def _taken(goal: Floats, covariance: Floats, slope: Floats, scatter: float) -> float:
    way = covariance @ slope
    return float(np.sum((goal @ way) ** 2) / (scatter**2 + slope @ way))


def depth_slopes(estimate: Estimate) -> Floats:
    """Change of the exact planing depth, in degrees of net bearing, for each unit of an unknown, (notes, unknowns).

    The forces of the targets are the same on every board; what they sink it by is not.
    """
    ready, pins = estimate.ready, estimate.places.pins
    board, sink = ready.board, predicted_sink(ready)
    bare = sink.bare(board.needed_strings("Planing"), board.measured_in)
    want = wanted(bare, board.targets, ready.pull_N)
    strung = topped(bare, want.front_mm, want.rear_mm)
    coarse, slope = estimate.slopes.compliance_mm_N[:pins, :pins], estimate.slopes.slope_mm_N[:, :pins, :pins]
    ratio = np.clip(sink.response.small_mm_N / coarse, *FINE_OVER_COARSE)
    sunk = (ratio * slope) @ np.concatenate(pin_forces_N(strung, ready.pull_N))
    front, rear = np.split(sunk, 2, axis=1)
    return np.asarray(((front + rear) / 2.0 * bearing(strung).degrees_per_mm).T)


def candidates_of(estimate: Estimate) -> Candidates:
    """Every few notes of each bridge, and places along the ribs where no bridge stands; not where a dial has stood, as
    a second reading there would tell of that dial only.
    """
    ready, body = estimate.ready, estimate.places.body
    line, plan = ready.board.needed_strings("Where to read"), ready.board.needed_plan("Where to read")
    notes = [k for here in line.bridges.values() for k in _some(np.flatnonzero(here))]
    ribs = on_ribs(body)
    name = [f"note {line.note[k]} ({note_name(int(line.note[k]))})" for k in notes] + [name for name, _ in ribs]
    place = np.vstack([plan.middle_mm[notes], *(point[None] for _, point in ribs)])
    read = np.vstack([np.zeros((0, 2)), *(trial.read_mm for trial in usable(ready))])
    new = [k for k, point in enumerate(place) if not np.any(np.hypot(*(read - point).T) <= SAME_MM)]
    name, place = [name[k] for k in new], place[new]
    places, slopes = estimate.places, estimate.slopes
    at = np.array([places.shares(point) for point in place])
    soft = np.einsum("di,ij,dj->d", at, slopes.compliance_mm_N, at)
    force = np.clip(np.round(SINK_MM / soft / LOAD_STEP_N) * LOAD_STEP_N, *LOADS_N)
    slope = np.einsum("di,kij,dj->dk", at, slopes.slope_mm_N, at, optimize=True)
    return Candidates(
        name=tuple(name), place_mm=place, force_N=force, sink_mm=force * soft, slope_mm=force[:, None] * slope
    )


def _some(notes: Ints) -> list[int]:
    return sorted({*notes[::EVERY_NOTE].tolist(), int(notes[-1])})
