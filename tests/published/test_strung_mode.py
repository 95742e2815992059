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
ROUNDS, SETTLED_HZ = 6, 0.1


@cache
def year() -> Year:
    return Year.of(prepared(read_board(UPRIGHT).board))


def first_mode_Hz(
    board: LargeBoard, state: LargeState, held: tuple[csr_array, np.ndarray, np.ndarray] | None = None
) -> float:
    """Small swings about a balance; `held`: movements told by a matrix R (movements, freedoms), how the board answers a
    unit force against each, Y = K⁻¹ Rᵀ, and springs G against them (movements, movements) in N/mm.

    (K + Rᵀ G R)⁻¹ = K⁻¹ − Y G (1 + R Y G)⁻¹ R K⁻¹ (Woodbury).
    """
    numbering, points, factor = state.numbering, mass_points(board.discrete), board.tangent_at(state)
    size = numbering.size

    def solved(forces: np.ndarray) -> np.ndarray:
        return factor.solved(np.ravel(forces))

    answer = solved
    if held is not None:
        R, Y, springs = held
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


def swung(x: np.ndarray) -> np.ndarray:
    """What a string that swings along has of its stiffness at rest, x cot x with x = π f/f₀, f₀ its own lowest mode.

    Below f₀/2 it is a spring, above that a mass, and near f₀ without bounds both ways. Notes are a semitone apart and
    lie close about any frequency, so each is taken as the mean over its semitone: ∫ cot x dx = ln |sin x|.
    """
    low, high = x * 2.0 ** (-1.0 / 24.0), x * 2.0 ** (1.0 / 24.0)
    return np.asarray(x * (np.log(np.abs(np.sin(high))) - np.log(np.abs(np.sin(low)))) / (high - low))


@cache
def strung_Hz(*, swings: bool = True, **words: bool) -> float:
    """The first mode with its strings; `swings`: their stiffness goes with its frequency, which they find together."""
    found = with_strings_Hz(0.0, **words)
    for _ in range(ROUNDS if swings else 0):
        before, found = found, with_strings_Hz(found, **words)
        if abs(found - before) < SETTLED_HZ:
            return found
    assert not swings, "the strings and the first mode did not settle together"
    return found


@cache
def pressed(pressing: bool) -> tuple[LargeState, csr_array, np.ndarray]:
    """The board under the strings' forces, or bare; the moves that strings hold; how it answers a force on each."""
    ready = year().ready
    pins, state = ready.board.needed_plan("test").pins_mm, ready.bare_state(ready.moisture_percent)
    if pressing:
        force = year().strung(year().measured()).pin_force_N
        state = ready.loaded_state(pins, force, moisture_percent=ready.moisture_percent)
    told = csr_array(vstack([ready.belly.board.discrete.sinking(pins), top_along(ready)]))
    moves, factor = state.numbering.by_freedoms(told), ready.belly.board.tangent_at(state)
    return state, moves, np.column_stack([factor.solved(row) for row in moves.toarray()])


@cache
def with_strings_Hz(at_Hz: float, *, pressing: bool = True, turned: bool = True, held: bool = True) -> float:
    """With the strings' forces, their stiffness against the bridge's rise as it is at a frequency, and their hold along
    themselves.
    """
    ready, n = year().ready, len(year().line.note)
    line, scale = year().strung(year().measured()).line, ready.board.needed_scale("test")
    front, over, rear = turned * run_stiffness_N_mm(line, ready.pull_N)
    if at_Hz > 0.0:
        own_Hz = scale.pitch_Hz * 2.0 ** ((scale.note - 49.0) / 12.0)
        front = front * swung(np.pi * at_Hz / own_Hz)
    wire = held * scale.unisons * steel_E_MPa() * np.pi / 4.0 * scale.wire_mm**2
    springs, k = np.zeros((3 * n, 3 * n)), np.arange(n)
    springs[k, k], springs[k + n, k + n] = front + over, over + rear
    springs[k, k + n] = springs[k + n, k] = -over
    springs[k + 2 * n, k + 2 * n] = wire * (1.0 / line.speaking_mm + 1.0 / line.back_mm)
    state, moves, answers = pressed(pressing)
    return first_mode_Hz(ready.belly.board, state, (moves, answers, springs))


SOURCE = Source(
    title="Strings and the first mode",
    cite="Wogram, in Five Lectures on the Acoustics of the Piano (lecture on string tension): the lowest resonance of "
    "an upright is 115 Hz with its strings at pitch and 90 Hz with them slack (read)",
    about="The 122-cm upright of the samples, which is invented, at its balance under the strings, against the same "
    "board bare. The strings press, resist the bridge's rise by T/L of each run, and hold the bridge along them by "
    "E A/L. Speaking lengths swing along: at a frequency f a string whose own is f₀ has x cot x of its T/L, "
    "x = π f/f₀, its mass with it, and those below two f₀ are masses, not springs. The mass of the back lengths, the "
    "air and the plate are left out; slack strings stay on the piano of the source as mass.",
    why="30 %, a trend: it is another board, and nothing is known of its ribs, its rim and its scale. The sample is "
    "raised by more than the piano was. In squares, which is stiffness for a mass, its strings add 6400 Hz² without "
    "their hold along themselves and 8900 with it, the piano's 5125. Nearly three quarters of the sample's T/L are "
    "those of its back lengths, 58 to 90 mm, whose measure on the piano is not known, and its bare board is softer: "
    "were it at 90 Hz, the same strings would raise it by 1.34 and 1.45. That strings swing along takes 3 % off; that "
    "their pressure lowers the mode is in it.",
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


def test_a_string_that_swings_along_is_a_spring_then_a_mass() -> None:
    """Closed form: at rest all of T/L; near it x cot x = 1 − x²/3, a third of its mass; none at half its own frequency;
    a mass between there and its own, whose mean over a semitone at its own is bounded. 0.0002 is the semitone.
    """
    assert swung(np.array([1e-3]))[0] == pytest.approx(1.0, abs=2e-4)
    assert swung(np.array([0.3]))[0] == pytest.approx(1.0 - 0.3**2 / 3.0, abs=1e-3)
    assert swung(np.array([np.pi / 2.0]))[0] == pytest.approx(0.0, abs=0.01)
    assert swung(np.array([2.2]))[0] == pytest.approx(2.2 / np.tan(2.2), rel=0.01)
    assert abs(swung(np.array([np.pi]))[0]) < 1.0
    assert 0.95 < strung_Hz() / strung_Hz(swings=False) < 0.99


def test_without_strings_and_stress_it_is_the_boards_own_first_mode() -> None:
    """Another path of this project: the modes of the linear board."""
    model = year().ready.coarse_model
    board = LargeBoard(model.discrete)
    found = first_mode_Hz(board, board.settled(board.at_rest()))
    assert found == pytest.approx(modes(model, count=1).frequencies_Hz[0], rel=1e-5)
