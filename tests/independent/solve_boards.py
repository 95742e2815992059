"""Solves the boards as solids, mesh after mesh, and keeps what comes out in data/, one file for each board.

python tests/independent/solve_boards.py [fineness ...] [words of a board's name ...]

Without a fineness: 1 to 4, some minutes and up to 4 GB for a board. The tests read the files and solve one small
case anew; a file belongs to its board's description by its fingerprint.
"""

from __future__ import annotations

import itertools
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from boards import BOARDS
from bricks import Solid
from mesh_lines import ACROSS_MM
from shapes import TestBoard

DATA = Path(__file__).parent / "data"
FINENESSES = (1, 2, 3, 4)
PINS_UP_TO = 3  # twenty loads more
# Strains are singular at the edges along which ribs and bridges are glued on, so that the sinks settle with a power
# below 2. Found on the oblique board's first three meshes; the next mesh of every board tells whether it holds.
ORDER = 1.5


def kept(board: TestBoard) -> Path:
    """The file of a board."""
    return DATA / (re.sub(r"[^a-z0-9]+", "_", board.name.lower()).strip("_") + ".json")


def moves(finer: np.ndarray, coarser: np.ndarray) -> dict[str, float]:
    """How far the sinks move between two meshes, in % of the finer's, or of a quarter of its greatest under a load."""
    size = np.maximum(np.abs(finer), np.abs(finer).max(axis=0) / 4.0)
    change = 100.0 * (finer - coarser) / size
    rms, worst = float(np.sqrt(np.mean(change**2))), float(np.abs(change).max())
    return {"rms_percent": round(rms, 3), "worst_percent": round(worst, 3)}


def sinks_of(mesh: dict) -> np.ndarray:
    """Sinks (reads, loads) of a kept mesh, mm/N."""
    return 1e-6 * np.array(list(mesh["nm_per_N"].values())).T


def pins_of(mesh: dict) -> np.ndarray:
    """Compliance at the pins of a kept mesh, mm/N."""
    return 1e-6 * np.array(mesh["pins_nm_per_N"])


def settled(meshes: list[dict], of: Callable[[dict], np.ndarray] = sinks_of) -> np.ndarray:
    """What the last two meshes lead to: their error falls with the size of a brick to the power of ORDER."""
    coarser, finer = meshes[-2:]
    shrunk = (finer["fineness"] / coarser["fineness"]) ** ORDER
    return of(finer) + (of(finer) - of(coarser)) / (shrunk - 1.0)


def settled_moves(meshes: list[dict]) -> dict[str, float]:
    """How far `settled` moved when the last mesh came in."""
    return moves(settled(meshes), settled(meshes[:-1]))


def solved(board: TestBoard, fineness: int) -> dict:
    """What is kept of one mesh: its size, the sinks at the read points by load, the pins' compliance."""
    solid = Solid(board, fineness)
    pins = board.pins() if fineness <= PINS_UP_TO else ()
    reads = np.array([*board.reads, *((pin.x, pin.y) for pin in pins)])
    sinks = np.round(1e6 * solid.influence(board.loads + pins, reads), 3)
    n, m = len(board.reads), len(board.loads)
    mesh: dict = {"fineness": fineness, "across_mm": round(ACROSS_MM / fineness, 2), "unknowns": len(solid.free)}
    mesh["nm_per_N"] = {load.name: sinks[:n, k].tolist() for k, load in enumerate(board.loads)}
    if pins:
        mesh["pins_nm_per_N"] = sinks[n:, m:].tolist()
    return mesh


def extended(board: TestBoard, finenesses: tuple[int, ...]) -> None:
    """Solve what is not kept yet of a board, and keep it."""
    data: dict = json.loads(kept(board).read_text(encoding="utf-8")) if kept(board).exists() else {}
    if data.get("fingerprint") != board.fingerprint():
        data = {"board": board.name, "fingerprint": board.fingerprint(), "meshes": []}
    for fineness in finenesses:
        had = [mesh for mesh in data["meshes"] if mesh["fineness"] == fineness]
        wanted = "pins_nm_per_N" if board.strings and fineness <= PINS_UP_TO else "nm_per_N"
        if not had or wanted not in had[0]:
            data["meshes"] = [mesh for mesh in data["meshes"] if mesh not in had] + [solved(board, fineness)]
            data["meshes"].sort(key=lambda mesh: mesh["fineness"])
            for coarser, mesh in itertools.pairwise(data["meshes"]):
                mesh["moved"] = moves(sinks_of(mesh), sinks_of(coarser))
            kept(board).write_text(_lines(data), encoding="utf-8")
            print(board.name, [mesh.get("moved") for mesh in data["meshes"]], flush=True)  # noqa: T201


def _lines(data: dict) -> str:
    """JSON with each list of numbers on one line."""
    text = json.dumps(data, indent=1)
    return re.sub(r"\[\s+([-\d.,\s]+?)\s+\]", lambda m: "[" + re.sub(r"\s+", " ", m[1]) + "]", text) + "\n"


def main(words: list[str]) -> None:
    """Solve the boards whose names hold one of the words, or all."""
    finenesses = tuple(int(word) for word in words if word.isdigit()) or FINENESSES
    DATA.mkdir(exist_ok=True)
    for part in [word for word in words if not word.isdigit()] or [""]:
        for board in BOARDS.values():
            if part in board.name:
                extended(board, finenesses)


if __name__ == "__main__":
    main(sys.argv[1:])
