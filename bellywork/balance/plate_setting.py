"""The plate set first: a rigid body on its supports, moved so that every note can be planed to its target."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.depth import depths
from bellywork.balance.sink import Sink
from bellywork.balance.wanted import wanted
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.plate import LEVER_MM, Plate, PlateMove
from bellywork.board.strings import StringLine, StringPlan
from bellywork.errors import SolveError
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import plate_moved, run_mm

ROUNDS = 20
MOVE_TOLERANCE_MM = 1e-6
BINDING_MM = 1e-4


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateSetting(PlateMove):
    """How the plate is to be set, and what follows.

    supports, move_mm                 name of each support and its move, up positive
    mean_depth_mm, mean_depth_before_mm
                                      wood to plane, mean of all notes and both pin rows, with this setting and without
    short_mm                          the worst shortage of wood or cap left; 0 where every note can be planed to target
    binding                           the notes that hold the setting where it is
    line                              the string line, bare, with the plate so set
    by_hand                           True where the move was given, not sought
    """

    supports: tuple[str, ...]
    move_mm: Floats
    mean_depth_mm: float
    mean_depth_before_mm: float
    short_mm: float
    binding: tuple[int, ...]
    line: StringLine
    by_hand: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class _Motion:
    """Small rigid motion of the plate: columns height (and, with a plan, tilt in x and in y) at each kind of place."""

    front: Floats
    rear: Floats
    supports: Floats

    def lifted_top(self, line: StringLine) -> Floats:
        """Rows for the wanted bridge top at all front, then all rear pins: it goes with the straight line F to R."""
        share = line.speaking_mm / run_mm(line), (line.speaking_mm + line.rows_mm) / run_mm(line)
        return np.vstack([(1.0 - s)[:, None] * self.front + s[:, None] * self.rear for s in share])


def set_plate(board: Board, bare: StringLine, sink: Sink) -> PlateSetting:
    """The setting of the plate that lets every note be planed to its target with the least wood.

    board   with its notes complete; bare   its string line at bare heights

    Unknown are the height and, where the strings' plan is known, two tilts. First the worst shortage (wood lacking at a
    pin row, or cap lacking under the notches) is made as small as it can be, then the wood removed; each a linear
    programme (HiGHS), repeated about its last answer until the plate rests, since heights follow the tilts not quite in
    proportion. Limits are the moves left at each support. A strut moves with the strings under it, so its clearance is
    no limit here.

    Raises SolveError where the supports leave no setting at all.
    """
    motion = _motion(board, bare)
    at = np.zeros(motion.front.shape[1])
    line, depth = _depths_at(board, bare, sink, motion, at)
    before = float(np.mean(np.maximum(depth, 0.0)))
    most = _most(board, bare)
    for _ in range(ROUNDS):
        goal, lacking = _least_wood(board.plate, motion, motion.lifted_top(line), depth, most, at)
        step, at = np.max(np.abs(goal - at)), goal
        line, depth = _depths_at(board, bare, sink, motion, at)
        if step <= MOVE_TOLERANCE_MM:
            return _setting(board, line, motion, at, depth, most, before, lacking)
    raise SolveError(f"The plate's setting did not come to rest in {ROUNDS} rounds.")


def given_plate(board: Board, bare: StringLine, sink: Sink, move: PlateMove) -> PlateSetting:
    """What follows from a setting of the plate that was decided elsewhere.

    board   with its notes complete; bare   its string line at bare heights

    Raises MissingLayer for a tilt without the strings' plan.
    """
    motion = _motion(board, bare)
    if move.tilts:
        board.needed_plan("A tilt of the plate")
    at = np.array([move.up_mm, move.tilt_x_mm_per_m, move.tilt_y_mm_per_m])[: motion.front.shape[1]]
    _, before = _depths_at(board, bare, sink, motion, np.zeros(len(at)))
    line, depth = _depths_at(board, bare, sink, motion, at)
    most = _most(board, bare)
    lacking = max(0.0, float(np.nanmax(np.fmax(-depth, depth - most))))
    mean = float(np.mean(np.maximum(before, 0.0)))
    return replace(_setting(board, line, motion, at, depth, most, mean, lacking), by_hand=True)


def _most(board: Board, bare: StringLine) -> Floats:
    """What the caps let one plane at most, at all front, then all rear pins; NaN where a cap is not described."""
    return np.tile(bare.cap_mm - board.rules.notch_mm - board.rules.cap_least_mm, 2)


def _least_wood(
    plate: Plate, motion: _Motion, lifted: Floats, depth: Floats, most: Floats, at: Floats
) -> tuple[Floats, float]:
    """The motion of least wood near `at`, and the shortage that no motion avoids, in mm."""
    from scipy.optimize import linprog

    n = lifted.shape[1]
    capped = np.isfinite(most)
    reach = depth + lifted @ at  # depth without any motion, to first order
    rows = np.vstack([lifted, -lifted[capped], motion.supports, -motion.supports])
    shortage = np.concatenate([np.ones(len(reach) + int(capped.sum())), np.zeros(2 * len(plate.supports))])
    limit = np.concatenate(
        [
            reach,
            (most - reach)[capped],
            [support.highest_move_mm for support in plate.supports],
            [-support.lowest_move_mm for support in plate.supports],
        ]
    )
    free = [(None, None)] * n
    first = linprog(np.append(np.zeros(n), 1.0), np.column_stack([rows, -shortage]), limit, bounds=[*free, (0.0, None)])
    if first.status != 0:
        raise SolveError(f"The supports leave no setting of the plate: {first.message}")
    lacking = float(first.x[-1]) if first.x[-1] > MOVE_TOLERANCE_MM else 0.0
    slack = (lacking + 1e-9) * shortage
    second = linprog(-lifted.sum(axis=0), rows, limit + slack, bounds=free)
    if second.status != 0:
        raise SolveError(f"No setting of the plate was found: {second.message}")
    return np.asarray(second.x), lacking


def _depths_at(board: Board, bare: StringLine, sink: Sink, motion: _Motion, at: Floats) -> tuple[StringLine, Floats]:
    """The line with the plate moved, and the depth to plane at all front, then all rear pins."""
    line = plate_moved(bare, motion.front @ at, motion.rear @ at)
    want = wanted(line, board.targets, None if board.scale is None else pull_N(board.scale, line))
    return line, np.concatenate(depths(line, want, sink))


def _motion(board: Board, line: StringLine) -> _Motion:
    plan: StringPlan | None = board.plan
    places = board.plate.support_places_mm
    if plan is None:
        n = len(line.note)
        return _Motion(front=np.ones((n, 1)), rear=np.ones((n, 1)), supports=np.ones((len(places), 1)))
    return _Motion(front=_levers(plan.front_mm), rear=_levers(plan.rear_mm), supports=_levers(places))


def _levers(places_mm: Floats) -> Floats:
    return np.column_stack([np.ones(len(places_mm)), places_mm / LEVER_MM])


def _setting(
    board: Board,
    line: StringLine,
    motion: _Motion,
    at: Floats,
    depth: Floats,
    most: Floats,
    before: float,
    lacking: float,
) -> PlateSetting:
    n = len(line.note)
    room = np.fmin(depth, most - depth) + lacking
    binding = np.flatnonzero(np.minimum(room[:n], room[n:]) <= BINDING_MM)
    tilt = at[1:] if len(at) == 3 else np.zeros(2)
    return PlateSetting(
        up_mm=float(at[0]),
        tilt_x_mm_per_m=float(tilt[0]),
        tilt_y_mm_per_m=float(tilt[1]),
        supports=tuple(support.name for support in board.plate.supports),
        move_mm=motion.supports @ at,
        mean_depth_mm=float(np.mean(np.maximum(depth, 0.0))),
        mean_depth_before_mm=before,
        short_mm=lacking,
        binding=tuple(line.note[binding].tolist()),
        line=line,
    )
