"""The band of an answer: how far it moves as the board's unknowns move together as they are likely to.

With the covariance Σ of the unknowns written as L Lᵀ, each column of L is a board one standard deviation away, and the
columns are independent of each other. An answer y is asked of the board moved by each column, up and down; its band is
±1.96 times the root of the sum of the squares of (y₊ − y₋) / 2.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable, bearing
from bellywork.balance.depth import depths
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import cut
from bellywork.balance.sink import PredictedSink, predicted_sink
from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats
from bellywork.board.state import State
from bellywork.estimate.estimate import Estimate
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.places import FINE_OVER_COARSE
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing as turned_by
from bellywork.geometry.string_line import downforce_N, topped
from bellywork.geometry.thread import threaded

Band = tuple[Floats, Floats]
LEAST_SHARE = 1e-4  # of the whole doubt about the sink: a direction that brings less is left out
OF_BEARING = (
    "front_deg", "rear_deg", "net_deg", "deviation_deg", "downforce_N", "sink_mm", "height_bare_mm", "height_strung_mm"
)  # fmt: skip
OF_PLANING = ("plane_front_mm", "plane_rear_mm", "faired_front_mm", "faired_rear_mm", "block_mm", "kerf_mm")
OF_PLANED = ("front_deg", "rear_deg", "net_deg", "sink_mm", "downforce_N")


@dataclass(frozen=True, kw_only=True, eq=False)
class Boards:
    """The sink of the estimated board, and of boards one standard deviation away in independent directions."""

    estimate: Estimate
    sink: PredictedSink
    pairs: tuple[tuple[PredictedSink, PredictedSink], ...]

    @classmethod
    def of(cls, estimate: Estimate) -> Boards:
        """The boards about an estimate. Raises MissingLayer without body, plan, scale or string line."""
        sink, pins = predicted_sink(estimate.ready), estimate.places.pins
        slopes = estimate.slopes
        coarse, slope = slopes.compliance_mm_N[:pins, :pins], slopes.slope_mm_N[:, :pins, :pins]
        ratio = np.clip(sink.response.small_mm_N / coarse, *FINE_OVER_COARSE)
        size, way = np.linalg.eigh(estimate.covariance)
        moves = ratio * np.tensordot((way * np.sqrt(np.maximum(size, 0.0))).T, slope, axes=1)
        weight = np.einsum("kii->k", moves**2)
        used = moves[weight > LEAST_SHARE * weight.sum()]
        return cls(
            estimate=estimate, sink=sink, pairs=tuple((sink.changed(move), sink.changed(-move)) for move in used)
        )

    def half_widths(self, answer: Callable[[PredictedSink], Mapping[str, Floats]]) -> dict[str, Floats]:
        """95 % half width of everything that `answer` gives for a sink."""
        turns = [(answer(more), answer(less)) for more, less in self.pairs]
        return {
            name: SIGMAS * np.sqrt(sum(((more[name] - less[name]) / 2.0) ** 2 for more, less in turns))
            for name in turns[0][0]
        }


def untaught(estimate: Estimate) -> Boards:
    """The boards about an estimate were nothing read on it: with all the scatter of its description."""
    return Boards.of(replace(estimate, covariance=estimate.prior))


@dataclass(frozen=True, kw_only=True, eq=False)
class Bands:
    """Bands of an answer: ends of the 95 % range by the name of each quantity; `total_N` of all downforce together."""

    bands: Mapping[str, Band]
    total_N: tuple[float, float]


def bearing_bands(boards: Boards, table: BearingTable, *, state: State) -> Bands:
    """The bands of a table of this estimate's bearing in a state."""

    def answer(sink: PredictedSink) -> dict[str, Floats]:
        there = bearing(boards.estimate.ready, state=state, sink=sink)
        return {**{name: getattr(there, name) for name in OF_BEARING}, "total": np.array(there.total_downforce_N)}

    told = {name: getattr(table, name) for name in OF_BEARING}
    return _about(boards.half_widths(answer), told, table.total_downforce_N)


def plane_bands(boards: Boards, table: PlaneTable) -> Bands:
    """The bands of a planing schedule, and of the bearing one gets by cutting just the depths that it tells.

    The plate stays as the schedule sets it. A fair line goes with the exact depths.
    """
    board = boards.estimate.ready.board
    line, depth = board.needed_strings("Planing"), (table.faired_front_mm, table.faired_rear_mm)
    pull = None if board.scale is None else pull_N(board.scale, line)
    told_in = table.faired if table.strung is None else table.strung

    def answer(sink: PredictedSink) -> dict[str, Floats]:
        bare = sink.bare(line, board.measured_in)
        if table.plate is not None:
            bare = topped(table.plate.line, bare.bridge_front_mm, bare.bridge_rear_mm)
        exact = depths(bare, wanted(bare, board.targets, pull), sink)
        now = sink.moved(bare, table.working)
        thread = threaded(now, now.bridge_front_mm - exact[0], now.bridge_rear_mm - exact[1])
        top = cut(bare, depth)
        got = turned_by(sink.moved(top, table.aimed))
        after = sink.moved(top, told_in.state)
        force = boards.sink.pull_N if pull is None else pull
        pressed, turned = downforce_N(after, force), turned_by(after)
        return {
            **dict(zip(("plane_front_mm", "plane_rear_mm"), exact)),
            **dict(zip(("faired_front_mm", "faired_rear_mm"), exact)),
            "block_mm": thread.block_mm,
            "kerf_mm": thread.kerf_mm,
            "planed_front_deg": turned.front_deg,
            "planed_rear_deg": turned.rear_deg,
            "planed_net_deg": turned.net_deg,
            "you_get_deg": got.net_deg,
            "planed_sink_mm": top.top_mm - after.top_mm,
            "planed_downforce_N": pressed,
            "total": np.asarray(downforce_N(sink.moved(top, table.aimed), force).sum()),
        }

    told = {
        **{name: getattr(table, name) for name in OF_PLANING},
        **{f"planed_{name}": getattr(told_in, name) for name in OF_PLANED},
        "you_get_deg": table.faired.net_deg,
    }
    return _about(boards.half_widths(answer), told, table.faired.total_downforce_N)


def _about(half: dict[str, Floats], told: Mapping[str, Floats], total_N: float) -> Bands:
    total = float(half.pop("total"))
    return Bands(
        bands={name: (told[name] - wide, told[name] + wide) for name, wide in half.items()},
        total_N=(total_N - total, total_N + total),
    )
