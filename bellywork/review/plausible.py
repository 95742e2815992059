"""Slips of reading and typing that leave every cell in its bounds: read down, another unit, a height out of family."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.board.strings import StringLine
from bellywork.conventions import note_name
from bellywork.findings import Finding, Level, Place
from bellywork.geometry.scale import tension_N
from bellywork.geometry.string_line import bearing
from bellywork.geometry.unison import outer_strings
from bellywork.measures import counted

HEIGHTS = ("front_height", "bridge_front", "bridge_rear", "rear_height")
READ_DOWN_DEG = -1.0  # no board bears so little at every note; common practice, no source
# All within so little of the level, and hardly any bearing: no shop lays its level so near; common practice, no source
NEAR_LEVEL_MM, LITTLE_DEG = 12.0, 0.8
UNITS_MEANT = (("cm", 10.0), ("in", 25.4))
FAMILY = 3  # neighbours looked at on either side
LEAST_FAMILY = 9  # notes of a section, nearly all of them read
OUT_OF_FAMILY_MM, SCATTERS = 0.68, 4.0  # found on readings good to ±0.1 mm: tests/review/test_plausible.py counts
END_SCATTER = 1.3  # neighbours on one side only say less surely
MOST_STRAYS = 2
JUMP = 1.6  # tension of a string to that of the next note of the bridge; common practice, no source


def plausible(board: Board, whole: Board) -> list[Finding]:
    """Findings on the strings as they were read; `whole` is the same board with every note."""
    line = board.needed_strings("The review")
    down = _read_down(line)
    found = down or _unit(line)
    if not found:
        found = _out_of_family(line)
    return found + (_jumps(board, whole) + _wide_unisons(whole) if board.scale is not None else [])


def _read_down(line: StringLine) -> list[Finding]:
    net = bearing(line).net_deg
    if np.any(net >= 0.0) or np.median(net) > READ_DOWN_DEG:
        return []
    return [
        Finding(
            code="heights-read-down",
            place=Place(file="notes.csv", column="bridge_front", note=int(line.note[np.argmin(net)])),
            found=f"a net bearing under 0° at every note, down to {net.min():.2f}°",
            expected="heights that count upwards from one level",
            remedy='Were they read down from a straightedge? Then write heights = "down" under [measured].',
        )
    ]


def _unit(line: StringLine) -> list[Finding]:
    """Heights in another unit than the header's make a bearing too small by that factor."""
    heights = np.array([line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm])
    net = float(np.median(bearing(line).net_deg))
    if not line.levelled or heights.min() <= 0.0 or heights.max() > NEAR_LEVEL_MM or net > LITTLE_DEG:
        return []
    meant = [
        f"in {unit} ({heights.min() * factor:.0f} to {heights.max() * factor:.0f} mm, {net * factor:.1f}° net)"
        for unit, factor in UNITS_MEANT
        if 20.0 < heights.max() * factor < 250.0
    ]
    return [
        Finding(
            code="heights-small",
            place=Place(file="notes.csv", column="bridge_front"),
            found=f"heights of {heights.min():.1f} to {heights.max():.1f} mm, with {net:.2f}° net in the middle",
            expected="heights over a level farther off than that",
            remedy=f"Were they read {' or '.join(meant) or 'in another unit'}? Then correct the unit in the header.",
            level=Level.ADVICE,
        )
    ]


def _out_of_family(line: StringLine) -> list[Finding]:
    """Heights that leave the run of their neighbours."""
    off: dict[int, dict[str, float]] = {}
    columns = (line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm)
    for places in line.sections.values():
        for bridge in dict.fromkeys(line.bridge[i] for i in places):
            at = np.array([i for i in places if line.bridge[i] == bridge])
            note = line.note[at]
            if len(at) < LEAST_FAMILY or note[-1] - note[0] > 1.5 * len(at):
                continue
            for name, heights in zip(HEIGHTS, columns):
                for k, beside in _strays(note, heights[at]):
                    off.setdefault(int(note[k]), {})[name] = beside
    return [_stray(note, by) for note, by in sorted(off.items())]


def _strays(note: Ints, heights: Floats) -> list[tuple[int, float]]:
    """Places out of family and how far; the worst is taken out and the rest looked through again.

    Many of them are none: the run has a step, as from agraffes to a bar.
    """
    left = np.arange(len(note))
    found: list[tuple[int, float]] = []
    while len(left) >= LEAST_FAMILY - 2:
        away = _against_neighbours(note[left].astype(float), heights[left])
        scatter = 1.4826 * float(np.median(np.abs(away)))  # of a normal distribution, from its median
        sure = np.ones(len(left))
        sure[[0, -1]] = END_SCATTER
        worst = int(np.argmax(np.abs(away) / sure))
        if abs(away[worst]) <= sure[worst] * max(OUT_OF_FAMILY_MM, SCATTERS * scatter):
            return found
        if len(found) == MOST_STRAYS:
            return []
        found.append((int(left[worst]), float(away[worst])))
        left = np.delete(left, worst)
    return []


def _against_neighbours(note: Floats, heights: Floats) -> Floats:
    """Each height less what its neighbours say there: the middle one of the straight lines through pairs of them.

    The pairs stand on either side, as far off as each other; near an end also beyond it. One stray spoils one pair.
    """
    n = len(note)
    away = np.zeros(n)
    for k in range(n):
        pairs = [(k - far, k + far) for far in range(1, FAMILY + 1) if 0 <= k - far and k + far < n]
        if len(pairs) < FAMILY:
            inward = 1 if k < n / 2 else -1
            pairs += [(k + inward * one, k + inward * two) for one, two in ((1, 3), (2, 4), (3, 5))]
        said = [heights[a] + (heights[b] - heights[a]) * (note[k] - note[a]) / (note[b] - note[a]) for a, b in pairs]
        away[k] = heights[k] - float(np.median(said))
    return away


def _stray(note: int, by: dict[str, float]) -> Finding:
    worst = max(by, key=lambda name: round(abs(by[name]), 3))
    how = " and ".join(f"{name} {abs(mm):.1f} mm {'above' if mm > 0.0 else 'below'}" for name, mm in by.items())
    return Finding(
        code="height-out-of-family",
        place=Place(file="notes.csv", column=worst, note=note),
        found=f"{how} the run of its neighbours at {note_name(note)}",
        expected=f"heights that run smoothly along the bridge, within {OUT_OF_FAMILY_MM:g} mm",
        remedy="Read it again before you cut: the schedule follows it.",
        level=Level.ADVICE,
    )


def _wide_unisons(whole: Board) -> list[Finding]:
    """Unisons that would reach past the next note's middle string, in front, at the pins or behind."""
    line, scale = whole.needed_strings("The review"), whole.needed_scale("The review")
    if whole.plan is None or scale.spread_mm is None:
        return []
    outer = outer_strings(line, whole.plan, scale.spread_mm)
    beyond = np.isfinite(scale.spread_mm) & ~np.isfinite(outer.left.net_deg + outer.right.net_deg)
    if not beyond.any() or len(line.note) < 2:
        return []
    first, more = int(np.argmax(beyond)), int(np.count_nonzero(beyond)) - 1
    return [
        Finding(
            code="unison-wide",
            place=Place(file="scale.csv", column="spread", note=int(line.note[first])),
            found=f"outer strings {scale.spread_mm[first]:g} mm apart"
            + (f" (and {counted(more, 'note')} more)" if more else ""),
            expected="a unison that ends before the next note's middle string in string_plan.csv",
            remedy="Check its unit: it is the distance between the outer strings of one note.",
        )
    ]


def _jumps(board: Board, whole: Board) -> list[Finding]:
    """Tensions that jump from note to note where the scale changes between two of its rows, or within a kind."""
    line, scale = whole.needed_strings("The review"), whole.needed_scale("The review")
    pull = tension_N(scale, line)
    given = set(board.needed_scale("The review").note.tolist())
    found = []
    for k in range(len(line.note) - 1):
        here, after = int(line.note[k]), int(line.note[k + 1])
        ratio = max(pull[k + 1] / pull[k], pull[k] / pull[k + 1])
        if line.bridge[k] != line.bridge[k + 1] or after - here != 1 or ratio <= JUMP:
            continue
        guessed = not {here, after} <= given
        found.append(
            Finding(
                code="tension-jump",
                place=Place(file="scale.csv", column="wire", note=here),
                found=f"{pull[k]:.0f} N of tension at note {here} and {pull[k + 1]:.0f} N at note {after}",
                expected="tensions that run on from note to note",
                remedy=(
                    "Unisons or wrap change between two rows of the scale: give a row on both sides of the change."
                    if guessed
                    else "Check wire, wrap and unisons of the two notes."
                ),
                level=Level.ADVICE,
            )
        )
    return found
