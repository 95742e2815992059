"""Crown and its loss: what was made, less what strings and weather take, against what was read. The rest is set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import PredictedSink
from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.body import away_from_segment_mm
from bellywork.board.state import Reading, State
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, MissingLayer
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.rib_fit import RibFit, read_shape
from bellywork.estimate.spring_back import USUAL_DAYS, USUAL_HEIGHT_MM, freed_by
from bellywork.estimate.threads import RibThread, rib_threads
from bellywork.findings import Finding
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument, prepared
from bellywork.survey.stiffness import Softness, set_half_widths_mm, softness_of, taken

KILLER_OCTAVE = range(52, 76)  # octaves 5 and 6, C5 to B6
GAUGE_DEG = (
    0.3  # a bearing gauge that is off by more than this was misread, or the bridge top is worn (common practice)
)


@dataclass(frozen=True, kw_only=True, eq=False)
class RibLoss:
    """One rib in one state; mm. Rises are of the middle over the span's ends, crown up.

    fit                            what was read; state, date, rh_percent: when
    as_made_mm                     rise that was made, over the same span
    sink_mm                        what the load of the state takes of it
    moisture_mm                    what the humidity adds against that of the board's description
    expected_mm                    as made − sink + moisture
    set_mm, set_uncertainty_mm     expected less read, and its 95 % half width
    notes                          notes whose bridge pins lie nearest to this rib
    killer                         True where some of them are of octaves 5 and 6
    """

    rib: str
    state: State
    date: str
    rh_percent: float | None
    fit: RibFit
    as_made_mm: float
    sink_mm: float
    moisture_mm: float
    expected_mm: float
    set_mm: float
    set_uncertainty_mm: float
    notes: tuple[int, ...]
    killer: bool


@dataclass(frozen=True, kw_only=True)
class GaugeReading:
    """A bearing gauge at a note against the bearing by heights, degrees net; `misread` where they disagree."""

    note: int
    state: State
    net_deg: float
    by_heights_deg: float
    misread: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Survey:
    """An old board surveyed.

    ready                    the instrument as estimated
    ribs                     the killer octave first, then from the treble; the surest state of each rib is in `surest`
    softness                 the board's compliance against the model's
    plate_mm                 how far the plate rose at each place that was read strung and bare, and 95 % half width
    gauges                   bearing gauges against heights
    note                     notes of the string line
    set_mm, set_uncertainty_mm
                             set under each note's bridge pins, from the ribs beside it; NaN where none was read
    net_deg                  net bearing now, strung
    sink                     the board as it was measured to be soft
    bare                     string line of the bare board
    findings, assumptions    what to look at; what it stands on
    """

    ready: Instrument
    ribs: tuple[RibLoss, ...]
    threads: tuple[RibThread, ...]
    softness: Softness
    plate_mm: Mapping[str, tuple[float, float]]
    gauges: tuple[GaugeReading, ...]
    note: Ints
    set_mm: Floats
    set_uncertainty_mm: Floats
    net_deg: Floats
    sink: PredictedSink
    bare: StringLine
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]

    @property
    def board(self) -> Board:
        """The board as estimated."""
        return self.ready.board

    @property
    def surest(self) -> dict[str, RibLoss]:
        """Of each rib, in the order of `ribs`, the state in which its set is known best."""
        best: dict[str, RibLoss] = {}
        for rib in self.ribs:
            there = best.get(rib.rib)
            if there is None or rib.set_uncertainty_mm < there.set_uncertainty_mm:
                best[rib.rib] = rib
        return best


def surveyed(board: Board | Instrument, *, table: str | None = None, as_described: bool = False) -> Survey:
    """Crown, its loss and the bearing of a board from its readings.

    table          only the readings of this table, by its name; None: all
    as_described   take the board to be as soft as described, whatever was read of that

    Raises MissingLayer where string line, plan, scale, body or readings are lacking, BoardError for a table without
    any thread or straightedge.
    """
    described, what = prepared(board), "A survey of the crown"
    every = described.board.readings
    readings = tuple(each for each in every if table is None or each.table == table)
    if not readings:
        there = sorted({each.table for each in every})
        known = f" Tables of readings are: {', '.join(there)}." if there else ""
        raise MissingLayer(f"{what} needs readings: threads under the ribs, in readings.csv.{known}")
    if len(readings) < len(every):
        described = replace(described, board=replace(described.board, readings=readings), _kept={})
    threads, findings = rib_threads(described.board.needed_body(what), readings)
    if not threads:
        reasons = " ".join(str(finding) for finding in findings)
        raise BoardError(f"No thread or straightedge can be used for a crown. {reasons}".strip())
    estimate = estimated(described, as_described=as_described)
    model = LoadedBoard.of(estimate.ready, threads)
    soft, ribs = softness_of(estimate, model), _ribs(estimate, model)
    bare, strung = model.lines()
    sets = _at_notes(model, ribs)
    return Survey(
        ready=estimate.ready,
        ribs=ribs,
        threads=threads,
        softness=soft,
        plate_mm=_plate(readings),
        gauges=_gauges(readings, {State.BARE: bare, State.STRUNG: strung}),
        note=bare.note,
        set_mm=sets[0],
        set_uncertainty_mm=sets[1],
        net_deg=bearing(strung).net_deg,
        sink=model.sink,
        bare=bare,
        findings=findings,
        assumptions=(
            *estimate.ready.assumptions,
            *model.sink.assumptions,
            *_said(estimate.ready.board, soft, threads),
        ),
    )


def _ribs(estimate: Estimate, model: LoadedBoard) -> tuple[RibLoss, ...]:
    body, above, took = model.ready.board.needed_body("A survey"), _notes_above(model), taken(estimate, model)
    crown = crown_surface(body)
    fits = [
        # the load bends a rib otherwise than in an arc: the shape is fitted to what was read and what it took together
        read_shape(thread.fitted(freed_by(thread, sunk)), load)
        for thread, sunk, load in zip(model.threads, took.sunk_mm, took.load_mm)
    ]
    wide = set_half_widths_mm(estimate, took, np.array([fit.rise_uncertainty_mm for fit in fits]))
    out = []
    for k, (thread, fit) in enumerate(zip(model.threads, fits)):
        as_made = bow_mm(crown.rise_mm(thread.points_mm[-3:]))
        expected = as_made - float(took.load_mm[k]) + float(took.damp_mm[k])
        notes = above[thread.rib.name]
        out.append(
            RibLoss(
                rib=thread.rib.name,
                state=thread.state,
                date=thread.climate.date,
                rh_percent=thread.climate.rh_percent,
                fit=fit,
                as_made_mm=as_made,
                sink_mm=float(took.load_mm[k]),
                moisture_mm=float(took.damp_mm[k]),
                expected_mm=expected,
                set_mm=expected - fit.rise_mm,
                set_uncertainty_mm=float(wide[k]),
                notes=notes,
                killer=any(note in KILLER_OCTAVE for note in notes),
            )
        )
    return tuple(sorted(out, key=lambda rib: not rib.killer))


def _notes_above(model: LoadedBoard) -> dict[str, tuple[int, ...]]:
    """The notes whose pins lie nearest to each rib."""
    board = model.ready.board
    plan, line, body = board.needed_plan("A survey"), board.needed_strings("A survey"), board.needed_body("A survey")
    away = np.array([rib.away_mm(plan.middle_mm) for rib in body.ribs])
    nearest = np.argmin(away, axis=0)
    return {rib.name: tuple(line.note[nearest == k].tolist()) for k, rib in enumerate(body.ribs)}


def _at_notes(model: LoadedBoard, ribs: Sequence[RibLoss]) -> tuple[Floats, Floats]:
    """Set under each note's pins, straight between the two nearest ribs that were read, each with its arc."""
    places = model.ready.board.needed_plan("A survey").middle_mm
    span = {thread.rib.name: thread.points_mm[[-3, -1]] for thread in model.threads}
    surest: dict[str, RibLoss] = {}
    for rib in ribs:
        if rib.rib not in surest or rib.set_uncertainty_mm < surest[rib.rib].set_uncertainty_mm:
            surest[rib.rib] = rib
    names = list(surest)
    away = np.array([away_from_segment_mm(places, *span[name]) for name in names])
    found, width = np.full(len(places), np.nan), np.full(len(places), np.nan)
    for k, place in enumerate(places):
        near = np.argsort(away[:, k])[:2]
        weight = 1.0 / np.maximum(away[near, k], 1.0)
        weight = weight / weight.sum()
        arcs = []
        for m in near:
            start, end = span[names[m]]
            x = 2.0 * float((place - start) @ (end - start) / ((end - start) @ (end - start))) - 1.0
            arcs.append(max(1.0 - x * x, 0.0))
        found[k] = sum(w * a * surest[names[m]].set_mm for w, a, m in zip(weight, arcs, near))
        width[k] = np.sqrt(
            sum((w * a * surest[names[m]].set_uncertainty_mm) ** 2 for w, a, m in zip(weight, arcs, near))
        )
    return found, width


def _plate(readings: Sequence[Reading]) -> dict[str, tuple[float, float]]:
    """How far the plate rose at each place read strung and bare."""
    read = {(each.place, each.state): each for each in readings if each.kind == "plate_height"}
    out = {}
    for (place, state), bare in read.items():
        strung = read.get((place, State.STRUNG))
        if state is State.BARE and strung is not None:
            width = float(np.hypot(bare.uncertainty or USUAL_HEIGHT_MM, strung.uncertainty or USUAL_HEIGHT_MM))
            out[place] = (bare.value - strung.value, width)
    return out


def _gauges(readings: Sequence[Reading], lines: Mapping[State, StringLine]) -> tuple[GaugeReading, ...]:
    """Net bearing by gauge, front and rear together, against that by heights."""
    read = {(each.note, each.state, each.kind): each.value for each in readings if each.kind.endswith("_deg")}
    out = []
    for (note, state, kind), front in read.items():
        rear = read.get((note, state, "rear_deg"))
        if kind != "front_deg" or rear is None or note is None or state not in lines:
            continue
        line = lines[state]
        if note not in line.note.tolist():
            continue
        by_heights = float(bearing(line).net_deg[line.note.tolist().index(note)])
        net = front + rear
        out.append(
            GaugeReading(note=note, state=state, net_deg=net, by_heights_deg=by_heights,
                         misread=abs(net - by_heights) > GAUGE_DEG)
        )  # fmt: skip
    return tuple(sorted(out, key=lambda each: each.note))


def _said(board: Board, soft: Softness, threads: Sequence[RibThread]) -> tuple[str, ...]:
    said, air = [], {thread.climate.rh_percent for thread in threads}
    if soft.measured:
        said.append(
            "What came back is the load's sink and what the wood settles in the days between, by published creep of "
            f"spruce; where dates do not tell, {USUAL_DAYS:g} days are taken."
        )
    else:
        said.append(
            "No rib or bridge height was read both bare and under load: what a load takes is good to "
            f"{100.0 * soft.uncertainty:.0f} %, and a set read under it cannot be told from a softer board within that."
        )
    if board.making is None:
        said.append(
            "How the board was made is not told: no moisture change is reckoned between readings and description."
        )
    elif len(air) > 1:
        said.append(
            f"Humidity is taken to have done {soft.weather:.2f} ± {soft.weather_uncertainty:.2f} times what it is "
            "reckoned to do; the set of a reading at another humidity than the description's carries that doubt."
        )
    if board.making is not None and None in air:
        said.append("Readings without humidity are taken at that of the description.")
    said.append("The crown as made is that of the ribs' radii (or the measured crown) in the board folder.")
    return tuple(said)
