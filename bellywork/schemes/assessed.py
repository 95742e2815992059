"""What one rib scheme does to a board: mass, loads, sink, crown, stress, compliance, bearing, modes, damp."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import anchored, predicted_sink
from bellywork.balance.small_model import SmallModel
from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.body import Body, Rib
from bellywork.board.scheme import Scheme
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.masses import masses
from bellywork.mechanics.modes import modes
from bellywork.mechanics.response import Response
from bellywork.mechanics.solution import Solution
from bellywork.mechanics.strength import uses
from bellywork.schemes.evenness import Jump, jumps, unevenness
from bellywork.schemes.rule import body_with
from bellywork.seasons.year import season

DRY_RH, DAMP_RH = 30.0, 60.0
MODES = 10


@dataclass(frozen=True, kw_only=True)
class RibResult:
    """One rib under the strings; mm, N, N/mm², kg.

    span_mm                     its length inside the rim
    load_N                      what it carries of the strings' load (virtual work: its share of the strain energy)
    sink_mm                     greatest sink along it
    crown_mm, crown_left_mm     rise of its middle over its ends at the rim, bare and under the strings
    bending_MPa, bending_share  greatest stress along the grain more than 30 mm from its ends, and share of the lasting
                                strength; shear_MPa, shear_share likewise
    nearest_N, bare_sag_mm      the trade's rule: downforce of the notes nearest to it, pressed on the middle of the
                                bare rib on two edges, sag = P L³ / (4 E b h³) (common practice)
    """

    rib: str
    span_mm: float
    mass_kg: float
    load_N: float
    sink_mm: float
    crown_mm: float
    crown_left_mm: float
    bending_MPa: float
    bending_share: float
    shear_MPa: float
    shear_share: float
    nearest_N: float
    bare_sag_mm: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Damp:
    """What 60 % RH does against 30 %: change of net bearing per note, strung, and of each rib's bare crown, mm."""

    net_deg: Floats
    crown_mm: Mapping[str, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class SchemeResult:
    """A board with one scheme. Arrays have one entry per note.

    panel_load_N, bridges_load_N, rim_load_N   what these carry of the load; with the ribs' loads the whole of it
    compliance_mm_per_N                        sink of the bridge top under 1 N, midway between the pin rows
    unevenness                                 of each bridge: standard deviation of the compliance's logarithm
    modes_hz, modal_density_per_Hz             the bare board's lowest modes, without the mass of the strings
    damp                                       None where the board's making is not described or was not asked for
    """

    name: str
    body: Body
    ribs: tuple[RibResult, ...]
    ribs_kg: float
    mass_kg: float
    load_N: float
    panel_load_N: float
    bridges_load_N: float
    rim_load_N: float
    note: Ints
    compliance_mm_per_N: Floats
    unevenness: Mapping[str, float]
    jumps: tuple[Jump, ...]
    sink_mm: Floats
    front_deg: Floats
    rear_deg: Floats
    net_deg: Floats
    force_N: Floats
    modes_hz: Floats
    modal_density_per_Hz: float
    damp: Damp | None

    @property
    def worst_sink(self) -> int:
        """Place in the arrays of the note that sinks most."""
        return int(np.argmax(self.sink_mm))

    @property
    def bending_share(self) -> float:
        """The greatest share of its lasting bending strength that any rib uses."""
        return max((rib.bending_share for rib in self.ribs), default=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Base:
    """What every scheme is laid on: an instrument, and its bridge top led back to the bare board with its own ribs."""

    ready: Instrument
    bare: StringLine
    assumptions: tuple[str, ...]


def base_of(board: Board | Instrument) -> Base:
    """A board ready for schemes.

    Raises MissingLayer where string line, plan, scale or body are lacking.
    """
    ready, what = prepared(board), "Comparing rib schemes"
    whole = ready.board
    line = whole.needed_strings(what)
    whole.needed_plan(what)
    whole.needed_scale(what)
    whole.needed_body(what)
    bare = line if whole.measured_in is State.BARE else predicted_sink(ready).bare(line, whole.measured_in)
    return Base(
        ready=ready,
        bare=bare,
        assumptions=(
            *ready.assumptions,
            ready.climate_words,
            "In every scheme the bare bridge top stands where it stands now: what differs is what the board gives.",
            "Modes are those of the bare board, without the mass of the strings.",
            "Stress is held against short-term clear-wood strength times the factor for ten years, more than 30 mm "
            "from a rib's ends; the bare-beam rule (common practice) stands beside it.",
        ),
    )


def assessed(
    base: Base,
    scheme: Scheme,
    *,
    rough_cell_mm: float | None = None,
    with_modes: bool = True,
    with_damp: bool = False,
) -> SchemeResult:
    """What a scheme does to a board.

    rough_cell_mm   for a search: cells of this size, and the board taken to answer in proportion to its load
    with_modes   also the lowest modes; with_damp: also the change from 30 to 60 % RH, where the making is described

    Raises BoardError for a rule that does not fit the outline, SolveError where a solution does not hold.
    """
    body = body_with(base.ready.board.needed_body("A scheme"), scheme)
    ready = prepared(replace(base.ready.board, body=body), cell_mm=rough_cell_mm)
    body, pins = ready.board.needed_body("A scheme"), ready.board.needed_plan("A scheme").pins_mm
    model = ready.model
    compliance = model.compliance(pins)
    response = Response(small_mm_N=compliance)
    if rough_cell_mm is None:
        response = anchored(ready, base.bare, moisture_percent=ready.moisture_percent)
    settled = SmallModel(bare=base.bare, pull_N=ready.pull_N, response=response).settled()
    turned, n = bearing(settled.line), len(base.bare.note)
    force = settled.force_front_N + settled.force_rear_N
    solution = model.pressed(pins, np.concatenate([settled.force_front_N, settled.force_rear_N]))
    carried, weight = solution.carried_N(), masses(body, solution.discrete)
    middle = (compliance[:n, :n] + compliance[:n, n:] + compliance[n:, :n] + compliance[n:, n:]) / 4.0
    along = np.diag(middle).copy()
    frequencies = modes(model, count=MODES).frequencies_Hz if with_modes else np.zeros(0)
    return SchemeResult(
        name=scheme.name,
        body=body,
        ribs=_ribs(body, solution, carried, weight.ribs_kg, (pins[:n] + pins[n:]) / 2.0, force),
        ribs_kg=sum(weight.ribs_kg.values()),
        mass_kg=weight.total_kg,
        load_N=float(force.sum()),
        panel_load_N=carried.get("panel", 0.0),
        bridges_load_N=sum(load for part, load in carried.items() if part.startswith("bridge ")),
        rim_load_N=carried.get("rim", 0.0),
        note=base.bare.note,
        compliance_mm_per_N=along,
        unevenness=unevenness(base.bare, along),
        jumps=jumps(base.bare, along),
        sink_mm=(settled.sink_front_mm + settled.sink_rear_mm) / 2.0,
        front_deg=turned.front_deg,
        rear_deg=turned.rear_deg,
        net_deg=turned.net_deg,
        force_N=force,
        modes_hz=frequencies,
        modal_density_per_Hz=_density(frequencies),
        damp=_damp(ready) if with_damp and ready.board.making is not None else None,
    )


def bare_beam_sag_mm(load_N: float, rib: Rib, span_mm: float) -> float:
    """Sag of a bare rib of full section, pressed in the middle and lying on two edges: P L³ / (4 E b h³), mm.

    Common practice; 80 lb on a rib of 500 × 28 × 19 mm (E 10.3 GPa), the trade's own example:

    >>> from dataclasses import replace
    >>> from bellywork.board.woods import wood
    >>> rib = Rib(name="1", wood=replace(wood("sitka_spruce"), E_L=10300.0), start_mm=[0, 0], end_mm=[500, 0],
    ...           width_mm=28, height_mm=19, end_height_mm=(19, 19), feather_mm=(0, 0))
    >>> round(bare_beam_sag_mm(80 * 4.448, rib, 500), 1)
    5.6
    """
    return load_N * span_mm**3 / (4.0 * rib.wood.E_L * rib.width_mm * rib.height_mm**3)


def _ribs(
    body: Body,
    solution: Solution,
    carried: Mapping[str, float],
    mass: Mapping[str, float],
    places_mm: Floats,
    force_N: Floats,
) -> tuple[RibResult, ...]:
    stations = {each.name: each for each in solution.discrete.stations}
    used = {(use.part, use.what): use for use in uses(solution)}
    out = []
    there = [rib for rib in body.ribs if f"rib {rib.name}" in stations]
    nearest = _nearest(there, places_mm)
    lines = [stations[f"rib {rib.name}"].points_mm for rib in there]
    rises, sinks = _risen_and_sunk(body, solution, there, lines)
    for k, (rib, rise, sink) in enumerate(zip(there, rises, sinks)):
        part = f"rib {rib.name}"
        line = stations[part]
        span = float(line.weights_mm.sum())
        bending, shear = used[part, "bending"], used[part, "shear"]
        bare = float(rise[2] - rise[:2].mean())
        load = float(force_N[nearest == k].sum())
        out.append(
            RibResult(
                rib=rib.name,
                span_mm=span,
                mass_kg=mass[rib.name],
                load_N=carried.get(part, 0.0),
                sink_mm=float(sink.max()),
                crown_mm=bare,
                crown_left_mm=bare - float(sink[2] - sink[:2].mean()),
                bending_MPa=bending.stress_MPa,
                bending_share=bending.share,
                shear_MPa=shear.stress_MPa,
                shear_share=shear.share,
                nearest_N=load,
                bare_sag_mm=bare_beam_sag_mm(load, rib, span),
            )
        )
    return tuple(out)


def _risen_and_sunk(
    body: Body, solution: Solution, ribs: list[Rib], lines_mm: list[Floats]
) -> tuple[Floats, list[Floats]]:
    """Rise of both ends of each rib and of the middle between them, (ribs, 3), and sink there and along its line, asked
    of all ribs at once.
    """
    pieces = [rib.pieces_within(body.outline) for rib in ribs]
    ends = [rib.points_at(np.array([each.min(), each.max()])) for rib, each in zip(ribs, pieces)]
    three = np.array([[*both, both.mean(axis=0)] for both in ends]).reshape(-1, 3, 2)
    points = [np.vstack(each) for each in zip(three, lines_mm)]
    sink = solution.sink_mm(np.vstack([np.empty((0, 2)), *points]))
    rise = crown_surface(body).rise_mm(three.reshape(-1, 2)).reshape(-1, 3)
    return rise, np.split(sink, np.cumsum([len(each) for each in points]))


def _nearest(ribs: list[Rib], places_mm: Floats) -> Ints:
    """For each place the rib whose line passes nearest."""
    away = [rib.away_mm(places_mm) for rib in ribs]
    nearest: Ints = np.argmin(away, axis=0) if away else np.full(len(places_mm), -1)
    return nearest


def _density(frequencies: Floats) -> float:
    """Modes per Hz between the first and the last; NaN for fewer than two."""
    if len(frequencies) < 2:
        return float("nan")
    return float((len(frequencies) - 1) / (frequencies[-1] - frequencies[0]))


def _damp(ready: Instrument) -> Damp:
    year = season(ready, rh_percent=(DRY_RH, DAMP_RH))
    return Damp(
        net_deg=year.net_deg[1] - year.net_deg[0],
        crown_mm={rib.rib: float(rib.rise_mm[1] - rib.rise_mm[0]) for rib in year.ribs},
    )
