"""An instrument made ready once: every question starts here.

A board is completed to every note, put on its rim and brought to the moisture of its measurement once. What is dear
(the factored board, its making, its states at other moistures) is made when first asked for and kept.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, fields, replace
from functools import cached_property, partial
from threading import RLock
from typing import TYPE_CHECKING, Any, TypeVar
from weakref import WeakValueDictionary

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.body import Body
from bellywork.board.rims import rim_support
from bellywork.board.state import Climate, CrownMethod, Making
from bellywork.board.targets import PlaningRules
from bellywork.geometry.completed import completed
from bellywork.geometry.scale import pull_N
from bellywork.kept import fingerprint, kept
from bellywork.mechanics.climate import USUAL_TEMPERATURE_C, body_in, moisture_in
from bellywork.mechanics.moisture import equilibrium_moisture_percent
from bellywork.mechanics.response import Anchor, Response

if TYPE_CHECKING:
    from bellywork.mechanics.assembly import Matrix
    from bellywork.mechanics.discrete import Discrete
    from bellywork.mechanics.large import LargeState
    from bellywork.mechanics.making import Belly
    from bellywork.mechanics.model import BoardModel

USUAL_RH_PERCENT = 42.0  # where the measurement names no humidity
LARGE_CELL_MM = 44.0  # large deflection is followed on a coarser grid: tests/mechanics/test_response.py has the error
RIM_RANGE = ("clamped", "hinged")
ALL_BUT = 1e-4  # of a load
PUSH_ROUNDS = 10
PUSH_TOLERANCE_MM = 1e-6

Made = TypeVar("Made")


class Bellies:
    """Boards made, as long as anything holds them, and the last one: other strings on the same wood are the same belly.

    A belly is seconds of work and some two hundred megabytes, so no more of them are held than are in use.
    """

    def __init__(self) -> None:
        self._alive: WeakValueDictionary[str, Belly] = WeakValueDictionary()
        self._last: Belly | None = None

    def of(self, body: Body, making: Making) -> Belly:
        """The board made so, on the grid of large movements. Raises BoardError and SolveError as `made` does."""
        from bellywork.mechanics.making import made

        key = fingerprint((body, making, LARGE_CELL_MM))
        belly = self._alive.get(key)
        if belly is None:
            self._last = None  # let go before the next one takes its room
            belly = self._alive[key] = made(body, making, cell_mm=LARGE_CELL_MM)
        self._last = belly
        return belly


BELLIES = Bellies()


@dataclass(frozen=True, kw_only=True, eq=False)
class Instrument:
    """A board ready to be asked.

    board         with every note, on its rim, its woods at the moisture of the measurement
    assumptions   what was assumed on the way, in sentences
    cell_mm       cell size of `model`; None: the default
    fresh         True: answers kept from earlier runs are not used
    """

    board: Board
    assumptions: tuple[str, ...]
    cell_mm: float | None = None
    fresh: bool = False
    _kept: dict[Hashable, Any] = field(default_factory=dict, repr=False)

    def __getstate__(self) -> dict[str, Any]:
        """To another process it goes without what it keeps, which is large and soon made again."""
        return {**{each.name: getattr(self, each.name) for each in fields(self)}, "_kept": {}}

    def kept(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """What stands under this key; made the first time, while other threads that ask for it wait."""
        if key not in self._kept:
            with self._kept.setdefault(("lock", key), RLock()):
                if key not in self._kept:
                    self._kept[key] = make()
        made: Made = self._kept[key]
        return made

    def kept_on_disk(
        self, what: str, also: object, make: Callable[[], Mapping[str, Floats]], *, of_strings: bool = True
    ) -> dict[str, Floats]:
        """Arrays that stand in the user's cache folder from an earlier run on this very board; made where they do not.

        also         what they depend on besides the board
        of_strings   whether they depend on the strings and their heights as well: False for what the wood alone does,
                     which then stands while heights are typed
        """
        if self.fresh:
            return dict(make())
        # name, targets, readings, trials and the shop's others change nothing about the mechanics
        board = replace(
            self.board, name="", targets=(), rules=PlaningRules(), readings=(), trials=(), scan_points=(), shop=None
        )
        if not of_strings:
            board = replace(board, strings=None, scale=None, sinks=(), preload=())
        return kept(what, (board, self.cell_mm, LARGE_CELL_MM, also), make)

    @property
    def rim_words(self) -> str:
        """How the rim holds the panel: one name, or the names of its stretches."""
        return rim_words(self.board.needed_body("The rim"))

    @property
    def temperature_C(self) -> float:
        """Temperature of the measurement; the usual one where it is not noted."""
        told = self.board.climate.temperature_C
        return USUAL_TEMPERATURE_C if told is None else told

    @property
    def rh_percent(self) -> float:
        """Relative humidity of the measurement; the usual one where it is not noted."""
        told = self.board.climate.rh_percent
        return USUAL_RH_PERCENT if told is None else told

    @property
    def moisture_percent(self) -> float:
        """Moisture of the wood at the measurement: as told, else what its humidity leads to."""
        climate = replace(self.board.climate, rh_percent=self.rh_percent, temperature_C=self.temperature_C)
        moisture = moisture_in(climate)
        assert moisture is not None
        return moisture

    @property
    def climate_words(self) -> str:
        """A sentence on the moisture at which the woods' stiffness is taken."""
        if moisture_in(self.board.climate) is None:
            return "No humidity is noted: the woods' stiffness is taken as their tables or the folder give it."
        return f"The woods' stiffness is that at {self.moisture_percent:.1f} % moisture."

    @cached_property
    def pull_N(self) -> Floats:
        """Tension of all the strings of each note together, at pitch. Raises MissingLayer without scale or strings."""
        return pull_N(self.board.needed_scale("Tension"), self.board.needed_strings("Tension"))

    @property
    def model(self) -> BoardModel:
        """The board for small movements. Raises MissingLayer without a body."""
        from bellywork.mechanics.model import on_rim

        return self.kept("model", lambda: on_rim(*self._unheld))

    @property
    def _unheld(self) -> tuple[Matrix, Discrete]:
        """The stiffness of the same board without its rim, and what it is made of."""
        from bellywork.mechanics.discrete import discretised
        from bellywork.mechanics.model import DEFAULT_CELL_MM
        from bellywork.mechanics.unheld import without_rim

        def make() -> tuple[Matrix, Discrete]:
            body = self.board.needed_body("The mechanics of the board")
            discrete = discretised(body, self.cell_mm or DEFAULT_CELL_MM)
            return without_rim(discrete), discrete

        return self.kept("unheld", make)

    @cached_property
    def coarse_model(self) -> BoardModel:
        """The same as `model` on the grid on which large movements are followed."""
        from bellywork.mechanics.model import BoardModel, assembled

        belly = self.belly
        if belly.making.method is CrownMethod.COMPRESSION:  # made flat: its own linear board lacks the crown of `model`
            return assembled(self.board.needed_body("The mechanics of the board"), cell_mm=LARGE_CELL_MM)
        plain = belly.plain
        return BoardModel(discrete=belly.board.discrete, numbering=plain.numbering, factor=plain.factor)

    @property
    def belly(self) -> Belly:
        """The board for large movements, made as it was made; where that is not told, free of stress as measured.

        Raises MissingLayer without a body, BoardError and SolveError as `made` does.
        """
        here = self.moisture_percent
        free = Making(method=CrownMethod.RIB, panel_moisture_percent=here, glued_in_moisture_percent=here)
        body = self.board.needed_body("The mechanics of the board")
        return self.kept("belly", lambda: BELLIES.of(body, self.board.making or free))

    def bare_state(self, moisture_percent: float) -> LargeState:
        """The bare board at a moisture, %, followed from the nearest one met before.

        Raises BoardError outside 0 to 30 %, SolveError where the board would snap through on the way.
        """
        met: dict[float, LargeState] = self.kept("bare states", dict)
        if moisture_percent not in met:
            with self.kept("bare states, one at a time", RLock):  # who leads them on ahead is waited for
                if moisture_percent not in met:
                    here = self.moisture_percent
                    if not met and moisture_percent != here:
                        self.bare_state(here)
                    near = min(met, key=lambda each: abs(each - moisture_percent), default=None)
                    start = None if near is None else met[near]
                    met[moisture_percent] = self.belly.at_moisture(moisture_percent, start)
        return met[moisture_percent]

    def moisture_at(self, rh_percent: float, temperature_C: float | None = None) -> float:
        """Moisture that the wood comes to at a humidity, %; at that of the measurement, the measurement's own."""
        if rh_percent == self.rh_percent and temperature_C in (None, self.temperature_C):
            return self.moisture_percent
        return equilibrium_moisture_percent(rh_percent, self.temperature_C if temperature_C is None else temperature_C)

    def response(self, places_mm: Floats, *, moisture_percent: float, anchor_N: Floats | None = None) -> Response:
        """Sink at places under forces at the places, at a moisture.

        anchor_N   forces near those that will be asked for: there the large deflection is exact; None: for small forces

        Small forces about the board free of stress are answered on the fine grid. What large deflection, the stress of
        its making and another moisture change about that is taken from the coarser one and added.

        Raises BoardError for a place off the board, SolveError where no balance is found.
        """
        return self._response(places_mm, None, moisture_percent=moisture_percent, anchor_N=anchor_N)

    def extended(
        self, response: Response, places_mm: Floats, points_mm: Floats, *, moisture_percent: float
    ) -> Response:
        """A response at places with the sink at further points (points, 2) of the panel behind it."""
        if not len(points_mm):
            return response
        force = None if response.anchor is None else response.anchor.force_N
        here = self._response(places_mm, points_mm, moisture_percent=moisture_percent, anchor_N=force)
        return response.followed_by(here)

    def alike(self, like: Response, places_mm: Floats, *, moisture_percent: float, anchor_N: Floats) -> Response:
        """A response of nearly this board, led to the sink that this one has under an anchor's forces at the places.

        How the sink changes about the anchor is left as it is: much cheaper than `response`, and exact at the anchor
        all the same.
        """
        sink = self._anchored_mm(places_mm, None, moisture_percent, anchor_N)
        return like.anchored(anchor_N, sink)

    def loaded_met(self, places_mm: Floats, moisture_percent: float) -> dict[bytes, LargeState]:
        """Balances met under pushes at places at a moisture, by their forces, the last one last."""
        return self.kept(("loaded", moisture_percent, places_mm.tobytes()), dict)

    def loaded_beside(self, places_mm: Floats, moisture_percent: float) -> tuple[LargeState, LargeState] | None:
        """The last balance under pushes at places at the nearest other moisture on this side of the measurement's, and
        that of the bare board there. The other side may be led meanwhile: nothing is to hang on how far that got.
        """
        bare: dict[float, LargeState] = self.kept("bare states", dict)
        here = self.moisture_percent
        beside = [each for each in list(bare) if (each - here) * (moisture_percent - here) >= 0.0]
        met = [each for each in beside if each != moisture_percent and self.loaded_met(places_mm, each)]
        if not met:
            return None
        near = min(met, key=lambda each: abs(each - moisture_percent))
        return next(reversed(self.loaded_met(places_mm, near).values())), bare[near]

    def _response(
        self, places_mm: Floats, points_mm: Floats | None, *, moisture_percent: float, anchor_N: Floats | None
    ) -> Response:
        """Sink at points, None: at the places themselves."""
        with ThreadPoolExecutor(1) as aside:  # the fine grid knows nothing of the making, which takes as long
            on_fine = aside.submit(self._fine_mm_N, places_mm, points_mm)
            board, bare = self.belly.board, self.bare_state(moisture_percent)
            fine = on_fine.result()
        at = places_mm if points_mm is None else points_mm

        def large(state: LargeState) -> Floats:
            """What large deflection and stress add about a balance."""
            if points_mm is None:
                there = board.compliance(state, places_mm)
            else:
                there = board.influence(state, places_mm, points_mm)
            return there - self._coarse_mm_N(places_mm, points_mm)

        def unloaded() -> Floats:
            # without any stress the coarse board is the plain one, and nothing is to be added
            if not bare.fields.any():
                return fine
            board.tangent_at(bare)  # known from here on: loads are led from it
            return fine + large(bare)

        small = self.kept(("small", moisture_percent, places_mm.tobytes(), at.tobytes()), unloaded)
        if anchor_N is None:
            return Response(small_mm_N=small)
        sink = self._anchored_mm(places_mm, points_mm, moisture_percent, anchor_N)
        loaded = self.loaded_state(places_mm, anchor_N, moisture_percent=moisture_percent)
        anchor = Anchor(force_N=anchor_N, sink_mm=sink, tangent_mm_N=fine + large(loaded))
        return Response(small_mm_N=small, anchor=anchor)

    def _anchored_mm(
        self, places_mm: Floats, points_mm: Floats | None, moisture_percent: float, force_N: Floats
    ) -> Floats:
        """Sink of points, None: of the places themselves, under forces at the places at a moisture, mm."""
        board, at = self.belly.board, places_mm if points_mm is None else points_mm
        loaded = self.loaded_state(places_mm, force_N, moisture_percent=moisture_percent)
        sink = board.sink_mm(loaded.fields, at) - board.sink_mm(self.bare_state(moisture_percent).fields, at)
        return np.asarray(sink + self.finer_mm_N(places_mm, points_mm) @ force_N)

    def _fine_mm_N(self, places_mm: Floats, points_mm: Floats | None) -> Floats:
        from bellywork.mechanics.model import compliance

        def at_places() -> Floats:
            known: BoardModel | None = self._kept.get("model")
            return compliance(*self._unheld, places_mm) if known is None else known.compliance(places_mm)

        return self._linear_mm_N("fine", lambda: self.model, at_places, places_mm, points_mm)

    def _coarse_mm_N(self, places_mm: Floats, points_mm: Floats | None) -> Floats:
        return self._linear_mm_N(
            "coarse",
            lambda: self.coarse_model,
            lambda: self.coarse_model.compliance(places_mm),
            places_mm,
            points_mm,
        )

    def _linear_mm_N(
        self,
        grid: str,
        model: Callable[[], BoardModel],
        at_places: Callable[[], Floats],
        places_mm: Floats,
        points_mm: Floats | None,
    ) -> Floats:
        """Small sink of points, None: of the places themselves, for unit forces at places without any stress."""
        if points_mm is None:

            def small() -> dict[str, Floats]:
                return {"small": at_places()}

            what = f"{grid} grid"
            return self.kept(
                (grid, places_mm.tobytes()),
                lambda: self.kept_on_disk(what, places_mm, small, of_strings=False)["small"],
            )
        which = (grid, places_mm.tobytes(), points_mm.tobytes())
        return self.kept(which, lambda: model().influence(places_mm, points_mm))

    def finer_mm_N(self, places_mm: Floats, points_mm: Floats | None = None) -> Floats:
        """What the fine grid adds to the sink of points on the coarser one for small forces at places, without any
        stress: (points, places), mm/N; without points that of the places themselves.

        Large movements are followed on the coarser grid, and this is added to them for the forces that press.
        """

        def added() -> dict[str, Floats]:
            return {"finer": self._fine_mm_N(places_mm, points_mm) - self._coarse_mm_N(places_mm, points_mm)}

        which = (places_mm, places_mm if points_mm is None else points_mm)
        key = ("finer", *(each.tobytes() for each in which))
        return self.kept(key, lambda: self.kept_on_disk("finer", which, added, of_strings=False)["finer"])

    def rim_changes_mm_N(self, places_mm: Floats, points_mm: Floats) -> dict[str, Floats]:
        """How much further points sink for small forces at places on each rim of the range: (points, places), mm/N.

        Raises MissingLayer without a body, BoardError for a place off the board.
        """
        return self.rims_ahead(places_mm, points_mm).result()

    def rims_ahead(self, places_mm: Floats, points_mm: Floats) -> Future[dict[str, Floats]]:
        """What `rim_changes_mm_N` gives, begun in a thread of its own."""

        def begin() -> Future[dict[str, Floats]]:
            which, aside = (places_mm, points_mm), ThreadPoolExecutor(1)
            made = partial(self.kept_on_disk, of_strings=False)
            begun = aside.submit(made, "rims", which, lambda: self._rim_changes_mm_N(*which))
            aside.shutdown(wait=False)  # no more is asked of it; what was begun goes on
            return begun

        return self.kept(("rims", places_mm.tobytes(), points_mm.tobytes()), begin)

    def _rim_changes_mm_N(self, places_mm: Floats, points_mm: Floats) -> dict[str, Floats]:
        from bellywork.mechanics.model import compliance, on_rim

        same = np.array_equal(places_mm, points_mm)
        own = self._fine_mm_N(places_mm, None if same else points_mm)
        outline = self.board.needed_body("The range over the rim").outline
        unheld, discrete = self._unheld
        changes = {}
        for rim in RIM_RANGE:
            other = unheld, discrete.held_by(outline.supported(rim_support(rim)))
            there = compliance(*other, places_mm) if same else on_rim(*other).influence(places_mm, points_mm)
            changes[rim] = there - own
        return changes

    def loaded_state(self, places_mm: Floats, forces_N: Floats, *, moisture_percent: float) -> LargeState:
        """The board under pushes at a moisture, on the coarser grid. Raises SolveError where it would snap through."""
        board, bare = self.belly.board, self.bare_state(moisture_percent)
        met = self.loaded_met(places_mm, moisture_percent)
        if (load := forces_N.tobytes()) not in met:
            # the load met last is nearly this one where a balance is sought
            start, free = next(reversed(met.values()), bare), self.belly.free(moisture_percent)
            loads = start.inner.forces, board.pushes(places_mm, forces_N)
            met[load] = board.followed(start, load=loads, free=(free, free))
        return met[load]

    def loaded_fields(self, places_mm: Floats, forces_N: Floats, *, moisture_percent: float) -> Floats:
        """The movement (5, nodes) of `loaded_state`; where the balance met last is all but that, it is corrected by its
        tangent, which is off by less of so little than any balance is.
        """
        met = self.loaded_met(places_mm, moisture_percent)
        if met:
            load, state = next(reversed(met.items()))
            more = forces_N - np.frombuffer(load)
            if np.abs(more).sum() <= ALL_BUT * np.abs(forces_N).sum():
                board = self.belly.board
                return state.fields + board.corrected(state, board.pushes(places_mm, more))
        return self.loaded_state(places_mm, forces_N, moisture_percent=moisture_percent).fields

    def pushed_mm(self, places_mm: Floats, forces_N: Floats, points_mm: Floats) -> Floats:
        """Sink at points of the bare board, as measured, under pushes, with large deflection; mm, down positive.

        Raises BoardError for a place off the board, SolveError where it would snap through.
        """
        fine = self.kept(
            ("pushed", places_mm.tobytes(), points_mm.tobytes()), lambda: self.model.influence(places_mm, points_mm)
        )
        large, here = self.belly.board, self.moisture_percent
        loaded = self.loaded_state(places_mm, forces_N, moisture_percent=here)
        sink = large.sink_mm(loaded.fields, points_mm) - large.sink_mm(self.bare_state(here).fields, points_mm)
        plain = self.coarse_model.influence(places_mm, points_mm)
        return np.asarray(fine @ forces_N + (sink - plain @ forces_N))

    @cached_property
    def push_forces_N(self) -> Floats:
        """Force of everything that presses on the preloaded board: as given, or so great that its place sinks by its
        `sink_mm` while all press at once.

        Raises SolveError where no force does that.
        """
        pushes = self.board.preload
        force = np.array([push.force_N or 0.0 for push in pushes])
        forced = np.array([push.force_N is None for push in pushes])
        if not np.any(forced):
            return force
        places = np.array([push.place_mm for push in pushes])
        wanted = np.array([push.sink_mm or 0.0 for push in pushes])[forced]
        stiff = np.linalg.inv(self.model.influence(places, places)[np.ix_(forced, forced)])
        sink = self.model.influence(places, places) @ force
        for _ in range(PUSH_ROUNDS):
            lacking = wanted - sink[forced]
            if np.max(np.abs(lacking)) <= PUSH_TOLERANCE_MM:
                return force
            force[forced] += stiff @ lacking
            sink = self.pushed_mm(places, force, places)
        return force


def prepared(
    board: Board | Instrument, *, rim: str | None = None, cell_mm: float | None = None, fresh: bool = False
) -> Instrument:
    """A board made ready; one that is ready comes back as it is.

    rim       a rim support that takes the place of the board's own, all round
    cell_mm   size of the cells on which small movements are computed; None: the default
    fresh     True: answers kept from earlier runs are not used

    Raises BoardError where scale or plan does not reach a note of the string line.
    """
    if isinstance(board, Instrument):
        return board if rim is None else prepared(board.board, rim=rim, cell_mm=cell_mm, fresh=board.fresh)
    said: tuple[str, ...] = ()
    if board.strings is not None:
        done = completed(board)
        board, said = done.board, done.assumptions
    if board.body is not None:
        board = replace(board, body=_body_now(on_rim(board.body, rim), board.climate))
    return Instrument(board=board, assumptions=said, cell_mm=cell_mm, fresh=fresh)


def on_rim(body: Body, rim: str | None) -> Body:
    """The body with its outline held in one named way all round; unchanged where `rim` is None."""
    return body if rim is None else replace(body, outline=body.outline.supported(rim_support(rim)))


def rim_words(body: Body) -> str:
    """How the rim holds the panel, in words: one name, or the names of its stretches."""
    names = list(dict.fromkeys(side.name for side in body.outline.support))
    return names[0] if len(names) == 1 else " and ".join([", ".join(names[:-1]), names[-1]]) + " by stretches"


def _body_now(body: Body, climate: Climate) -> Body:
    """The body with its woods at the moisture of the measurement; as their tables give them where none is noted."""
    moisture = moisture_in(climate)
    return body if moisture is None else body_in(body, moisture)
