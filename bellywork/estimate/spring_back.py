"""What comes back when the load is taken off: ribs and bridge read under it and bare.

The board as it stands, its set and its crown drop out of the difference of two readings of one place. What is left is
the the load's sink u, which the wood makes larger while it rests, and what the air did between the two days:

    read = u(s (1 + a)) + d (1 + w)

s is what ribs settle, or recover, in so many days by published creep, over the elastic sink: in balance with its
strings the board is softer by as much. d is what the humidities are reckoned to do. a and w are unknowns of their own,
so that neither days nor weather are taken for softness.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.pairs import Pair, PairKind
from bellywork.estimate.pairs_at_notes import pairs_at_notes
from bellywork.estimate.pairs_at_ribs import pairs_at_ribs
from bellywork.estimate.places import FINE_OVER_COARSE, Places
from bellywork.estimate.sensitivity import Sensitivity
from bellywork.estimate.threads import RibThread
from bellywork.estimate.unknowns import OF_READINGS, Unknown
from bellywork.instrument import Instrument

STEP = 0.3  # of an unknown's own scatter


@dataclass(frozen=True, kw_only=True, eq=False)
class SpringBack:
    """All places read under a load and bare.

    pairs      they
    model      the board as described
    ratio      fine over coarse cells, (places, pins): pins, then start, middle and end of each thread's span
    rows       where these places stand among the points of the estimate
    sigma      one standard deviation of each unknown before anything was read
    unknown    which unknown each of those of readings is, by its key
    """

    pairs: tuple[Pair, ...]
    model: LoadedBoard
    ratio: Floats
    rows: Ints
    sigma: Floats
    unknown: Mapping[str, int]

    @classmethod
    def of(
        cls,
        pairs: tuple[Pair, ...],
        model: LoadedBoard,
        places: Places,
        unknowns: tuple[Unknown, ...],
        slopes: Sensitivity,
    ) -> SpringBack:
        """Pairs on a board whose compliance is known at places, with its slopes there."""
        rows = np.concatenate([np.arange(places.pins), places.rows(model.points_mm[model.ends.ravel()])])
        fine = model.sink.response.small_mm_N[model.places]
        coarse = slopes.compliance_mm_N[np.ix_(rows, rows[: places.pins])]
        return cls(
            pairs=pairs,
            model=model,
            ratio=np.clip(fine / coarse, *FINE_OVER_COARSE),
            rows=rows,
            sigma=np.array([unknown.sigma for unknown in unknowns]),
            unknown={each.key: k for k, each in enumerate(unknowns) if each.key in OF_READINGS},
        )

    @property
    def names(self) -> tuple[str, ...]:
        """Where each came back."""
        return tuple(each.name for each in self.pairs)

    @property
    def read_mm(self) -> Floats:
        """How far each rose when the load was taken off."""
        return np.array([each.read_mm for each in self.pairs])

    @property
    def scatter_mm(self) -> Floats:
        """One standard deviation of that."""
        return np.array([each.scatter_mm for each in self.pairs])

    @property
    def damp_mm(self) -> Floats:
        """What the humidities are reckoned to have added."""
        return np.array([each.damp_mm for each in self.pairs])

    @property
    def depends_on(self) -> tuple[object, ...]:
        """What a kept estimate hangs on."""
        told = [
            (each.kind.value, each.day[0].value, *each.day[1:], each.threads, each.note, each.plate, each.zero)
            for each in self.pairs
        ]
        return (self.read_mm, self.scatter_mm, self.damp_mm, told, self.rows)

    def aired_mm(self, values: Floats) -> Floats:
        """What the humidities added, (readings,)."""
        return np.asarray(self.damp_mm * (1.0 + values[self.unknown["weather"]]))

    def besides(self) -> dict[str, Floats]:
        """What each unknown of plate and gauge adds to the readings for one unit of it, by its key, (readings,)."""
        shares = {"plate_mm": [each.plate for each in self.pairs], "gauge_deg": [each.zero for each in self.pairs]}
        return {key: np.array(share) for key, share in shares.items() if key in self.unknown}

    def predicted_mm(self, moved_mm_N: Floats, values: Floats) -> Floats:
        """What would have come back with the points' compliance so much other than described."""
        sunk = self._sink_mm(moved_mm_N, float(values[self.unknown["days"]]))
        felt = [share * values[self.unknown[key]] for key, share in self.besides().items()]
        return np.asarray(sunk + self.aired_mm(values) + sum(felt, np.zeros(len(self.pairs))))

    def slopes_mm(self, moved_mm_N: Floats, slope_mm_N: Floats, values: Floats) -> Floats:
        """Change of that for each unit of an unknown, (readings, unknowns); slopes are (unknowns, points, points)."""
        days, settling = self.unknown["days"], float(values[self.unknown["days"]])
        here, steps = self._sink_mm(moved_mm_N, settling), STEP * self.sigma
        out = np.zeros((len(self.pairs), len(slope_mm_N)))
        for k, slope in enumerate(slope_mm_N):
            if slope.any():
                out[:, k] = (self._sink_mm(moved_mm_N + steps[k] * slope, settling) - here) / steps[k]
        out[:, days] = (self._sink_mm(moved_mm_N, settling + steps[days]) - here) / steps[days]
        out[:, self.unknown["weather"]] = self.damp_mm
        for key, share in self.besides().items():
            out[:, self.unknown[key]] = share
        return out

    def _sink_mm(self, moved_mm_N: Floats, settling: float) -> Floats:
        """The load's sink of each place, (readings,); `settling` is a."""
        change = self.ratio * moved_mm_N[np.ix_(self.rows, self.rows[: self.pins])]
        sunk = self.model.on([each.day for each in self.pairs if each.kind is not PairKind.PLATE], change,
                             settling=1.0 + settling)  # fmt: skip
        ends = np.arange(3 * len(self.model.threads)).reshape(-1, 3)  # with a change the panel is told there alone

        def of(pair: Pair) -> float:
            if pair.kind is PairKind.PLATE:
                return 0.0
            there = sunk[pair.day]
            if pair.threads is not None:
                return bow_mm(there.panel_mm[ends[pair.threads[1]]])
            return float((there.turned_mm if pair.kind is PairKind.BEARING else there.top_mm)[pair.note])

        return np.array([of(each) for each in self.pairs])

    @property
    def pins(self) -> int:
        """How many of the places are pins."""
        return int(self.ratio.shape[1])


def spring_back_of(
    ready: Instrument,
    threads: tuple[RibThread, ...],
    places: Places,
    unknowns: tuple[Unknown, ...],
    slopes: Sensitivity,
) -> SpringBack | None:
    """What came back of an instrument's board whose strings are described; None where no place was read under a load
    and bare.

    Raises SolveError where no balance is found.
    """
    model = LoadedBoard.of(ready, threads)
    pairs = (*pairs_at_ribs(model), *pairs_at_notes(model))
    return SpringBack.of(pairs, model, places, unknowns, slopes) if pairs else None
