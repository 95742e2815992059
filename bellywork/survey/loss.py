"""Crown and its loss: what was made, less what strings and weather take, against what was read. The rest is set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.balance.sink import PredictedSink
from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.body import away_from_segment_mm
from bellywork.board.state import Reading, State
from bellywork.board.strings import StringLine
from bellywork.errors import BoardError, MissingLayer
from bellywork.findings import Finding
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.string_line import bearing
from bellywork.instrument import Instrument, prepared
from bellywork.survey.loaded import LoadedBoard, freed
from bellywork.survey.rib_fit import RibFit, read_shape
from bellywork.survey.stiffness import Softness, softness
from bellywork.survey.threads import RibThread, rib_threads

KILLER_OCTAVE = range(52, 76)  # octaves 5 and 6, C5 to B6
USUAL_HEIGHT_MM = 0.2  # 95 % half width of a height read by a depth gauge (common practice)
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

    board: Board
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
    def surest(self) -> dict[str, RibLoss]:
        """Of each rib, in the order of `ribs`, the state in which its set is known best."""
        best: dict[str, RibLoss] = {}
        for rib in self.ribs:
            there = best.get(rib.rib)
            if there is None or rib.set_uncertainty_mm < there.set_uncertainty_mm:
                best[rib.rib] = rib
        return best


def surveyed(board: Board | Instrument, *, table: str | None = None) -> Survey:
    """Crown, its loss and the bearing of a board from its readings.

    table   only the readings of this table, by its name; None: all

    Raises MissingLayer where string line, plan, scale, body or readings are lacking, BoardError for a table without
    any thread or straightedge.
    """
    ready, what = prepared(board), "A survey of the crown"
    whole = ready.board
    readings = tuple(each for each in whole.readings if table is None or each.table == table)
    if not readings:
        there = sorted({each.table for each in whole.readings})
        known = f" Tables of readings are: {', '.join(there)}." if there else ""
        raise MissingLayer(f"{what} needs readings: threads under the ribs, in readings.csv.{known}")
    body = whole.needed_body(what)
    threads, findings = rib_threads(body, readings)
    if not threads:
        reasons = " ".join(str(finding) for finding in findings)
        raise BoardError(f"No thread or straightedge can be used for a crown. {reasons}".strip())
    model = LoadedBoard.of(ready, threads)
    soft = _softness(model, readings)
    ribs = _ribs(model, soft)
    bare, strung = model.lines(soft.factor)
    sets = _at_notes(model, ribs)
    return Survey(
        board=whole,
        ribs=ribs,
        threads=threads,
        softness=soft,
        plate_mm=_plate(readings),
        gauges=_gauges(readings, {State.BARE: bare, State.STRUNG: strung}),
        note=bare.note,
        set_mm=sets[0],
        set_uncertainty_mm=sets[1],
        net_deg=bearing(strung).net_deg,
        sink=model.sink_by(soft.factor),
        bare=bare,
        findings=findings,
        assumptions=(*ready.assumptions, *model.sink.assumptions, *_said(whole, soft, threads)),
    )


def _softness(model: LoadedBoard, readings: Sequence[Reading]) -> Softness:
    """Spring-back of ribs and bridge between strung and bare readings, against the model's and the weather's."""
    threads = model.threads
    pairs, once = _pairs(threads), freed(model, 1.0)
    names = [f"rib {threads[a].rib.name}" for a, _ in pairs]
    air = [_moisture_mm(model, thread) for thread in threads]
    # what the air did between the two days is no spring-back
    weather = [air[a] - air[b] for a, b in pairs]
    measured = [once[a].fit.rise_mm - once[b].fit.rise_mm + once[b].loss_mm for a, b in pairs]
    wide = [each.fit.rise_uncertainty_mm for each in once]
    width = [float(np.hypot(wide[a], wide[b])) for a, b in pairs]
    line = model.board.needed_strings("A survey")
    heights = _bridge_heights(model, readings, line)
    names += [f"bridge at note {int(line.note[k])}" for k, *_ in heights]
    measured += [rise for _, rise, _, _ in heights]
    width += [each for _, _, each, _ in heights]
    weather += [each for *_, each in heights]

    def predicted(factor: float) -> Floats:
        sunk = model.sunk_mm(factor)
        ribs = np.array([sunk[b][-2] - (sunk[b][-3] + sunk[b][-1]) / 2.0 for _, b in pairs])
        bare, strung = model.lines(factor)
        top = bare.top_mm - strung.top_mm
        return np.concatenate([ribs, top[[k for k, *_ in heights]]])

    return softness(tuple(names), np.array(measured), np.array(width), predicted, np.array(weather))


def _pairs(threads: Sequence[RibThread]) -> list[tuple[int, int]]:
    """Places of threads of one rib and span, bare and strung."""
    out = []
    for k, thread in enumerate(threads):
        for m, other in enumerate(threads):
            same = thread.rib.name == other.rib.name and abs(thread.span_mm - other.span_mm) < 20.0
            if same and thread.state is State.BARE and other.state is State.STRUNG:
                out.append((k, m))
    return out


def _bridge_heights(
    model: LoadedBoard, readings: Sequence[Reading], line: StringLine
) -> list[tuple[int, float, float, float]]:
    """Notes whose bridge height over the rim was read bare and strung: place, rise, its 95 % half width, and what the
    weather between the two days is reckoned to have added.
    """
    read = {(each.note, each.state): each for each in readings if each.kind == "bridge_height"}
    notes, out = line.note.tolist(), []
    for (note, state), bare in read.items():
        strung = read.get((note, State.STRUNG))
        if state is State.BARE and strung is not None and note in notes:
            width = float(np.hypot(bare.uncertainty or USUAL_HEIGHT_MM, strung.uncertainty or USUAL_HEIGHT_MM))
            k = notes.index(note)
            air = _lifted_mm(model, bare, k) - _lifted_mm(model, strung, k)
            out.append((k, bare.value - strung.value, width, air))
    return out


def _lifted_mm(model: LoadedBoard, reading: Reading, k: int) -> float:
    """What the humidity of a reading adds to the bridge's height at a note's place, against the description's."""
    rh, year = reading.climate.rh_percent, model.year
    if year is None or rh is None or not model.differs(rh):
        return 0.0
    return float(year.rise_mm(rh, model.board.needed_plan("A survey").middle_mm[[k]])[0])


def _ribs(model: LoadedBoard, soft: Softness) -> tuple[RibLoss, ...]:
    body, above = model.board.needed_body("A survey"), _notes_above(model)
    crown = crown_surface(body)
    out = []
    for thread, bare in zip(model.threads, freed(model, soft.factor)):
        start, middle, end = crown.rise_mm(thread.points_mm[-3:])
        as_made = float(middle - (start + end) / 2.0)
        fit = read_shape(bare.fit, bare.loss_mm)
        moisture = soft.weather * _moisture_mm(model, thread)
        expected = as_made - bare.loss_mm + moisture
        notes, what = above[thread.rib.name], f"rib {thread.rib.name}"
        out.append(
            RibLoss(
                rib=thread.rib.name,
                state=thread.state,
                date=thread.climate.date,
                rh_percent=thread.climate.rh_percent,
                fit=fit,
                as_made_mm=as_made,
                sink_mm=bare.loss_mm,
                moisture_mm=moisture,
                expected_mm=expected,
                set_mm=expected - fit.rise_mm,
                set_uncertainty_mm=soft.set_uncertainty_mm(fit.rise_uncertainty_mm, bare.loss_mm, what, moisture),
                notes=notes,
                killer=any(note in KILLER_OCTAVE for note in notes),
            )
        )
    return tuple(sorted(out, key=lambda rib: not rib.killer))


def _moisture_mm(model: LoadedBoard, thread: RibThread) -> float:
    """What the humidity of a reading adds to the rise, against that of the board's description."""
    rh, year = thread.climate.rh_percent, model.year
    if year is None or rh is None or not model.differs(rh):
        return 0.0
    change = year.rise_mm(rh, thread.points_mm)
    return float(change[-2] - (change[-3] + change[-1]) / 2.0)


def _notes_above(model: LoadedBoard) -> dict[str, tuple[int, ...]]:
    """The notes whose pins lie nearest to each rib."""
    plan, line = model.board.needed_plan("A survey"), model.board.needed_strings("A survey")
    body = model.board.needed_body("A survey")
    away = np.array([rib.away_mm(plan.middle_mm) for rib in body.ribs])
    nearest = np.argmin(away, axis=0)
    return {rib.name: tuple(line.note[nearest == k].tolist()) for k, rib in enumerate(body.ribs)}


def _at_notes(model: LoadedBoard, ribs: Sequence[RibLoss]) -> tuple[Floats, Floats]:
    """Set under each note's pins, straight between the two nearest ribs that were read, each with its arc."""
    plan = model.board.needed_plan("A survey")
    places = plan.middle_mm
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
    said = []
    if soft.measured:
        said.append(
            f"This board is {soft.factor:.2f} ± {soft.uncertainty:.2f} times as soft as the model, from what came back "
            "when the strings came off."
        )
        if soft.weather != 1.0:
            said.append(
                f"Between the readings the humidity did {soft.weather:.2f} ± {soft.weather_uncertainty:.2f} times what "
                "it is reckoned to do; the set of a reading at another humidity carries that doubt."
            )
        if soft.loose:
            said.append("One factor does not explain all of what came back: look for loose ribs or misread states.")
    else:
        said.append(
            "No rib or bridge height was read both strung and bare: the model's stiffness is taken, good to 20 % "
            "(common practice), and a set cannot be told from a softer board within that."
        )
    if board.making is None:
        said.append(
            "How the board was made is not told: no moisture change is reckoned between readings and description."
        )
    elif any(thread.climate.rh_percent is None for thread in threads):
        said.append("Readings without humidity are taken at that of the description.")
    said.append("The crown as made is that of the ribs' radii (or the measured crown) in the board folder.")
    return tuple(said)
