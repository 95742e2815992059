"""The lowest resonance of an upright with its strings at pitch and slack: what strings add to the board's stiffness."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from cases import Case, Source, agrees, check
from scipy.sparse import csr_array, vstack
from scipy.sparse.linalg import LinearOperator, eigsh

from bellywork.board.wires import steel_E_MPa
from bellywork.files.read import read_board
from bellywork.geometry.string_line import run_stiffness_N_mm
from bellywork.instrument import prepared
from bellywork.mechanics.large import LargeBoard, LargeState
from bellywork.mechanics.modes import mass_points, modes
from bellywork.seasons.along import top_along
from bellywork.seasons.year import Year

UPRIGHT = Path(__file__).resolve().parents[2] / "sample_boards" / "upright"
AT_PITCH_HZ, SLACK_HZ = 115.0, 90.0


@cache
def year() -> Year:
    return Year.of(prepared(read_board(UPRIGHT).board))


def first_mode_Hz(
    board: LargeBoard, state: LargeState, told: csr_array | None = None, springs: np.ndarray | None = None
) -> float:
    """Small swings about a balance, with springs (movements, movements) in N/mm against movements told by a matrix
    (movements, 5 · nodes).

    (K + Rᵀ G R)⁻¹ = K⁻¹ − Y G (1 + R Y G)⁻¹ R K⁻¹ with Y = K⁻¹ Rᵀ (Woodbury).
    """
    numbering, points, factor = state.numbering, mass_points(board.discrete), board.tangent_at(state)
    size = numbering.size

    def solved(forces: np.ndarray) -> np.ndarray:
        return factor.solved(np.ravel(forces))

    answer = solved
    if springs is not None:
        R = numbering.by_freedoms(told)
        Y = np.column_stack([factor.solved(row) for row in R.toarray()])
        core = springs @ np.linalg.inv(np.eye(len(springs)) + (R @ Y) @ springs)

        def answer(forces: np.ndarray) -> np.ndarray:
            moved = solved(forces)
            return moved - Y @ (core @ (R @ moved))

    def weighed(x: np.ndarray) -> np.ndarray:
        return numbering.vector(points.forces(numbering.fields(np.ravel(x))))

    operators = [LinearOperator((size, size), matvec=way, dtype=float) for way in (weighed, answer)]
    start = np.random.default_rng(0).standard_normal(size)
    square = eigsh(
        operators[0], k=1, M=operators[0], sigma=0.0, OPinv=operators[1], v0=start, return_eigenvectors=False
    )
    return float(np.sqrt(square[0]) / (2.0 * np.pi))


@cache
def bare_Hz() -> float:
    ready = year().ready
    return first_mode_Hz(ready.belly.board, ready.bare_state(ready.moisture_percent))


@cache
def strung_Hz(*, pressing: bool = True, turned: bool = True, held: bool = True) -> float:
    """With the strings' forces, their stiffness against the bridge's rise, and their hold along themselves."""
    ready, n = year().ready, len(year().line.note)
    strung = year().strung(year().measured())
    pins, scale = ready.board.needed_plan("test").pins_mm, ready.board.needed_scale("test")
    state = ready.bare_state(ready.moisture_percent)
    if pressing:
        state = ready.loaded_state(pins, strung.pin_force_N, moisture_percent=ready.moisture_percent)
    front, over, rear = turned * run_stiffness_N_mm(strung.line, ready.pull_N)
    wire = held * scale.unisons * steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2
    springs, k = np.zeros((3 * n, 3 * n)), np.arange(n)
    springs[k, k], springs[k + n, k + n] = front + over, over + rear
    springs[k, k + n] = springs[k + n, k] = -over
    springs[k + 2 * n, k + 2 * n] = wire * (1.0 / strung.line.speaking_mm + 1.0 / strung.line.back_mm)
    told = csr_array(vstack([ready.belly.board.discrete.sinking(pins), top_along(year().ready)]))
    return first_mode_Hz(ready.belly.board, state, told, springs)


SOURCE = Source(
    title="Strings and the first mode",
    cite="Wogram, in Five Lectures on the Acoustics of the Piano (lecture on string tension): the lowest resonance of "
    "an upright is 115 Hz with its strings at pitch and 90 Hz with them slack (read)",
    about="The 122-cm upright of the samples, which is invented, at its balance under the strings, against the same "
    "board bare. The strings press, resist the bridge's rise by T/L of each run, and hold the bridge along them by "
    "E A/L. Their mass, the air and the plate are left out; slack strings stay on the piano of the source as mass.",
    why="30 %, a trend: it is another board, and nothing is known of its ribs, its rim and its scale. The sample is "
    "raised by more than the piano was: three quarters of it by T/L, the rest by the hold along the strings, which a "
    "plate and pins that give would lessen.",
    cases=(
        Case("strung over bare", "–", AT_PITCH_HZ / SLACK_HZ, "read", lambda: strung_Hz() / bare_Hz(), 30.0),
        Case(
            "strung over bare, without the hold along the strings", "–", AT_PITCH_HZ / SLACK_HZ, "read",
            lambda: strung_Hz(held=False) / bare_Hz(), 30.0,
        ),
        Case("strung", "Hz", AT_PITCH_HZ, "read", strung_Hz, 30.0),
        Case("bare", "Hz", SLACK_HZ, "read", bare_Hz, 30.0),
    ),
)  # fmt: skip


@check(SOURCE)
def test_against_the_published_piano(case: Case) -> None:
    agrees(case)


def test_strings_that_only_press_lower_the_first_mode() -> None:
    """Plain mechanics: a crown under load has lost part of its rise; what raises the mode is the strings' stiffness."""
    pressed = strung_Hz(turned=False, held=False)
    assert pressed < bare_Hz() < strung_Hz(held=False) < strung_Hz()


def test_without_strings_and_stress_it_is_the_boards_own_first_mode() -> None:
    """Another path of this project: the modes of the linear board."""
    model = year().ready.coarse_model
    board = LargeBoard(model.discrete)
    found = first_mode_Hz(board, board.settled(board.at_rest()))
    assert found == pytest.approx(modes(model, count=1).frequencies_Hz[0], rel=1e-5)
