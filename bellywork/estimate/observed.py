"""Everything read of a board that tells how soft it is, and what a board with other unknowns would have it read."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.estimate.dials import Dials, dials_of, usable, wetter_percent
from bellywork.estimate.pairs import PairKind
from bellywork.estimate.places import Places
from bellywork.estimate.sensitivity import Sensitivity, between, compliance, sensitivity
from bellywork.estimate.spring_back import SpringBack, spring_back_of
from bellywork.estimate.threads import rib_threads
from bellywork.estimate.unknowns import Unknown, changed, unknowns_of, unknowns_of_readings, waves_at
from bellywork.instrument import Instrument

# What is read with one gauge
GAUGES = ({PairKind.RIB}, {PairKind.HEIGHT, PairKind.SINK, PairKind.PLATE}, {PairKind.BEARING})


@dataclass(frozen=True, kw_only=True, eq=False)
class Observed:
    """What was read, one kind behind the other.

    unknowns     of the board, and of its readings where ribs or bridge were read
    places       points of which the compliance is known
    slopes       of the board as described there, on coarse cells
    dials        of press trials; None: there are none that can be used
    came_back    what came back when the load was taken off; None: nothing was read under it and bare
    """

    unknowns: tuple[Unknown, ...]
    places: Places
    slopes: Sensitivity
    dials: Dials | None
    came_back: SpringBack | None
    _met: dict[bytes, Floats] = field(default_factory=dict, repr=False)

    @property
    def kinds(self) -> tuple[Dials | SpringBack, ...]:
        """The kinds of readings that there are."""
        return tuple(each for each in (self.dials, self.came_back) if each is not None)

    @property
    def gauges(self) -> tuple[Bools, ...]:
        """Which of the readings were made with one gauge, for each: dials, threads and straightedges, depth gauges,
        angle gauges.
        """
        back, which = self.came_back, []
        if self.dials is not None:
            which.append(self.of(self.dials))
        if back is not None:
            for kinds in GAUGES:
                mask = self.of(back)
                mask[mask] = [pair.kind in kinds for pair in back.pairs]
                which.append(mask)
        return tuple(mask for mask in which if mask.any())

    @property
    def names(self) -> tuple[str, ...]:
        """Where each reading was made."""
        return tuple(name for kind in self.kinds for name in kind.names)

    @property
    def read_mm(self) -> Floats:
        """What was read, (readings,)."""
        return np.concatenate([kind.read_mm for kind in self.kinds])

    @property
    def scatter_mm(self) -> Floats:
        """One standard deviation of that, as it was told or is usual."""
        return np.concatenate([kind.scatter_mm for kind in self.kinds])

    @property
    def depends_on(self) -> tuple[object, ...]:
        """What a kept estimate hangs on besides the board."""
        return (self.places.points_mm, *(kind.depends_on for kind in self.kinds))

    def of(self, kind: Dials | SpringBack | None) -> Bools:
        """Which of the readings are of a kind, (readings,)."""
        return np.concatenate([np.full(len(each.names), each is kind) for each in self.kinds])

    def predicted_mm(self, values: Floats) -> Floats:
        """What would be read: the board assembled anew on coarse cells, its change put on the fine answer."""
        moved = self._moved_mm_N(values)
        return np.concatenate([kind.predicted_mm(moved, values) for kind in self.kinds])

    def slopes_mm(self, values: Floats) -> Floats:
        """Change of the readings for each unit of an unknown, (readings, unknowns)."""
        return self.slopes_of(self.slopes.slope_at(values), values)

    def slopes_of(self, slope_mm_N: Floats, values: Floats) -> Floats:
        """The same from slopes of the points (unknowns, points, points)."""
        moved = self._moved_mm_N(values)
        return np.vstack([kind.slopes_mm(moved, slope_mm_N, values) for kind in self.kinds])

    def _moved_mm_N(self, values: Floats) -> Floats:
        """By how much the compliance of the points differs from that of the board as described; what is read and its
        slopes ask for the same, one after the other.
        """
        key = values.tobytes()
        if key not in self._met:
            self._met.clear()
            self._met[key] = self._assembled_mm_N(values)
        return self._met[key]

    def _assembled_mm_N(self, values: Floats) -> Floats:
        body, points = self.places.body, self.places.points_mm
        there = compliance(changed(body, self.unknowns, values), points)
        local = sum(
            value * waves_at(body, unknown, points) for value, unknown in zip(values, self.unknowns) if unknown.waves
        )
        return np.asarray(there * np.exp(-between(np.asarray(local))) - self.slopes.compliance_mm_N)


def observed_of(ready: Instrument, *, as_described: bool = False) -> Observed:
    """What was read of an instrument's board.

    as_described   leave all of it aside

    Raises BoardError for a place off the board, SolveError where the bare board finds no balance.
    """
    board, body = ready.board, ready.board.needed_body("An estimate of the board")
    threads, _ = rib_threads(body, tuple(each for each in board.readings if board.knows(each.state)))
    trials = () if as_described else usable(ready)
    pressed = [place for trial in trials for place in (trial.places_mm, trial.read_mm)]
    none = np.zeros((0, 2))
    ends = np.vstack([none, *(thread.points_mm[-3:] for thread in threads)])
    places = Places.of(ready, np.vstack([none, *pressed]), body.outline.onto(ends))
    twice = not as_described and board.described and board.read_twice
    keys = ("days", "weather") * (bool(threads) or twice) + ("plate_mm", "gauge_deg") * (twice and board.gauged)
    keys += ("moisture_percent",) * any(wetter_percent(ready, each) for each in trials)
    unknowns = (*unknowns_of(body), *unknowns_of_readings(keys))
    slopes = sensitivity(ready, unknowns, places.points_mm)
    return Observed(
        unknowns=unknowns,
        places=places,
        slopes=slopes,
        dials=dials_of(ready, trials, places, unknowns, slopes) if trials else None,
        came_back=spring_back_of(ready, threads, places, unknowns, slopes) if twice else None,
    )
