"""Crown and its loss: what was made, less what strings and weather take, against what was read. The rest is set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.sink import PredictedSink
from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.state import Reading, State, nets_read
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, MissingLayer
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import LoadedBoard
from bellywork.estimate.pairs_at_notes import plate_rose
from bellywork.estimate.settled import USUAL_DAYS
from bellywork.estimate.threads import RibThread, rib_threads
from bellywork.findings import Finding
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument, prepared
from bellywork.survey.lacking import lacking_of, rib_lines
from bellywork.survey.rib_shape import FIRST, LAST, MIDDLE, SHARES, RibShape, bent, shape_of
from bellywork.survey.set_field import SetField
from bellywork.survey.stiffness import Softness, Taken, softness_of, taken

KILLER_OCTAVE = range(52, 76)  # octaves 5 and 6, C5 to B6
GAUGE_DEG = (
    0.3  # a bearing gauge that is off by more than this was misread, or the bridge top is worn (common practice)
)
# Of values at SHARES: over the line between the ends; their odd part; over an arc through middle and ends
OVER_LINE = np.eye(len(SHARES))
OVER_LINE[:, 0] -= 1.0 - SHARES
OVER_LINE[:, -1] -= SHARES
ODD = (OVER_LINE[[LAST]] - OVER_LINE[[FIRST]]) / 0.75
OFF_ARC = OVER_LINE - np.outer(4.0 * SHARES * (1.0 - SHARES), OVER_LINE[MIDDLE])


@dataclass(frozen=True, kw_only=True, eq=False)
class RibLoss:
    """One rib in one state; mm. Rises are of the middle over the span's ends, crown up.

    read                           its shape as it was read; state, date, rh_percent: when
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
    read: RibShape
    as_made_mm: float
    sink_mm: float
    moisture_mm: float
    expected_mm: float
    set_mm: float
    set_uncertainty_mm: float
    notes: tuple[int, ...]
    killer: bool


@dataclass(frozen=True, kw_only=True)
class UnreadRib:
    """A rib that nobody read; mm.

    as_made_mm                     rise that was made, between the rims
    set_mm, set_uncertainty_mm     set there as the ribs that were read let it be guessed, and its 95 % half width
    notes, killer                  as in RibLoss
    """

    rib: str
    as_made_mm: float
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

    estimate                 of the board
    ribs                     the killer octave first, then from the treble; the surest state of each rib is in `surest`
    unread                   ribs that were not read, in the order of ribs.csv
    field                    the set of all ribs, from all readings together
    softness                 the board's compliance against the model's
    plate_mm                 how far the plate rose at each place that was read strung and bare, and 95 % half width
    gauges                   bearing gauges against heights
    note                     notes of the string line
    set_mm, set_uncertainty_mm
                             set under each note's bridge pins, from the ribs beside it
    net_deg                  net bearing now, strung
    sink                     the board as it was measured to be soft: at the pins, at each thread's readings, start,
                             middle and end, then at start, middle and end of each rib of `unread`
    bare                     string line of the bare board
    findings, assumptions    what to look at; what it stands on
    """

    estimate: Estimate
    ribs: tuple[RibLoss, ...]
    unread: tuple[UnreadRib, ...]
    field: SetField
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
    def ready(self) -> Instrument:
        """The instrument as estimated."""
        return self.estimate.ready

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
    lines = rib_lines(estimate.ready.board.needed_body(what))
    read = {thread.rib.name for thread in threads}
    unread = [line.ends_mm for line in lines if line.name not in read]
    model = LoadedBoard.of(estimate.ready, threads, np.vstack([np.zeros((0, 2)), *unread]))
    soft, took = softness_of(estimate, model), taken(estimate, model)
    lacking = lacking_of(lines, estimate, model, took)
    field = SetField.of(lines, lacking)
    bare, strung = model.lines()
    sets = _at_notes(model, field)
    return Survey(
        estimate=estimate,
        ribs=_ribs(model, took, field),
        unread=_unread(model, field),
        field=field,
        threads=threads,
        softness=soft,
        plate_mm=plate_rose(readings),
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


def _ribs(model: LoadedBoard, took: Taken, field: SetField) -> tuple[RibLoss, ...]:
    above, lacking = _notes_above(model), field.lacking
    crown, out = crown_surface(model.ready.board.needed_body("A survey")), []
    for k, thread in enumerate(model.threads):
        here = np.flatnonzero(lacking.thread == k)
        start, _, end = thread.points_mm[-3:]
        made = _over_line(crown.rise_mm(start + SHARES[:, None] * (end - start)))
        load, damp = _profile(thread, took.sunk_mm[k]), _profile(thread, took.aired_mm[k])
        at = lacking.ends[k, 0] + SHARES * (lacking.ends[k, 1] - lacking.ends[k, 0])
        rib = np.full(len(SHARES), lacking.rib[here[0]])
        lost, wide, alone = field.told(rib, at, OVER_LINE)
        *_, (odd_wide,) = field.told(rib, at, ODD)
        depart, unsure, _ = field.told(rib, at, OFF_ARC)
        profile = made - load + damp - lost
        off, where = bent(depart, unsure)
        expected = float((made - load + damp)[MIDDLE])
        notes = above[thread.rib.name]
        contradicted = here[~field.kept[here]]
        out.append(
            RibLoss(
                rib=thread.rib.name,
                state=thread.state,
                date=thread.climate.date,
                rh_percent=thread.climate.rh_percent,
                read=RibShape(
                    span_mm=thread.span_mm,
                    rise_mm=float(profile[MIDDLE]),
                    rise_uncertainty_mm=SIGMAS * float(alone[MIDDLE]),
                    shape=shape_of(profile, SIGMAS * float(alone[MIDDLE]), SIGMAS * float(odd_wide)),
                    profile_mm=profile,
                    bent_mm=off,
                    bent_at_mm=where * thread.span_mm,
                    position_mm=thread.position_mm,
                    outliers=(contradicted - here[0])[np.argsort(-np.abs(field.off_mm[contradicted]))],
                    residual_mm=field.off_mm[here],
                    uncertainty_mm=thread.uncertainty_mm,
                ),
                as_made_mm=float(made[MIDDLE]),
                sink_mm=float(took.load_mm[k]),
                moisture_mm=float(took.damp_mm[k]),
                expected_mm=expected,
                set_mm=float(lost[MIDDLE]),
                set_uncertainty_mm=SIGMAS * float(wide[MIDDLE]),
                notes=notes,
                killer=_killer(notes),
            )
        )
    return tuple(sorted(out, key=lambda rib: not rib.killer))


def _over_line(values_mm: Floats) -> Floats:
    """Values at SHARES over the line between the first and the last."""
    return np.asarray(OVER_LINE @ values_mm)


def _profile(thread: RibThread, values_mm: Floats) -> Floats:
    """Values at a thread's points, then start, middle and end of its span, led to SHARES, over the line between the
    ends; smooth between the places that were read.
    """
    from scipy.interpolate import CubicSpline

    place, first = np.unique(np.concatenate([thread.position_mm / thread.span_mm, [0.0, 0.5, 1.0]]), return_index=True)
    return _over_line(CubicSpline(place, values_mm[first])(SHARES))


def _unread(model: LoadedBoard, field: SetField) -> tuple[UnreadRib, ...]:
    above, none = _notes_above(model), np.setdiff1d(np.arange(len(field.ribs)), field.lacking.rib)
    lost, wide, _ = field.told(none, np.zeros(len(none)), np.eye(len(none)))
    found = [
        UnreadRib(
            rib=line.name,
            as_made_mm=line.made_mm,
            set_mm=float(lost[k]),
            set_uncertainty_mm=SIGMAS * float(wide[k]),
            notes=above[line.name],
            killer=_killer(above[line.name]),
        )
        for k, line in enumerate(field.ribs[each] for each in none)
    ]
    return tuple(found)


def _killer(notes: tuple[int, ...]) -> bool:
    return any(note in KILLER_OCTAVE for note in notes)


def _notes_above(model: LoadedBoard) -> dict[str, tuple[int, ...]]:
    """The notes whose pins lie nearest to each rib."""
    board = model.ready.board
    plan, line, body = board.needed_plan("A survey"), board.needed_strings("A survey"), board.needed_body("A survey")
    away = np.array([rib.away_mm(plan.middle_mm) for rib in body.ribs])
    nearest = np.argmin(away, axis=0)
    return {rib.name: tuple(line.note[nearest == k].tolist()) for k, rib in enumerate(body.ribs)}


def at_places(field: SetField, places_mm: Floats) -> tuple[Ints, Floats, Floats]:
    """The set at points in plan, straight between the two nearest ribs: which ribs and ξ, (places,), and their weights
    (points, places).
    """
    away = np.array([rib.away_mm(places_mm) for rib in field.ribs])
    many = min(2, len(field.ribs))
    near = np.argsort(away, axis=0, kind="stable")[:many].T
    weight = 1.0 / np.maximum(np.take_along_axis(away.T, near, axis=1), 1.0)
    weight /= weight.sum(axis=1, keepdims=True)
    at = np.array([[field.ribs[r].along(place[None])[0] for r in row] for place, row in zip(places_mm, near)])
    rows = np.zeros((len(places_mm), near.size))
    for k, each in enumerate(weight):
        rows[k, many * k : many * (k + 1)] = each
    return near.ravel(), np.clip(at.ravel(), -1.0, 1.0), rows


def _at_notes(model: LoadedBoard, field: SetField) -> tuple[Floats, Floats]:
    """Set under each note's pins and its 95 % half width."""
    lost, wide, _ = field.told(*at_places(field, model.ready.board.needed_plan("A survey").middle_mm))
    return lost, SIGMAS * wide


def _gauges(readings: Sequence[Reading], lines: Mapping[State, StringLine]) -> tuple[GaugeReading, ...]:
    """Net bearing by gauge, front and rear together, against that by heights."""
    out = []
    for each in nets_read(readings):
        place = lines[each.state].place_of(each.note) if each.state in lines else None
        if place is None:
            continue
        by_heights = float(bearing(lines[each.state]).net_deg[place])
        out.append(
            GaugeReading(note=each.note, state=each.state, net_deg=each.net_deg, by_heights_deg=by_heights,
                         misread=abs(each.net_deg - by_heights) > GAUGE_DEG)
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
