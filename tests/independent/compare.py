"""Our boards against the solids: rms and worst difference of the sinks, board by board and cell by cell.

python tests/independent/compare.py [cell in mm ...] [--points]

Without cells: the default and 30, 20, 10 mm. With --points every point of every board is listed as well.
A difference is given in % of the solid's sink there; where a point sinks less than a quarter of the greatest sink under
the load, in % of that quarter. This was settled before any comparison was made.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from functools import cache

import numpy as np
from boards import BOARDS, CHOOSING, described
from shapes import Patch, TestBoard
from solve_boards import kept, settled, settled_moves

from bellywork.mechanics.model import DEFAULT_CELL_MM, assembled

GOAL_RMS, GOAL_WORST = 2.5, 5.0  # %
LEAST_SHARE = 0.25


@dataclass(frozen=True)
class Compared:
    """Sinks of the solid and ours, mm/N, and their difference in %: arrays (points, loads)."""

    solid: np.ndarray
    ours: np.ndarray

    @property
    def percent(self) -> np.ndarray:
        size = np.maximum(np.abs(self.solid), LEAST_SHARE * np.abs(self.solid).max(axis=0))
        return 100.0 * (self.ours - self.solid) / size

    @property
    def rms(self) -> float:
        return float(np.sqrt(np.mean(self.percent**2)))

    @property
    def worst(self) -> float:
        return float(np.abs(self.percent).max())


@cache
def solids(name: str) -> dict:
    """What is kept of a board's solid; fails where it was made of another description."""
    data = json.loads(kept(BOARDS[name]).read_text(encoding="utf-8"))
    assert data["fingerprint"] == BOARDS[name].fingerprint(), f"{name}: solve it anew, python solve_boards.py {name}"
    return data


def influence(board: TestBoard, cell_mm: float, patches: tuple[Patch, ...], reads: np.ndarray) -> np.ndarray:
    """Our sinks of the panel at reads for 1 N on each patch, (reads, patches), mm/N."""
    model = assembled(board.body(), cell_mm=cell_mm)
    return np.stack([model.pressed(*patch.pushes()).panel_sink_mm(reads) for patch in patches], axis=1)


@cache
def compared(name: str, cell_mm: float) -> Compared:
    """A board against its solid."""
    board = BOARDS[name]
    return Compared(
        solid=settled(solids(name)["meshes"]), ours=influence(board, cell_mm, board.loads, np.array(board.reads))
    )


def table(cells: tuple[float, ...]) -> str:
    """rms / worst in % by board (rows) and cell (columns)."""
    head = " | ".join(f"{cell:g} mm" for cell in cells)
    rows = [f"| board | part | solid moved, rms / worst | {head} |", "|---|---|---|" + "---|" * len(cells)]
    for board in BOARDS.values():
        last = settled_moves(solids(board.name)["meshes"])
        found = [compared(board.name, cell) for cell in cells]
        figures = " | ".join(f"{each.rms:.2f} / {each.worst:.2f}" for each in found)
        part = "choosing" if board in CHOOSING else "held back"
        moved = f"{last['rms_percent']:.2f} / {last['worst_percent']:.2f}"
        rows.append(f"| {board.name} | {part} | {moved} | {figures} |")
    return "\n".join(rows)


def points(name: str, cell_mm: float) -> str:
    """Point by point: solid, ours, difference."""
    board, found = BOARDS[name], compared(name, cell_mm)
    rows = [f"{name} ({described(board)}), cells of {cell_mm:g} mm, sinks in µm/N"]
    for k, load in enumerate(board.loads):
        rows.append(f"  load: {load.name} ({load.x:.0f}, {load.y:.0f})")
        for (x, y), s, o, d in zip(board.reads, found.solid[:, k], found.ours[:, k], found.percent[:, k]):
            rows.append(f"    ({x:5.1f}, {y:5.1f})  {1e3 * s:8.4f}  {1e3 * o:8.4f}  {d:+6.2f} %")
    return "\n".join(rows)


def main(words: list[str]) -> None:
    """Print the table."""
    cells = tuple(float(word) for word in words if word.replace(".", "").isdigit())
    cells = cells or tuple(dict.fromkeys((DEFAULT_CELL_MM, 30.0, 20.0, 10.0)))
    print(table(cells))  # noqa: T201
    if "--points" in words:
        for name in BOARDS:
            print(points(name, cells[0]))  # noqa: T201


if __name__ == "__main__":
    main(sys.argv[1:])
