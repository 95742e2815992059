"""Notes read under a load and bare: height and sink of the bridge, net bearing by an angle gauge, and the plate's rise.

The net bearing that a note gains when its strings come off is told as the rise of its bridge that gains as much, so
that all kinds are mm. A gauge feels the plate too, which stands higher under its strings, and has a zero of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.state import Climate, Reading, State, nets_read
from bellywork.estimate.heights import height_error_deg
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import Day, LoadedBoard
from bellywork.estimate.pairs import Pair, PairKind, at_home, counted_in, scatter_mm
from bellywork.estimate.settled import days_apart
from bellywork.geometry.string_line import bearing
from bellywork.seasons.spruce import settled_share

USUAL_HEIGHT_MM = 0.2  # 95 % half width of a height read by a depth gauge (common practice)
USUAL_GAUGE_DEG = 0.15  # likewise of a net bearing by an angle gauge, front and rear (common practice, no source)
PLATE_HERE_MM = 0.1  # one standard deviation of the plate's rise at one place beside the others (judgement)
SINK_DAYS = 1.0  # sink.csv: let down, and read on the same day (docs/sink.md)
SINK_SHARE = 0.05  # of a sink that was read under a fifth of the load, or with a plate that moved, 95 % (docs/sink.md)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Net:
    """Net bearing of a note in a state, by a gauge or by its heights; 95 % half width."""

    place: int
    state: State
    climate: Climate
    net_deg: float
    wide_deg: float
    by_gauge: bool


def pairs_at_notes(model: LoadedBoard) -> list[Pair]:
    """Every note, and every place of the plate, read bare and under a load."""
    bearings = _bearings(model)
    return [*_heights(model), *_sinks(model), *bearings, *(_plate(model) if bearings else ())]


def _heights(model: LoadedBoard) -> list[Pair]:
    """Notes whose bridge height over the rim was read bare and under a load."""
    board = model.ready.board
    line = board.needed_strings("A survey")
    read = [
        (each, k)
        for each in board.readings
        if each.kind == "bridge_height" and each.note is not None and board.knows(each.state)
        if (k := line.place_of(each.note)) is not None
    ]
    found = [
        (bare, loaded, k)
        for bare, k in read
        for loaded, m in read
        if k == m and bare.state is State.BARE and loaded.state is not State.BARE
    ]
    both = [(bare, loaded) for bare, loaded, _ in found]

    def wide_mm(reading: Reading) -> float:
        return (reading.uncertainty or USUAL_HEIGHT_MM) * float(counted_in(both, reading) ** 0.5)

    out = []
    for bare, loaded, k in found:
        day = _day(model, loaded.state, loaded.climate, bare.climate)
        sunk = model.on((day, at_home(day)))
        wide = float(np.hypot(wide_mm(bare), wide_mm(loaded)))
        out.append(
            Pair(
                kind=PairKind.HEIGHT,
                name=f"bridge at note {bare.note}",
                read_mm=bare.value - loaded.value,
                scatter_mm=scatter_mm(wide, sunk[day].top_mm[k] - sunk[at_home(day)].top_mm[k]),
                damp_mm=_aired_mm(model, bare.climate, loaded.climate, k),
                day=day,
                note=k,
            )
        )
    return out


def _sinks(model: LoadedBoard) -> list[Pair]:
    """What sink.csv holds of states of which it is told what presses."""
    board, out = model.ready.board, []
    line = board.needed_strings("A survey")
    for each in board.sinks:
        k = line.place_of(each.note)
        for state, value in ((State.PRELOADED, each.preloaded_mm), (State.STRUNG, each.strung_mm)):
            if k is None or value is None or not board.knows(state):
                continue
            wide = float(np.hypot(USUAL_HEIGHT_MM * 2.0**0.5, SINK_SHARE * value))
            day: Day = (state, None, settled_share(SINK_DAYS))
            out.append(
                Pair(
                    kind=PairKind.SINK,
                    name=f"sink at note {each.note}",
                    read_mm=value,
                    scatter_mm=wide / SIGMAS,
                    damp_mm=0.0,
                    day=day,
                    note=k,
                )
            )
    return out


def _bearings(model: LoadedBoard) -> list[Pair]:
    """Notes whose net bearing was read by a gauge under strings, and bare by the gauge too or by their heights."""
    line = model.ready.board.needed_strings("A survey")
    found = [(bare, loaded) for loaded, every in _matched(model) for bare in every]
    per_mm, out = bearing(line).degrees_per_mm, []
    for bare, loaded in found:
        k, mm = loaded.place, 1.0 / float(per_mm[loaded.place])
        day = _day(model, loaded.state, loaded.climate, bare.climate)
        sunk = model.on((day, at_home(day)))
        wide = [each.wide_deg * mm * counted_in(found, each) ** 0.5 for each in (bare, loaded)]
        read = scatter_mm(float(np.hypot(*wide)), sunk[day].turned_mm[k] - sunk[at_home(day)].turned_mm[k])
        out.append(
            Pair(
                kind=PairKind.BEARING,
                name=f"bearing at note {line.note[k]}",
                read_mm=(bare.net_deg - loaded.net_deg) * mm,
                scatter_mm=float(np.hypot(read, PLATE_HERE_MM)),
                damp_mm=_aired_mm(model, bare.climate, loaded.climate, k),
                day=day,
                note=k,
                plate=1.0,
                zero=0.0 if bare.by_gauge else -mm,
            )
        )
    return out


def _matched(model: LoadedBoard) -> list[tuple[_Net, list[_Net]]]:
    """Each net bearing by the gauge under strings with those of the bare board: by the gauge where it was read so, else
    by heights.
    """
    gauge = _by_gauge(model)
    by_heights = _by_heights(model) if model.ready.board.measured_in is State.BARE else []
    out = []
    for loaded in gauge:
        if loaded.state.under_strings:
            here = [each for each in gauge if each.place == loaded.place and each.state is State.BARE]
            out.append((loaded, here or [each for each in by_heights if each.place == loaded.place]))
    return out


def _by_gauge(model: LoadedBoard) -> list[_Net]:
    board = model.ready.board
    line = board.needed_strings("A survey")
    return [
        _Net(place=k, state=each.state, climate=each.climate, net_deg=each.net_deg, wide_deg=USUAL_GAUGE_DEG,
             by_gauge=True)
        for each in nets_read(board.readings)
        if board.knows(each.state) and (k := line.place_of(each.note)) is not None
    ]  # fmt: skip


def _by_heights(model: LoadedBoard) -> list[_Net]:
    """Of the bare board's notes whose heights were read."""
    board = model.ready.board
    line = board.needed_strings("A survey")
    net, wide = bearing(line).net_deg, height_error_deg(line)
    return [
        _Net(place=int(k), state=State.BARE, climate=board.climate, net_deg=float(net[k]),
             wide_deg=float(wide[k]), by_gauge=False)
        for k in np.flatnonzero(line.measured)
    ]  # fmt: skip


def _plate(model: LoadedBoard) -> list[Pair]:
    """Places of the plate read bare and under the strings."""
    return [
        Pair(
            kind=PairKind.PLATE,
            name=f"plate at {place}",
            read_mm=-rose,
            scatter_mm=float(np.hypot(wide / SIGMAS, PLATE_HERE_MM)),
            damp_mm=0.0,
            day=(State.STRUNG, None, 0.0),
            plate=1.0,
        )
        for place, (rose, wide) in plate_rose(model.ready.board.readings).items()
    ]


def plate_rose(readings: Sequence[Reading]) -> dict[str, tuple[float, float]]:
    """How far the plate rose, mm, when the strings came off, at each place read in both states; its 95 % half width."""
    read = {(each.place, each.state): each for each in readings if each.kind == "plate_height"}
    out = {}
    for (place, state), bare in read.items():
        strung = read.get((place, State.STRUNG))
        if state is State.BARE and strung is not None:
            width = float(np.hypot(bare.uncertainty or USUAL_HEIGHT_MM, strung.uncertainty or USUAL_HEIGHT_MM))
            out[place] = (bare.value - strung.value, width)
    return out


def _day(model: LoadedBoard, state: State, loaded: Climate, bare: Climate) -> Day:
    """State and humidity under the load, and what the wood settles until it is read bare."""
    return (state, loaded.rh_percent, settled_share(days_apart(model, loaded, bare)))


def _aired_mm(model: LoadedBoard, bare: Climate, loaded: Climate, place: int) -> float:
    """What the humidities of two days add to what came back at a note."""
    return model.lifted_mm(bare, place) - model.lifted_mm(loaded, place)
