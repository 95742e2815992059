"""What threads lack of what was made, on the lopsided sample. Kinds of expected numbers: hand values from its tables;
differences; another path through the estimate."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.board.state import State
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import LoadedBoard
from bellywork.estimate.threads import rib_threads
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.survey.lacking import lacking_of, rib_lines
from bellywork.survey.set_field import Lacking
from bellywork.survey.stiffness import Taken, taken

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"


@cache
def made() -> tuple[Estimate, LoadedBoard, Taken, Lacking]:
    estimate = estimated(prepared(read_board(LOPSIDED).board))
    body = estimate.ready.board.needed_body("test")
    threads, _ = rib_threads(body, estimate.ready.board.readings)
    model = LoadedBoard.of(estimate.ready, threads)
    took = taken(estimate, model)
    return estimate, model, took, lacking_of(rib_lines(body), estimate, model, took)


def of_thread(k: int) -> np.ndarray:
    return np.flatnonzero(made()[3].thread == k)


def test_ribs_between_the_rims_are_as_long_and_as_high_as_they_were_made() -> None:
    """By hand: 500²/8/13 000 and 760²/8/15 000; of rib c the longer of the two pieces that the bay leaves, 425 to 800
    of its 800 on an arc of 16 m: 375²/8/16 000; d is flat."""
    lines = rib_lines(made()[0].ready.board.needed_body("test"))
    assert [line.length_mm for line in lines] == pytest.approx([500.0, 760.0, 375.0, 325.0], abs=0.1)
    assert [line.made_mm for line in lines] == pytest.approx([2.404, 4.813, 1.099, 0.0], abs=0.02)
    assert lines[0].along(np.array([[150.0, 200.0], [0.0, 400.0]])) == pytest.approx([0.0, 1.0])
    assert lines[0].away_mm(np.array([[150.0, 200.0], [300.0, 0.0], [330.0, -40.0]])) == pytest.approx([0.0, 0.0, 50.0])


def test_what_is_lacking_in_the_dry_is_what_was_made_less_what_was_read() -> None:
    """Bare at the description's humidity neither load nor air takes anything. Rib a was made as 4 x (1 − x) of 2.40."""
    _, model, _, lacking = made()
    (k,) = [
        k
        for k, thread in enumerate(model.threads)
        if (thread.rib.name, thread.state, thread.climate.rh_percent) == ("a", State.BARE, 42.0)
    ]
    here, thread = of_thread(k), model.threads[k]
    arc = 4.0 * lacking.share[here] * (1.0 - lacking.share[here]) * 2.402
    np.testing.assert_allclose(lacking.gone_mm[here], arc - thread.height_mm, atol=0.02)
    np.testing.assert_allclose(lacking.read_mm[here], thread.height_mm)
    np.testing.assert_allclose(lacking.scatter_mm[here], 0.25 / SIGMAS)
    assert np.all(lacking.doubt_mm[here] == 0.0)
    assert np.all(lacking.free)  # the ends of every thread were read


def test_a_thread_whose_ends_were_not_read_is_held_by_them() -> None:
    estimate, model, took, lacking = made()
    inner = tuple(
        replace(thread, position_mm=thread.position_mm + 60.0) if k == 1 else thread
        for k, thread in enumerate(model.threads)
    )
    lines = rib_lines(model.ready.board.needed_body("test"))
    free = lacking_of(lines, estimate, replace(model, threads=inner), took).free
    assert np.flatnonzero(~free).tolist() == [1]
    assert lacking.free.all()


def test_doubt_has_the_shape_of_what_it_doubts_and_its_middle_is_the_threads_own() -> None:
    """At the middle of a strung thread in the damp an unknown moves load less damp by the slope of the thread's middle;
    elsewhere by as much as load, or air, has there of its middle."""
    estimate, model, took, lacking = made()
    weather = [unknown.key for unknown in estimate.unknowns].index("weather")
    (k,) = [k for k, t in enumerate(model.threads) if (t.rib.name, t.state) == ("b", State.STRUNG)]
    here = of_thread(k)
    slopes = took.slope_mm[k]
    assert abs(slopes[weather]) > 0.5
    for unknown in (int(np.argmax(np.abs(np.delete(slopes, weather)))), weather):
        shape = lacking.doubt_mm[here, unknown] / slopes[unknown]
        assert np.interp(0.5, lacking.share[here], shape) == pytest.approx(1.0, abs=0.06)
        assert shape[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-9)
        assert np.all(shape[1:-1] > 0.1)


def test_a_reading_shares_its_error_with_what_it_taught() -> None:
    """Another path: the estimate made anew with one reading of the bare rib b 0.2 mm higher. What came back was then
    more, so the board is softer, by the gain of the pair."""
    estimate, model, _, lacking = made()
    (k,) = [
        k for k, t in enumerate(model.threads) if (t.rib.name, t.state, t.climate.rh_percent) == ("b", State.BARE, 42.0)
    ]
    here = of_thread(k)[3]
    place = model.threads[k].position_mm[3]
    board = estimate.described.board
    moved = tuple(
        replace(each, value=each.value + 0.2)
        if (each.place, each.state, each.climate.rh_percent, each.position_mm) == ("b", State.BARE, 42.0, place)
        else each
        for each in board.readings
    )
    assert sum(a is not b for a, b in zip(moved, board.readings)) == 1
    other = estimated(prepared(replace(board, readings=moved)))
    told = lacking.shared[:, here] / lacking.scatter_mm[here] ** 2
    change = (other.value - estimate.value) / 0.2
    size = np.sqrt(np.diag(estimate.covariance))
    assert np.linalg.norm((told - change) / size) < 0.15 * np.linalg.norm(change / size)
