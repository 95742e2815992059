"""Press trials against the board: what each dial would read on a board whose unknowns have given values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.board.state import PressTrial, State
from bellywork.estimate.sensitivity import Sensitivity, between, compliance, sensitivity
from bellywork.estimate.unknowns import Unknown, changed, waves_at
from bellywork.instrument import Instrument

SIGMAS = 1.959963984540054  # a 95 % half width over a standard deviation
USUAL_DIAL_MM = 0.03  # 95 % half width of a dial gauge on a stand, set to zero before the load (common practice)
FINE_OVER_COARSE = (0.7, 1.4)  # bounds of the ratio by which coarse cells are put right
LARGE = 0.1  # of the greatest: a smaller sink is not put right by its own ratio
SAME_MM = 1e-6


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Places on the board told by points of which the compliance is known.

    points_mm   the pins, front then rear, where the board has strings; then places that are at no note
    body        the board that they lie on
    pins_mm     how many of the points are pins
    """

    points_mm: Floats
    pins: int
    body: Body

    @classmethod
    def of(cls, ready: Instrument, places_mm: Floats) -> Places:
        """The points that tell these places (places, 2)."""
        body, plan = ready.board.needed_body("A press trial"), ready.board.plan
        pins = np.zeros((0, 2)) if plan is None else plan.pins_mm
        middle = (pins[: len(pins) // 2] + pins[len(pins) // 2 :]) / 2.0
        other = np.unique(places_mm[[not _at(middle, place).any() for place in places_mm]], axis=0)
        return cls(points_mm=np.vstack([pins, other.reshape(-1, 2)]), pins=len(pins), body=body)

    def shares(self, place_mm: Floats) -> Floats:
        """A place as a mean of points, (points,): a note lies midway between its pins."""
        notes, share = self.pins // 2, np.zeros(len(self.points_mm))
        note = np.flatnonzero(_at((self.points_mm[:notes] + self.points_mm[notes : self.pins]) / 2.0, place_mm))
        if len(note):
            share[[note[0], note[0] + notes]] = 0.5
        else:
            share[self.pins + int(np.flatnonzero(_at(self.points_mm[self.pins :], place_mm))[0])] = 1.0
        return share


def _at(points_mm: Floats, place_mm: Floats) -> Floats:
    return np.asarray(np.hypot(*(points_mm - place_mm).T) <= SAME_MM)


@dataclass(frozen=True, kw_only=True, eq=False)
class Dials:
    """The dials of all trials that can be used.

    unknowns             of the board
    places               points of which the compliance is known
    names                of each dial: trial and row
    load_N, read_at      (dials, points): what presses on the points while the dial is read, and where that is
    read_mm, scatter_mm  what it read, and one standard deviation of that
    fine_mm              what the board as described would have it read, on the default grid
    slopes               of the board as described, on coarse cells
    """

    unknowns: tuple[Unknown, ...]
    places: Places
    names: tuple[str, ...]
    load_N: Floats
    read_at: Floats
    read_mm: Floats
    scatter_mm: Floats
    fine_mm: Floats
    slopes: Sensitivity

    def sink_mm(self, compliance_mm_N: Floats) -> Floats:
        """What the dials read with this compliance of the points, the last two axes (points, points)."""
        return np.asarray(np.einsum("di,...ij,dj->...d", self.read_at, compliance_mm_N, self.load_N, optimize=True))

    @property
    def ratio(self) -> Floats:
        """Fine over coarse at each dial: cells make a board too stiff by nearly the same share whatever its wood."""
        coarse = self.sink_mm(self.slopes.compliance_mm_N)
        large = np.abs(coarse) > LARGE * np.max(np.abs(coarse))
        return np.where(large, np.clip(self.fine_mm / np.where(large, coarse, 1.0), *FINE_OVER_COARSE), 1.0)

    def predicted_mm(self, values: Floats) -> Floats:
        """What the dials would read: the board assembled anew on coarse cells, its change put on the fine answer."""
        body, points = self.places.body, self.places.points_mm
        there = compliance(changed(body, self.unknowns, values), points)
        local = sum(
            value * waves_at(body, unknown, points) for value, unknown in zip(values, self.unknowns) if unknown.waves
        )
        moved = there * np.exp(-between(np.asarray(local))) - self.slopes.compliance_mm_N
        return np.asarray(self.fine_mm + self.ratio * self.sink_mm(moved))

    def slopes_mm(self, values: Floats) -> Floats:
        """Change of the dials for each unit of an unknown, (dials, unknowns)."""
        return self.slopes_of(self.slopes.slope_at(values))

    def slopes_of(self, slope_mm_N: Floats) -> Floats:
        """The same from slopes of the points (unknowns, points, points)."""
        return np.asarray((self.ratio * self.sink_mm(slope_mm_N)).T)


def dials_of(ready: Instrument, unknowns: tuple[Unknown, ...]) -> Dials | None:
    """The dials of an instrument's trials; None where there are none that can be used.

    Trials on the bare board are used: a strung one is held by its strings as well. Raises BoardError for a place off
    the board, SolveError where the bare board finds no balance.
    """
    trials = usable(ready)
    if not trials:
        return None
    places = Places.of(ready, np.vstack([each for trial in trials for each in (trial.places_mm, trial.read_mm)]))
    here, points = ready.moisture_percent, places.points_mm
    small = ready.kept_on_disk(
        "press trials", points, lambda: {"small_mm_N": ready.response(points, moisture_percent=here).small_mm_N}
    )["small_mm_N"]
    dials = [(trial, dial) for trial in trials for dial in range(len(trial.sink_mm))]
    load = np.array([trial.forces_N @ [places.shares(place) for place in trial.places_mm] for trial, _ in dials])
    at = np.array([places.shares(trial.read_mm[dial]) for trial, dial in dials])
    told = np.array([trial.uncertainty_mm[dial] for trial, dial in dials])
    return Dials(
        unknowns=unknowns,
        places=places,
        names=tuple(f"trial {trial.name}, row {trial.rows[dial]}" for trial, dial in dials),
        load_N=load,
        read_at=at,
        read_mm=np.array([trial.sink_mm[dial] for trial, dial in dials]),
        scatter_mm=np.where(np.isnan(told), USUAL_DIAL_MM, told) / SIGMAS,
        fine_mm=np.einsum("di,ij,dj->d", at, small, load),
        slopes=sensitivity(ready, unknowns, points),
    )


def usable(ready: Instrument) -> tuple[PressTrial, ...]:
    """The trials on the bare board."""
    return tuple(trial for trial in ready.board.trials if trial.state is State.BARE)
