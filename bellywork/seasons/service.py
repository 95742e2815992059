"""A board in service: from its making through its years, in the air that it lived in, bare and then strung."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine, StringPlan
from bellywork.board.wood import Wood
from bellywork.errors import BoardError
from bellywork.geometry.string_line import bearing, pin_forces_N
from bellywork.mechanics.discrete import Discrete
from bellywork.mechanics.making import Belly, rise_mm
from bellywork.mechanics.moisture import FreeStrain, free_strain
from bellywork.seasons.board_in_time import BoardInTime, Moment
from bellywork.seasons.history import History
from bellywork.seasons.rheology import Laws, Stride
from bellywork.seasons.section_points import ACROSS, section_points
from bellywork.seasons.sorption import grown_along
from bellywork.seasons.strings import Fitting, LeftAlone

if TYPE_CHECKING:
    from scipy.sparse import csr_array

MISSED_MM = 0.005  # by which the whole board may still move: half a hundredth of what a shop reads
MISSED_ALONG_MM = 0.0005  # along the strings, which are much stiffer that way
PRESSED_SHARE = 0.02  # of the panel: the stress told is that which this much of it exceeds; single points mean nothing


@dataclass(frozen=True, kw_only=True, eq=False)
class Service:
    """A board at every stop of its history; arrays are (stops,) or (stops, notes).

    day, moisture_percent   of each stop
    strung                  whether strings are on
    line                    the string line at each stop: its bridge top is the board's, bare or strung
    pull_N                  tension of all the strings of each note, of their three runs (stops, 3, notes); at pitch
                            where no strings are on
    net_deg                 net bearing at these heights
    downforce_N             of all notes together; 0 where no strings are on
    height_mm               bridge top midway between the pin rows, less that at the measurement; up positive
    rib_rise_mm             rise of each rib's middle over the line between its ends (stops, ribs), bare or strung
    across_MPa              stress across the grain that PRESSED_SHARE of the panel exceeds, negative: pressed
    set_strain              set that PRESSED_SHARE of the panel exceeds
    missed_mm               most by which the whole board was found out of balance on the way, at the pins
    """

    day: Floats
    moisture_percent: Floats
    strung: tuple[bool, ...]
    line: tuple[StringLine, ...]
    pull_N: Floats
    net_deg: Floats
    downforce_N: Floats
    height_mm: Floats
    rib_rise_mm: Floats
    across_MPa: Floats
    set_strain: Floats
    missed_mm: float

    def at(self, day: float) -> int:
        """The last stop at a day. Raises BoardError where the history does not stop there."""
        found = np.flatnonzero(np.abs(self.day - day) < 1e-6)
        if not len(found):
            raise BoardError(f"The history does not stop at day {day:g}.")
        return int(found[-1])


def in_time(
    belly: Belly,
    pins_mm: Floats,
    laws: Laws,
    *,
    along: csr_array | None = None,
    growth_share: float = 1.0,
    along_in_two_lines: bool = False,
) -> BoardInTime:
    """A board ready to be led through time from the moment when it was glued into its rim, pressed at its pins.

    pins_mm        where strings press, (2 · notes, 2), front pins first
    along          the bridge top's movement along each string, where its pins hold (see `top_along`)
    growth_share   how many times as much as its table says wood grows across the grain
    """
    from scipy.sparse import csr_array, vstack

    discrete, made = belly.board.discrete, belly.making.panel_moisture_percent
    pressed, near = csr_array(-discrete.sinking(pins_mm)), np.full(len(pins_mm), MISSED_MM)
    if along is not None:
        pressed = csr_array(vstack([pressed, along]))
        near = np.append(near, np.full(along.shape[0], MISSED_ALONG_MM))

    def growth(wood: Wood, moisture: float) -> FreeStrain:
        free = free_strain(wood, from_percent=made, to_percent=moisture)
        along = float(grown_along(made, moisture)) if along_in_two_lines else free.L
        return FreeStrain(L=along, R=growth_share * free.R, T=growth_share * free.T)

    return BoardInTime(
        belly.board,
        section_points(discrete, growth, belly.rim_rest),
        laws,
        belly.glued_in,
        pressed=pressed,
        watched=csr_array(-discrete.sinking(_rib_points(discrete))),
        near_mm=near,
    )


def served(board: BoardInTime, history: History, fitting: Fitting) -> Service:
    """A board followed through a history that begins when it is glued into its rim.

    Before a measurement of the strung board the strings are taken to press as they do at the heights measured; after
    it, and always where the bare board was measured, they are settled with the board at every stop.

    Strings left alone are brought to pitch once, on the day of stringing, on the board as it then stands.

    Raises BoardError where the history does not stop at a day that is named, and for strings left alone where the
    strung board was measured; SolveError where no balance is found.
    """
    measured = _stop(history.stop_day, fitting.measured_day)
    strung = None if fitting.strung_day is None else _stop(history.stop_day, fitting.strung_day)
    if fitting.left_alone_N is not None and fitting.measured_day > (fitting.strung_day or 0.0):
        raise BoardError("What strings do that are left alone is told from heights of the bare board.")
    gone = history.stop_moisture_percent - history.stop_moisture_percent[measured]
    moment = board.begun(float(history.stop_moisture_percent[0]))
    rest: Floats | None = None
    left: LeftAlone | None = None
    seen: list[_Seen] = []
    for k, strides in enumerate(_strides(board.laws, history)):
        on = strung is not None and k > strung
        for passed, load in ((strides, on), (_still(board.laws), True))[: 2 if k == strung else 1]:
            moment = board.stepped(
                moment,
                strides=passed,
                moisture_percent=float(history.stop_moisture_percent[k]),
                load=fitting.strings(rest, float(gone[k]), left=left) if load else None,
            )
            if k == measured and rest is None:
                rest = fitting.rest_mm(moment.moves_mm[: 2 * len(fitting.pull_N)], strung=load)
            seen.append(_seen(board, k, load, moment))
        if k == strung:
            left = fitting.left(fitting.strings(rest, float(gone[k])).at(moment.moves_mm), moment.moves_mm)
    assert rest is not None
    lines, pulls = [], []
    for each in seen:
        alone = left if each.strung and each.stop != strung else None
        there = fitting.strings(rest, float(gone[each.stop]), pressing=each.strung, left=alone)
        lines.append(there.at(each.moves_mm))
        pulls.append(there.pulls_N(each.moves_mm))
    forces = [np.concatenate(pin_forces_N(line, pull)).sum() for line, pull in zip(lines, pulls)]
    stops = [each.stop for each in seen]
    return Service(
        day=history.stop_day[stops],
        moisture_percent=history.stop_moisture_percent[stops],
        strung=tuple(each.strung for each in seen),
        line=tuple(lines),
        pull_N=np.array(pulls),
        net_deg=np.array([bearing(line).net_deg for line in lines]),
        downforce_N=np.array([force if each.strung else 0.0 for each, force in zip(seen, forces)]),
        height_mm=np.array([line.top_mm - fitting.line.top_mm for line in lines]),
        rib_rise_mm=_rib_crown_mm(board) + np.array([each.rib_rise_mm for each in seen]),
        across_MPa=np.array([each.across_MPa for each in seen]),
        set_strain=np.array([each.set_strain for each in seen]),
        missed_mm=float(np.nanmax([each.missed_mm for each in seen])),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Seen:
    """What is kept of a moment: its memory of every point is too much to keep for fifty years."""

    stop: int
    strung: bool
    moves_mm: Floats
    rib_rise_mm: Floats
    across_MPa: float
    set_strain: float
    missed_mm: float


def _seen(board: BoardInTime, stop: int, strung: bool, moment: Moment) -> _Seen:
    area = np.repeat(board.panel.scale[:, ACROSS] / board.panel.layer_mm, 2)
    start, middle, end = moment.watched_mm.reshape(-1, 3).T
    return _Seen(
        stop=stop,
        strung=strung,
        moves_mm=moment.moves_mm,
        rib_rise_mm=middle - (start + end) / 2.0,
        across_MPa=_exceeded(moment.across_MPa.ravel(), area),
        set_strain=-_exceeded(-moment.crushed[0].ravel(), area),
        missed_mm=moment.missed_mm,
    )


def grown_per_percent_mm(discrete: Discrete, line: StringLine, plan: StringPlan) -> Floats:
    """How much thicker panel, root and cap grow under each note for 1 % of moisture, mm: along T, both quarter-sawn."""
    body = discrete.body

    def per_percent(wood: Wood) -> float:
        at = wood.moisture_percent
        return free_strain(wood, from_percent=at, to_percent=at + 1.0).T

    grown = per_percent(body.panel.wood) * discrete.thickness(discrete.frame.inside(plan.middle_mm))
    for bridge in body.bridges:
        here = np.array([name == bridge.name for name in line.bridge])
        root, cap = per_percent(bridge.root_wood), per_percent(bridge.cap_wood)
        grown = grown + here * (root * bridge.root_mm.mean() + cap * bridge.cap_mm.mean())
    return np.asarray(grown)


def _exceeded(values: Floats, area: Floats) -> float:
    """The value below which PRESSED_SHARE of the area lies."""
    order = np.argsort(values)
    return float(values[order][np.searchsorted(np.cumsum(area[order]), PRESSED_SHARE * area.sum())])


def _strides(laws: Laws, history: History) -> list[dict[str, Stride]]:
    """The strides that end at each stop; a still one for the first."""
    aged = {name: history.aged_days(law.shift) for name, law in laws.named().items()}
    return [
        _still(laws),
        *(
            {
                name: Stride(law, aged_days=float(aged[name][k]), travelled=float(moved))
                for name, law in laws.named().items()
            }
            for k, moved in enumerate(history.travelled)
        ),
    ]


def _still(laws: Laws) -> dict[str, Stride]:
    return {name: Stride(law, aged_days=0.0, travelled=0.0) for name, law in laws.named().items()}


def _stop(days: Floats, day: float) -> int:
    found = np.flatnonzero(np.abs(days - day) < 1e-6)
    if not len(found):
        raise BoardError(f"The history does not stop at day {day:g}; name it among its changes.")
    return int(found[0])


def _rib_points(discrete: Discrete) -> Floats:
    """Start, middle and end of each rib, (3 · ribs, 2)."""
    ribs = [each.points_mm for each in discrete.stations if each.side < 0]
    return np.concatenate([points[[0, len(points) // 2, -1]] for points in ribs])


def _rib_crown_mm(board: BoardInTime) -> Floats:
    """Rise of each rib's middle over its ends, as its wood was cut, mm."""
    discrete = board.board.discrete
    rises = rise_mm(discrete, board.board.at_rest(), _rib_points(discrete)).reshape(-1, 3)
    crown: Floats = rises[:, 1] - (rises[:, 0] + rises[:, 2]) / 2.0
    return crown
