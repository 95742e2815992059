"""The set of a board as a field: what every rib has lost, known from all threads together.

What a thread lacks of what was made, less its load and with its damp, is the set along it, its own scatter, and where
the thread's ends were laid. The set is taken to be a Gaussian process (Rasmussen and Williams 2006, Gaussian Processes
for Machine Learning, Eqs. 2.23 to 2.26, 5.8 and 5.12; from memory) that is zero at the rim:

    cov(s(r, ξ), s(q, η)) = b_r b_q c_rq (1 − ξ²)(1 − η²) [α² (1 + ξη) + β_r β_q m(|ξ − η|/ℓ)]

r and q are ribs with their made rises b, ξ and η run from −1 to 1 between the rims. The
first term of the bracket is an arc and its skew, the second any other shape that is no shorter than ℓ: an S, a dish
under the bridge, the shape in which the load bends the rib; m is Matérn's of order 5/2, (1 + √5 d + 5d²/3) exp(−√5 d).
c falls with the distance of two ribs, and a part of it is each rib's own. So two states of one rib say together what
its shape is, neighbours say a little of each other, and of a rib that nobody read little is known, with a band that
says so. α and β, how much of its crown such a board and each of its ribs may have lost, and how much looser the gauge
is than was told are those under which the readings are most likely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board.arrays import Bools, Floats, Ints

LOCAL_LENGTH = 0.4  # ℓ; no source: tests/survey/test_set_field.py holds it against other shapes
NEIGHBOUR_MM, OWN_SHARE = 400.0, 0.4  # over which ribs' sets part company, and what is each rib's own; no source
USUAL_RADIUS_MM = 18_300.0  # 60 ft: what a flat rib may have been made to; common practice, no source
# α and β before anything was read, and one standard deviation of their logarithms; no source
LOST, BENT, WIDTH = 0.3, 0.1, 1.0
LOSTS = np.geomspace(0.03, 2.0, 12)
# What a whole table may have been written as, and by how much its heights are then to be multiplied; which share of its
# crown a rib may have left, and of how many ribs that is asked
WRITTEN = {"with their sign turned": -1.0, "in inches": 25.4, "in thousandths of an inch": 0.0254}
LEFT, LEAST_MADE_MM, LEAST_RIBS, FEW, MOST = (0.3, 1.15), 1.0, 4, 0.5, 0.7
CLUMSY = 4.0  # times its uncertainty that nobody's readings scatter
LIFT_MM = 50.0  # to which thread and blocks may have been laid, where the ends were read
ROUNDS, MEDIAN = 4, 0.6745  # of looseness; the median of a normal scatter's size over its standard deviation
DOUBTED = 0.01  # chance of a survey in which a good reading is set aside
UNDECIDED = 3.0  # log-likelihood (a ratio of twenty) that tells which of two readings of one place is wrong
SAME = 0.03  # of half a rib: the same place


@dataclass(frozen=True, kw_only=True, eq=False)
class RibLine:
    """A rib between the rims: its middle and its direction in plan, its length, and the rise it was made with, mm."""

    name: str
    middle_mm: Floats
    way: Floats
    length_mm: float
    made_mm: float

    @property
    def reach_mm(self) -> float:
        """The rise that it can lose, b: its own, or that of a usual crown where it was made flatter."""
        return max(self.made_mm, self.length_mm**2 / 8.0 / USUAL_RADIUS_MM)

    @property
    def ends_mm(self) -> Floats:
        """Start, middle and end in plan, (3, 2)."""
        return np.asarray(self.middle_mm + np.array([[-0.5], [0.0], [0.5]]) * self.length_mm * self.way)

    def along(self, points_mm: Floats) -> Floats:
        """ξ of points in plan (points, 2): −1 and 1 at the rims."""
        return np.asarray(2.0 * (points_mm - self.middle_mm) @ self.way / self.length_mm)

    def away_mm(self, points_mm: Floats) -> Floats:
        """Distance of points in plan from the rib between the rims."""
        reach = np.clip(self.along(points_mm), -1.0, 1.0)[:, None] * self.length_mm / 2.0
        return np.asarray(np.linalg.norm(points_mm - self.middle_mm - reach * self.way, axis=1))


@dataclass(frozen=True, kw_only=True, eq=False)
class Lacking:
    """What every reading of every thread lacks, one thread behind the other.

    rib, thread      which rib, and which thread, (readings,)
    at, ends         ξ of each reading (readings,), and of the ends of each thread's span (threads, 2)
    share            of its span at which a reading stands, (readings,)
    free             whether both ends of a thread were read, so that it may lie higher or aslant, (threads,)
    gone_mm          made, less load, with damp, less read, all over the line between the span's ends, (readings,)
    read_mm          height of the panel over that line as it was read, up
    scatter_mm       one standard deviation of each reading, as it was told
    doubt_mm         how far load less damp would move at each reading for a unit of each unknown, (readings, unknowns)
    covariance       of the unknowns
    shared           covariance of each unknown's error with the error of each reading, (unknowns, readings); one that
                     taught the unknown has some
    """

    rib: Ints
    thread: Ints
    at: Floats
    ends: Floats
    share: Floats
    free: Bools
    gone_mm: Floats
    read_mm: Floats
    scatter_mm: Floats
    doubt_mm: Floats
    covariance: Floats
    shared: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class SetField:
    """The set of a board's ribs.

    ribs       all of them, read or not
    lacking    what was read
    kept       the readings that count, (readings,); the others contradict them
    lost, bent α; β of each rib, (ribs,)
    looser     how much wider the readings scatter than was told; 1: that may be chance
    """

    ribs: tuple[RibLine, ...]
    lacking: Lacking
    kept: Bools
    lost: float
    bent: Floats
    looser: float
    _parts: _Parts
    _usual: float = BENT

    @classmethod
    def of(cls, ribs: Sequence[RibLine], lacking: Lacking) -> SetField:
        """The most likely field; a reading that all others contradict is set aside, one at a time, the worst first.

        Where two states of one place contradict each other and nothing else tells which is wrong, neither counts.
        """
        from scipy.special import ndtri

        every = tuple(ribs)
        limit = float(ndtri(1.0 - DOUBTED / 2.0 / len(lacking.at)))
        field = cls(ribs=every, lacking=lacking, kept=np.ones(len(lacking.at), bool), lost=LOST,
                    bent=np.full(len(every), BENT), looser=1.0,
                    _parts=_Parts.of(every, lacking)).likeliest()  # fmt: skip
        while True:
            off = np.abs(field.contradiction)
            worst = int(np.argmax(off))
            if off[worst] <= limit:
                return field.each_its_own()
            field = replace(field, kept=field.kept & ~field._wrong(worst, limit)).likeliest()

    def _wrong(self, worst: int, limit: float) -> Bools:
        """Which to set aside with the worst: that alone, another state's reading of its place instead, or both."""
        lacking, here = self.lacking, np.zeros(len(self.kept), bool)
        here[worst] = True
        twins = (
            (lacking.rib == lacking.rib[worst])
            & (lacking.thread != lacking.thread[worst])
            & (np.abs(lacking.at - lacking.at[worst]) < SAME)
            & (np.abs(self.contradiction) > limit)
        )
        likely = replace(self, kept=self.kept & ~here).log_likelihood
        for k in np.flatnonzero(twins):
            other = np.arange(len(here)) == k
            gain = replace(self, kept=self.kept & ~other).log_likelihood - likely
            if gain > UNDECIDED:
                here, likely = other, likely + gain
            elif gain > -UNDECIDED:
                here = here | other
        return here

    def likeliest(self) -> SetField:
        """The same with α and β under which the readings are most likely, and the looseness that they show.

        That is told by the median of what contradicts the others, over that of a normal scatter, which a few
        misreadings do not move; it must be beyond chance by twice its own standard deviation, 1.16/√n.
        """
        field, chance = replace(self, looser=1.0), 1.0 + 2.0 * 1.16 / np.sqrt(max(int(self.kept.sum()), 1))
        for _ in range(ROUNDS):
            field = field._shares()
            wide = float(np.median(np.abs(field.contradiction[self.kept])) / MEDIAN) * field.looser
            looser = wide if wide > chance else 1.0
            if abs(looser - field.looser) < 0.02:
                break
            field = replace(field, looser=looser)
        return field

    def _shares(self) -> SetField:
        """The same with the likeliest α, and β of all ribs alike."""
        field = _best(self, [replace(self, lost=float(share)) for share in LOSTS])
        alike = [replace(field, bent=np.full(len(self.ribs), share), _usual=float(share)) for share in LOSTS]
        return _best(field, alike)

    @cached_property
    def written(self) -> str:
        """How the whole table seems to have been read rather than as it was written, a key of WRITTEN; "": as it was.

        A board has some share of its crown left: where as written few ribs have one that a board can have, and
        otherwise nearly all have, read with a scatter that a reader can have, the table is not what it says. Ribs that
        were made all but flat tell nothing.
        """
        read = np.unique(self.lacking.rib)
        made = np.array([self.ribs[k].made_mm for k in read])
        telling = made > LEAST_MADE_MM
        if telling.sum() < LEAST_RIBS:
            return ""

        def likely(factor: float) -> float:
            """Share of ribs with a crown that a board can have; 0 where nobody reads with such a scatter."""
            gone = self.lacking.gone_mm + (1.0 - factor) * self.lacking.read_mm
            there = replace(self, lacking=replace(self.lacking, gone_mm=gone))
            if np.median(np.abs(there.contradiction[self.kept])) / MEDIAN > CLUMSY:
                return 0.0
            lost, *_ = there.told(read, np.zeros(len(read)), np.eye(len(read)))
            left = 1.0 - lost[telling] / made[telling]
            return float(np.mean((left > LEFT[0]) & (left < LEFT[1])))

        best = max(WRITTEN, key=lambda words: likely(WRITTEN[words]))
        return best if likely(1.0) < FEW and likely(WRITTEN[best]) >= MOST else ""

    def each_its_own(self) -> SetField:
        """The same with a β of its own for each rib that was read: one rib in an S says little of the others."""
        field = self
        for rib in np.unique(self.lacking.rib):
            own = [np.where(np.arange(len(self.ribs)) == rib, share, field.bent) for share in LOSTS]
            field = _best(field, [replace(field, bent=each) for each in own])
        return field

    @cached_property
    def log_likelihood(self) -> float:
        """Logarithm of how likely the readings are, with that of α and β before them."""
        gone, half = self.lacking.gone_mm[self.kept], np.linalg.cholesky(self._whole[np.ix_(self.kept, self.kept)])
        white = np.linalg.solve(half, gone)
        read = np.unique(self.lacking.rib)
        away = np.log([self.lost / LOST, self._usual / BENT, *(self.bent[read] / self._usual)])
        prior = -0.5 * float(away @ away) / WIDTH**2
        return float(prior - 0.5 * white @ white - np.sum(np.log(np.diag(half))) - 0.5 * len(gone) * np.log(2 * np.pi))

    @property
    def contradiction(self) -> Floats:
        """How far each reading is off what all others say of it, over how far it may be; 0 for those set aside."""
        out = np.zeros(len(self.kept))
        out[self.kept] = (self._sure @ self.lacking.gone_mm[self.kept]) / np.sqrt(np.diag(self._sure))
        return out

    @property
    def off_mm(self) -> Floats:
        """How far each reading lies above what all others say of it, (readings,)."""
        gone, out = self.lacking.gone_mm[self.kept], np.zeros(len(self.kept))
        out[self.kept] = -(self._sure @ gone) / np.diag(self._sure)
        said = self._whole[np.ix_(~self.kept, self.kept)] @ self._sure @ gone
        out[~self.kept] = said - self.lacking.gone_mm[~self.kept]
        return out

    def told(self, rib: ArrayLike, at: ArrayLike, weights: Floats) -> tuple[Floats, Floats, Floats]:
        """Sums of the set at places, and one standard deviation of each: of all that is not known, and of the readings'
        scatter alone, as if load and damp were known; (sums,) each, mm.

        rib, at    places: which rib and ξ, (places,)
        weights    (sums, places)
        """
        rib, at, lacking, kept = np.asarray(rib, dtype=np.int64), np.asarray(at, dtype=float), self.lacking, self.kept
        across = weights @ self._between(rib, at, *self._parts.sites) @ self._parts.over[kept].T
        gain = across @ self._sure
        own = np.einsum("sp,pq,sq->s", weights, self._between(rib, at, rib, at), weights)
        doubt = gain @ lacking.doubt_mm[kept]
        shared = 2.0 * np.sum(doubt * (gain @ lacking.shared[:, kept].T), axis=1)
        alone = own - np.sum(gain * across, axis=1) - np.einsum("sk,kl,sl->s", doubt, lacking.covariance, doubt)
        every = own - np.sum(gain * across, axis=1) + shared
        sure, least = (np.sqrt(np.maximum(each, 0.0)) for each in (every, alone))
        return gain @ lacking.gone_mm[kept], sure, least

    def narrowed(
        self, rib: ArrayLike, at: ArrayLike, weights: Floats, asked: tuple[ArrayLike, ArrayLike], scatter_mm: float
    ) -> Floats:
        """By how much one more reading would take from the variances of sums, were the ends of its thread held, mm².

        rib, at, weights   the sums, as in `told`
        asked              places at which it might be made: which rib and ξ
        scatter_mm         one standard deviation of it

        Gives (sums, places asked).
        """
        rib, at = np.asarray(rib, dtype=np.int64), np.asarray(at, dtype=float)
        there = np.asarray(asked[0], dtype=np.int64), np.asarray(asked[1], dtype=float)
        kept, over = self.kept, self._parts.over
        read = over[kept] @ self._between(*self._parts.sites, *there)
        across = weights @ self._between(rib, at, *self._parts.sites) @ over[kept].T
        left = weights @ self._between(rib, at, *there) - across @ self._sure @ read
        own = np.diag(self._between(*there, *there)) - np.einsum("rc,rq,qc->c", read, self._sure, read)
        return np.asarray(left**2 / (np.maximum(own, 0.0) + scatter_mm**2))

    def _between(self, rib: Ints, at: Floats, other: Ints, there: Floats) -> Floats:
        arcs, others = between(self.ribs, rib, at, other, there)
        # a rib that nobody read may be one that lost more, or less, than all that were: twice as much as these scatter,
        # and no more than was thought of any before one was read
        own = min(LOST, 2.0 * float(np.hypot(self.lost, np.median(self.bent))))
        unread = (rib[:, None] == other) & ~np.isin(rib, self.lacking.rib)[:, None]
        reach = np.array([each.reach_mm for each in self.ribs])[rib][:, None]
        bow = np.outer(1.0 - at**2, 1.0 - there**2)
        bent = np.outer(self.bent[rib], self.bent[other])
        return np.asarray(self.lost**2 * arcs + bent * others + unread * (own * reach) ** 2 * bow)

    @cached_property
    def _whole(self) -> Floats:
        """Covariance of all that was read, (readings, readings)."""
        parts = self._parts
        bent = self.bent[self.lacking.rib]
        lost = self.lost**2 * parts.arcs + np.outer(bent, bent) * parts.others
        return np.asarray(lost + self.looser**2 * parts.scatter + parts.rest)

    @cached_property
    def _sure(self) -> Floats:
        """Its inverse, of the readings that count."""
        return np.asarray(np.linalg.inv(self._whole[np.ix_(self.kept, self.kept)]))


def _best(field: SetField, others: Sequence[SetField]) -> SetField:
    """The one under which the readings are most likely; the first of equals."""
    return max((field, *others), key=lambda each: each.log_likelihood)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Parts:
    """What the covariance of all readings is made of.

    sites            all places that were read, then the ends of every thread: which rib, and ξ
    over             set over the line between a thread's ends from that of the sites, (readings, sites)
    arcs, others     of the set, α = 1 or β = 1
    scatter, rest    of the readings and of ends that touch; of thread and blocks laid freely, and of load and damp
    """

    sites: tuple[Ints, Floats]
    over: Floats
    arcs: Floats
    others: Floats
    scatter: Floats
    rest: Floats

    @classmethod
    def of(cls, ribs: tuple[RibLine, ...], lacking: Lacking) -> _Parts:
        n, threads, share = len(lacking.at), range(len(lacking.ends)), lacking.share
        first = np.array([np.flatnonzero(lacking.thread == k)[0] for k in threads], dtype=np.int64)
        sites = (
            np.concatenate([lacking.rib, np.repeat(lacking.rib[first], 2)]),
            np.concatenate([lacking.at, lacking.ends.ravel()]),
        )
        over, row = np.zeros((n, n + 2 * len(lacking.ends))), np.arange(n)
        over[row, row] = 1.0
        over[row, n + 2 * lacking.thread] = share - 1.0
        over[row, n + 2 * lacking.thread + 1] = -share
        mean = np.array([lacking.scatter_mm[lacking.thread == k].mean() for k in threads])
        ends = np.outer(1.0 - share, 1.0 - share) + np.outer(share, share)
        laid = (lacking.thread[:, None] == lacking.thread) * ends
        free = lacking.free[lacking.thread]
        arcs, others = (over @ each @ over.T for each in between(ribs, *sites, *sites))
        return cls(
            sites=sites,
            over=over,
            arcs=arcs,
            others=others,
            scatter=np.diag(lacking.scatter_mm**2) + laid * np.where(free, 0.0, mean[lacking.thread] ** 2),
            rest=laid * np.where(free, LIFT_MM**2, 0.0) + lacking.doubt_mm @ lacking.covariance @ lacking.doubt_mm.T,
        )


def between(ribs: Sequence[RibLine], rib: Ints, at: Floats, other: Ints, there: Floats) -> tuple[Floats, Floats]:
    """Prior covariances of the set at places of ribs, (places, others), mm²: arcs for α = 1, other shapes for β = 1."""
    reach = np.array([each.reach_mm for each in ribs])
    ways = np.array([each.way for each in ribs])
    way = (ways * np.sign(ways @ ways[0])[:, None]).mean(axis=0)
    across = np.array([each.middle_mm for each in ribs]) @ np.array([-way[1], way[0]]) / np.linalg.norm(way)
    near = np.exp(-np.abs(across[:, None] - across) / NEIGHBOUR_MM)
    size = np.outer(reach, reach) * ((1.0 - OWN_SHARE) * near + OWN_SHARE * np.eye(len(reach)))
    bow = np.outer(np.maximum(1.0 - at**2, 0.0), np.maximum(1.0 - there**2, 0.0))
    apart = np.sqrt(5.0) * np.abs(at[:, None] - there) / LOCAL_LENGTH
    bows = size[np.ix_(rib, other)] * bow
    return bows * (1.0 + np.outer(at, there)), bows * (1.0 + apart + apart**2 / 3.0) * np.exp(-apart)
