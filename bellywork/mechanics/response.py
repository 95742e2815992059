"""How far a board sinks under forces at fixed places, large deflection included: what the strings' balance feels.

The full board answers with von Kármán's strains, too slow for a balance or a what-if. Its answer is kept instead at two
loads: none, and an anchor f₀ near the forces that will be asked for. With A the influence of small forces about the
unloaded board, u₀ the sink under f₀ and T the influence of small further forces there, any load is split as

    f = λ f₀ + g,   λ = f·C f₀ / f₀·C f₀   (C: the rows of A at the forces' own places; g does no work on f₀'s sink)
    u(f) = A f + λ² q₂ + λ³ q₃ + λ (T − A) g,   q₂ + q₃ = u₀ − A f₀,   2 q₂ + 3 q₃ = (T − A) f₀

which has the value and the slope of the full answer at f = 0 and at f = f₀ in the anchor's own direction, and its slope
at f₀ in every other. What is left out is of second order in g. tests/mechanics/test_response.py holds it against the
full board for loads of other size and other shape.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats, Ints, floats, keep

STRAIGHT_ON = 1.5  # of the anchor: beyond, the answer goes on as steeply as there; a cubic would turn round


@dataclass(frozen=True, kw_only=True, eq=False)
class Anchor:
    """The full answer at one load.

    force_N       f₀ at the places, (places,), down positive
    sink_mm       u₀ at the points, (points,)
    tangent_mm_N  T, (points, places)
    """

    force_N: Floats
    sink_mm: Floats
    tangent_mm_N: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Response:
    """Sink at points for forces at places, mm and N, down positive. The first points are the places themselves.

    (A part of a response, to be put behind another, may have points elsewhere: `followed_by`.)

    small_mm_N   A, (points, places): for small forces about the unloaded board
    anchor       the full answer at one load; None: the board answers in proportion
    """

    small_mm_N: Floats
    anchor: Anchor | None = None
    _second: Floats = field(init=False, repr=False)
    _third: Floats = field(init=False, repr=False)

    def __post_init__(self) -> None:
        small = floats(self.small_mm_N, (-1, -1), "small_mm_N")
        second = third = np.zeros(len(small))
        if self.anchor is not None:
            missing = self.anchor.sink_mm - small @ self.anchor.force_N
            steeper = (self.anchor.tangent_mm_N - small) @ self.anchor.force_N
            second, third = 3.0 * missing - steeper, steeper - 2.0 * missing
        keep(self, small_mm_N=small, _second=second, _third=third)

    @property
    def arrays(self) -> dict[str, Floats]:
        """Everything that it consists of, by name; `Response.of` makes it again."""
        if self.anchor is None:
            return {"small_mm_N": self.small_mm_N}
        return {"small_mm_N": self.small_mm_N, **vars(self.anchor)}

    @classmethod
    def of(cls, arrays: Mapping[str, Floats]) -> Response:
        """The response that consists of these `arrays`; others beside them are left alone."""
        names = [each.name for each in fields(Anchor)]
        anchor = Anchor(**{name: arrays[name] for name in names}) if names[0] in arrays else None
        return cls(small_mm_N=arrays["small_mm_N"], anchor=anchor)

    @cached_property
    def _towards(self) -> Floats:
        """What turns a load into its share of the anchor, λ."""
        assert self.anchor is not None
        load = self.small_mm_N[: self.places] @ self.anchor.force_N
        return np.asarray(load / float(self.anchor.force_N @ load))

    @cached_property
    def _more_mm_N(self) -> Floats:
        """T − A, by how much more the board gives about its anchor; what-ifs ask for it several times each."""
        assert self.anchor is not None
        return np.asarray(self.anchor.tangent_mm_N - self.small_mm_N)

    def followed_by(self, other: Response) -> Response:
        """With the points of another response, to the same forces and anchor, behind its own."""
        anchor = None
        if self.anchor is not None and other.anchor is not None:
            anchor = Anchor(
                force_N=self.anchor.force_N,
                sink_mm=np.concatenate([self.anchor.sink_mm, other.anchor.sink_mm]),
                tangent_mm_N=np.vstack([self.anchor.tangent_mm_N, other.anchor.tangent_mm_N]),
            )
        return Response(small_mm_N=np.vstack([self.small_mm_N, other.small_mm_N]), anchor=anchor)

    @property
    def places(self) -> int:
        """How many places there are."""
        return int(self.small_mm_N.shape[1])

    @property
    def softening(self) -> float:
        """How many times as much the board gives under the anchor's load as without load, at the place of each load,
        where most: about 1 for most boards, without bound where it is about to snap through. 1 without an anchor.

        >>> board = Response(small_mm_N=[[0.01]], anchor=Anchor(
        ...     force_N=np.array([100.0]), sink_mm=np.array([1.1]), tangent_mm_N=np.array([[0.012]])))
        >>> round(board.softening, 6)
        1.2
        """
        if self.anchor is None:
            return 1.0
        n = self.places
        return float(np.max(np.diag(self.anchor.tangent_mm_N[:n]) / np.diag(self.small_mm_N[:n])))

    def sink_mm(self, force_N: Floats) -> Floats:
        """Sink at the points under forces (places,).

        >>> board = Response(small_mm_N=[[0.01]], anchor=Anchor(
        ...     force_N=np.array([100.0]), sink_mm=np.array([1.1]), tangent_mm_N=np.array([[0.012]])))
        >>> [round(float(board.sink_mm(np.array([f]))[0]), 3) for f in (0.0, 50.0, 100.0, 101.0)]
        [0.0, 0.525, 1.1, 1.112]
        """
        return self._sink_mm(force_N, len(self.small_mm_N))

    def place_sink_mm(self, force_N: Floats) -> Floats:
        """Sink at the places alone under forces (places,)."""
        return self._sink_mm(force_N, self.places)

    def slope_mm_N(self, force_N: Floats) -> Floats:
        """How the sink at the places changes with the forces there: the exact slope of `place_sink_mm`.

        Not symmetric away from the anchor's own direction, where a term more comes in with λ.
        """
        count = self.places
        small = self.small_mm_N[:count]
        if self.anchor is None or (share := float(self._towards @ force_N)) <= 0.0:
            return small
        at = min(share, STRAIGHT_ON)
        more = self._more_mm_N[:count]
        along = 2.0 * at * self._second[:count] + 3.0 * at**2 * self._third[:count]
        along = along - at * (more @ self.anchor.force_N)
        if share < STRAIGHT_ON:
            along = along + more @ (force_N - share * self.anchor.force_N)
        return np.asarray(small + at * more + np.outer(along, self._towards))

    def near(self, force_N: Floats, share: float) -> bool:
        """Whether forces are so near the anchor that the sink differs by at most this share of its largest."""
        assert self.anchor is not None
        away = self.small_mm_N[: self.places] @ (force_N - self.anchor.force_N)
        return bool(np.max(np.abs(away)) <= share * np.max(self.anchor.sink_mm[: self.places]))

    def at(self, points: Ints) -> Response:
        """The same at some of its points, told by their rows; the places stand first among them."""
        anchor = self.anchor
        if anchor is not None:
            anchor = replace(anchor, sink_mm=anchor.sink_mm[points], tangent_mm_N=anchor.tangent_mm_N[points])
        return Response(small_mm_N=self.small_mm_N[points], anchor=anchor)

    def changed(self, change_mm_N: Floats) -> Response:
        """A board whose small sinks have changed by so much, (points, places); what large deflection adds stays."""
        anchor = self.anchor
        if anchor is not None:
            anchor = Anchor(
                force_N=anchor.force_N,
                sink_mm=anchor.sink_mm + change_mm_N @ anchor.force_N,
                tangent_mm_N=anchor.tangent_mm_N + change_mm_N,
            )
        return Response(small_mm_N=self.small_mm_N + change_mm_N, anchor=anchor)

    def anchored(self, force_N: Floats, sink_mm: Floats) -> Response:
        """The same, but with this sink under these forces: what it has beyond small forces grows with the square of λ,
        and what changes beside them is left as it is.
        """
        small, load = self.small_mm_N, self.small_mm_N[: self.places] @ force_N
        tangent = small if self.anchor is None else self.anchor.tangent_mm_N
        along = 2.0 * (sink_mm - small @ force_N) - (tangent - small) @ force_N
        tangent = tangent + np.outer(along, load / float(force_N @ load))
        return Response(small_mm_N=small, anchor=Anchor(force_N=force_N, sink_mm=sink_mm, tangent_mm_N=tangent))

    def softened(self, factor: float) -> Response:
        """A board so many times as soft all through: it sinks the same under so many times less force."""
        anchor = self.anchor
        if anchor is not None:
            anchor = Anchor(
                force_N=anchor.force_N / factor, sink_mm=anchor.sink_mm, tangent_mm_N=factor * anchor.tangent_mm_N
            )
        return Response(small_mm_N=factor * self.small_mm_N, anchor=anchor)

    def _sink_mm(self, force_N: Floats, count: int) -> Floats:
        # einsum, not @: numbers this few are done before a threaded library has woken its second thread
        small = np.einsum("ij,j->i", self.small_mm_N[:count], force_N)
        if self.anchor is None:
            return np.asarray(small)
        share = float(self._towards @ force_N)
        at = min(max(share, 0.0), STRAIGHT_ON)
        second, third = at**2 + 2.0 * at * (share - at), at**3 + 3.0 * at**2 * (share - at)
        if share < 0.0:
            second = third = 0.0
        aside = force_N - share * self.anchor.force_N
        other = np.einsum("ij,j->i", self._more_mm_N[:count], aside)
        return np.asarray(small + second * self._second[:count] + third * self._third[:count] + at * other)
