"""Writes docs/boards.md: ten ribbed boards against solids, board by board and point by point, and the stepped strips.

python tests/independent/write_boards_page.py
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from boards import BOARDS, CHOOSING, UNDER_STRINGS, described
from compare import GOAL_RMS, GOAL_WORST, compared, points, solids
from solve_boards import settled_moves
from strung import by_hand, ours

from bellywork.mechanics.model import DEFAULT_CELL_MM

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "mechanics"))
import test_free_ends as strips  # noqa: E402

PAGE = ROOT / "docs" / "boards.md"
OPENING = f"""\
# Ribbed boards against solids

Made by `python tests/independent/write_boards_page.py`; a test fails when a figure here is no longer what is computed.

Ten invented boards, lopsided, each also computed as a solid by scikit-fem (`tests/independent/`), with meshes made
finer until the sinks hardly moved (fourth column). Ours has cells of {DEFAULT_CELL_MM:g} mm, the default. A difference
is in % of the solid's sink there; where a point sinks less than a quarter of the greatest under that load, in % of that
quarter. The aim is {GOAL_RMS:g} % rms and {GOAL_WORST:g} % at the worst point. The theory was chosen on the boards
called choosing; [theory.md](theory.md) says what had been seen of the others by then.

Where a point lies near a held rim the difference hangs on how the grid falls: over cells of 22 to 28 mm the worst point
of the board with unequal ribs goes from 4 to 8 %, while its rms stays between 1.3 and 1.5 %.
"""


def board_row(name: str) -> str:
    """A board's line of the table."""
    found, moved = compared(name, DEFAULT_CELL_MM), settled_moves(solids(name)["meshes"])
    part = "choosing" if BOARDS[name] in CHOOSING else "held back"
    return (
        f"| {name} | {described(BOARDS[name])} | {part} | {moved['rms_percent']:.2f} / {moved['worst_percent']:.2f} "
        f"| {found.rms:.2f} | {found.worst:.2f} |"
    )


def strung_row(name: str) -> str:
    """A strung board's line: net bearing by hand on the solid's compliance, and the most by which ours is off."""
    hand, off = by_hand(BOARDS[name]), ours(BOARDS[name]) - by_hand(BOARDS[name])
    return f"| {name} | {hand.min():.3f} to {hand.max():.3f} | {np.abs(off).max():.3f} |"


def strip_row(kind: str, turned_deg: float, stiff: float, panel: str) -> str:
    """A stepped strip's line: the greatest difference over six places of the end in its cell."""
    layers = strips.PANELS[panel]
    off = [
        100.0
        * (
            strips.ours(kind, bare, layers, stiff, turned_deg, DEFAULT_CELL_MM)
            / strips.layered(bare, layers, stiff, kind=kind)
            - 1.0
        )
        for bare in strips.ENDS
    ]
    return f"| {kind}, {panel} | {turned_deg:g} | {stiff:g} | {min(off):+.2f} to {max(off):+.2f} |"


STRIPS = [
    (kind, turned, stiff, panel)
    for kind, turned in (("bridge", 0.0), ("bridge", 35.0), ("rib", 0.0))
    for stiff in (1.0, 10.0)
    for panel in strips.PANELS
]


def page() -> str:
    """The whole page."""
    return "\n".join(
        [
            OPENING,
            "| board | | part | solid moved, rms / worst, % | ours: rms, % | worst, % |",
            "|---|---|---|---|---|---|",
            *(board_row(name) for name in BOARDS),
            "",
            "## Under strings",
            "",
            "Net bearing: statics worked by hand on the solid's compliance against `bearing` in the strung state.",
            "",
            "| board | by hand, ° | ours off by at most, ° |",
            "|---|---|---|",
            *(strung_row(board.name) for board in UNDER_STRINGS),
            "",
            "## Strips with a stiffener that ends inside",
            "",
            "A strip on rollers, the end at six places of its cell; the reference is the same layers in one dimension.",
            "Aim: 3 % at the default cell.",
            "",
            "| stiffener, panel | grid turned, ° | shear, times wood's | sink off, % |",
            "|---|---|---|---|",
            *(strip_row(*each) for each in STRIPS),
            "",
            "## Point by point",
            "",
            *(f"```text\n{points(name, DEFAULT_CELL_MM)}\n```\n" for name in BOARDS),
        ]
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
