"""Lines of a board's mesh in plan: column lines along ribs' edges and bridges' ends, row lines along bridges' edges and
where feathers stop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapes import Beam, TestBoard

ACROSS_MM = 26.0  # mean size of a brick in plan at fineness 1
CROWDED = 0.5  # 0: alike


@dataclass(frozen=True)
class Lines:
    """Crossings of column and row lines (columns, rows), and how many bricks lie between neighbouring ones."""

    x: np.ndarray
    y: np.ndarray
    columns: list[int]
    rows: list[int]


def _filled(xs: np.ndarray, known: dict[float, float]) -> np.ndarray:
    """A row's y at every column: given at some, straight between and level beyond."""
    at = sorted(known)
    return np.interp(xs, at, [known[x] for x in at])


def lines(board: TestBoard, fineness: int) -> Lines:
    """The lines of a board's mesh."""
    edges = {0.0, board.length}
    for rib in board.ribs:
        edges |= {rib.x - rib.width / 2.0, rib.x + rib.width / 2.0}
    for beam in board.bridges:
        edges |= {beam.start[0], beam.end[0]}
        first, pitch, length = beam.kerfs
        if beam.notch:
            starts = beam.start[0] + first + pitch * np.arange(int((beam.length - first - length) / pitch) + 1)
            edges |= set(starts.tolist()) | set((starts + length).tolist())
    xs = np.array(sorted(edges))
    rows = [np.zeros(len(xs)), *_feather_rows(board, xs, 0)]
    for beam in sorted(board.bridges, key=lambda each: each.start[1]):
        rows += [_edge_row(beam, xs, side) for side in (-1.0, 1.0)]
    rows += [*_feather_rows(board, xs, 1)[::-1], np.full(len(xs), board.breadth)]
    y = np.array(rows).T
    x = np.repeat(xs[:, None], y.shape[1], axis=1)
    for beam in board.bridges:
        for along, place in ((0.0, beam.start[0]), (beam.length, beam.end[0])):
            i = int(np.searchsorted(xs, place))
            for side in (-1.0, 1.0):
                corner = beam.at(along, side * beam.width / 2.0)
                j = int(np.argmin(np.abs(y[i] - corner[1])))
                x[i, j], y[i, j] = corner
    assert np.all(np.diff(y, axis=1) > 1.0), board.name
    assert np.all(np.diff(x, axis=0) > 1.0), board.name
    return Lines(
        x=x,
        y=y,
        columns=[fineness * max(1, round(dx / ACROSS_MM)) for dx in np.diff(xs)],
        rows=[fineness * max(1, round(dy / ACROSS_MM)) for dy in np.diff(y, axis=1).mean(axis=0)],
    )


def _feather_rows(board: TestBoard, xs: np.ndarray, end: int) -> list[np.ndarray]:
    """Rows at the ribs' own ends and where their feathers stop, from the rim inwards."""
    away = [rib.span[0] if end == 0 else board.breadth - rib.span[1] for rib in board.ribs]
    stop = [start + rib.feathers[end] for start, rib in zip(away, board.ribs)]
    rows = []
    if any(away):
        rows.append({rib.x: a for rib, a in zip(board.ribs, away)})
    if any(rib.feathers[end] for rib in board.ribs):
        least = max(away) + 20.0 if any(away) else 20.0
        rows.append({rib.x: s if rib.feathers[end] else least for rib, s in zip(board.ribs, stop)})
    out = []
    for row in rows:
        both = {rib.x + side * rib.width / 2.0: row[rib.x] for rib in board.ribs for side in (-1.0, 1.0)}
        inwards = _filled(xs, both)
        out.append(inwards if end == 0 else board.breadth - inwards)
    return out


def _edge_row(beam: Beam, xs: np.ndarray, side: float) -> np.ndarray:
    """The row along a bridge's edge, level beyond its ends."""
    on_edge = beam.start[1] + np.tan(beam.turn) * (xs - beam.start[0]) + side * beam.width / 2.0 / np.cos(beam.turn)
    first, last = (beam.at(along, side * beam.width / 2.0) for along in (0.0, beam.length))
    y = np.where(xs <= beam.start[0], first[1], on_edge)
    return np.where(xs >= beam.end[0], last[1], y)


def refined(corners: np.ndarray, counts: list[int], axis: int) -> np.ndarray:
    """Values at all lines, straight between the given ones along an axis, the lines crowded towards these.

    Where a rib or a bridge is glued on, strains gather at its edge: cells there are about half as long as the others.
    """
    start = np.append(0, np.cumsum(counts))
    at = np.arange(start[-1] + 1)
    first = np.clip(np.searchsorted(start, at, side="right") - 1, 0, len(counts) - 1)
    share = (at - start[first]) / np.array(counts)[first]
    share = share - CROWDED * np.sin(2.0 * np.pi * share) / (2.0 * np.pi)
    low, high = (np.take(corners, first + k, axis=axis) for k in (0, 1))
    share = share[:, None] if axis == 0 else share[None, :]
    return low + share * (high - low)
