"""The kept response of a board against the full large deflection, for loads of other size and shape than its anchor.

Kind of every expected number: independent path (the full board, solved for each load on the grid that the response took
its large deflection from), and the bound that the balance may be off by, 0.03 mm.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board.state import CrownMethod, Making
from bellywork.files.read import read_board
from bellywork.geometry.string_line import pin_forces_N
from bellywork.instrument import Instrument, prepared
from bellywork.mechanics.making import made
from bellywork.mechanics.model import DEFAULT_CELL_MM
from bellywork.mechanics.response import Anchor, Response

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
BOUND_MM = 0.03


@pytest.fixture(scope="module")
def ready() -> Instrument:
    return prepared(read_board(SAMPLES / "lopsided_board").board)


@pytest.fixture(scope="module")
def pins(ready: Instrument) -> np.ndarray:
    return ready.board.needed_plan("a test").pins_mm


@pytest.fixture(scope="module")
def force(ready: Instrument) -> np.ndarray:
    return np.concatenate(pin_forces_N(ready.board.needed_strings("a test"), ready.pull_N))


def full_mm(ready: Instrument, pins: np.ndarray, force: np.ndarray, moisture: float) -> np.ndarray:
    """Sink of the full board, its small-force part moved to the fine grid as the response has it."""
    board, bare = ready.belly.board, ready.bare_state(moisture)
    loaded = ready.loaded_state(pins, force, moisture_percent=moisture)
    sink = board.sink_mm(loaded.fields, pins) - board.sink_mm(bare.fields, pins)
    return sink + (ready.model.compliance(pins) - board.compliance(ready.belly.plain, pins)) @ force


@pytest.mark.parametrize("moisture", [0.0, 2.0], ids=["as measured", "damper by 2 %"])
@pytest.mark.parametrize(
    "shape",
    [
        lambda n: np.full(n, 0.5),
        lambda n: np.full(n, 1.3),
        lambda n: np.where(np.arange(n) < n / 2, 1.4, 0.7),
        lambda n: np.where(np.arange(n) < 0.6 * n, 1.0, 0.0),
        lambda n: np.random.default_rng(7).uniform(0.5, 1.5, n),
    ],
    ids=["half", "a third more", "bass heavy", "treble off", "scattered"],
)
def test_other_loads_than_the_anchors(ready, pins, force, shape, moisture):
    at = ready.moisture_percent + moisture
    if moisture and ready.board.making is None:
        pytest.skip("another moisture needs the making")
    response = ready.response(pins, moisture_percent=at, anchor_N=force)
    load = force * np.tile(shape(len(force) // 2), 2)
    np.testing.assert_allclose(response.sink_mm(load), full_mm(ready, pins, load, at), atol=BOUND_MM)


def test_at_its_anchor_it_is_exact_in_value_and_slope(ready, pins, force):
    here = ready.moisture_percent
    response = ready.response(pins, moisture_percent=here, anchor_N=force)
    np.testing.assert_allclose(response.sink_mm(force), full_mm(ready, pins, force, here), atol=1e-9)
    for step in (1e-3 * force, 1e-3 * force * np.linspace(-1.0, 2.0, len(force))):
        slope = response.sink_mm(force + step) - response.sink_mm(force - step)
        truth = full_mm(ready, pins, force + step, here) - full_mm(ready, pins, force - step, here)
        np.testing.assert_allclose(slope, truth, rtol=1e-3, atol=1e-6)


def test_a_large_deflection_is_there_to_be_missed(ready, pins, force):
    """The bound means something: the answer in proportion to small forces is off by more than it."""
    here = ready.moisture_percent
    small = ready.response(pins, moisture_percent=here)
    assert np.abs(small.sink_mm(force) - full_mm(ready, pins, force, here)).max() > 1e-3


def lopsided() -> Response:
    C = np.array([[3.0, 1.0, 0.2], [1.0, 2.0, 0.4], [0.2, 0.4, 4.0]]) * 1e-3
    T = C + np.array([[0.6, 0.1, 0.0], [0.1, 0.2, 0.1], [0.0, 0.1, 0.4]]) * 1e-3
    f0 = np.array([100.0, 40.0, 60.0])
    return Response(small_mm_N=C, anchor=Anchor(force_N=f0, sink_mm=C @ f0 + 0.45 * (T - C) @ f0, tangent_mm_N=T))


def test_no_force_no_sink_and_the_slope_there_is_that_of_small_forces():
    response = lopsided()
    np.testing.assert_array_equal(response.sink_mm(np.zeros(3)), 0.0)
    step = np.array([0.02, -0.01, 0.03])
    np.testing.assert_allclose(response.sink_mm(step), response.small_mm_N @ step, rtol=1e-3)


def test_far_beyond_the_anchor_it_goes_straight_on():
    response, f0 = lopsided(), lopsided().anchor.force_N
    a, b, c = (response.sink_mm(k * f0) for k in (1.6, 1.8, 2.0))
    np.testing.assert_allclose(b - a, c - b, rtol=1e-12)


def test_a_board_twice_as_soft_sinks_the_same_under_half_the_force():
    response, load = lopsided(), np.array([80.0, 70.0, 20.0])
    np.testing.assert_allclose(response.softened(2.0).sink_mm(load / 2.0), response.sink_mm(load), rtol=1e-12)


def test_it_goes_to_arrays_and_back():
    response, load = lopsided(), np.array([80.0, 70.0, 20.0])
    np.testing.assert_array_equal(Response.of(response.arrays).sink_mm(load), response.sink_mm(load))
    plain = Response(small_mm_N=response.small_mm_N)
    assert Response.of(plain.arrays).anchor is None


def test_further_points_follow_behind():
    response, load = lopsided(), np.array([80.0, 70.0, 20.0])
    twice = response.followed_by(response)
    np.testing.assert_allclose(twice.sink_mm(load), np.tile(response.sink_mm(load), 2), rtol=1e-12)
    assert twice.places == 3
    np.testing.assert_array_equal(twice.place_sink_mm(load), response.sink_mm(load))


@pytest.mark.parametrize("size", [0.3, 1.0, 1.4, 1.8])
def test_its_slope_is_that_of_its_sink(size):
    response = lopsided()
    load = size * np.array([80.0, 70.0, 20.0])
    steps = 1e-3 * np.eye(3)
    slope = np.stack([(response.sink_mm(load + d) - response.sink_mm(load - d)) / 2e-3 for d in steps], axis=1)
    np.testing.assert_allclose(response.slope_mm_N(load), slope, rtol=1e-6, atol=1e-12)


def test_a_compression_crowned_board_is_that_of_the_fine_grid_itself() -> None:
    """Independent path: the same board made flat, glued in and led to its moisture on the fine grid as a whole.

    Taking the small forces from the crowned board and the change from the flat one would count the crown's stiffness
    twice: up to 7 % on the compression-crowned grand.
    """
    board = read_board(SAMPLES / "lopsided_board").board
    making = Making(method=CrownMethod.COMPRESSION, panel_moisture_percent=5.5, glued_in_moisture_percent=6.5)
    ready = prepared(replace(board, making=making))
    pins = ready.board.needed_plan("a test").pins_mm
    fine = made(ready.board.needed_body("a test"), making, cell_mm=DEFAULT_CELL_MM)
    truth = fine.board.compliance(fine.at_moisture(ready.moisture_percent), pins)
    given = ready.response(pins, moisture_percent=ready.moisture_percent).small_mm_N
    np.testing.assert_allclose(np.diag(given), np.diag(truth), rtol=0.015)


def test_a_balance_all_but_met_is_corrected_and_another_is_sought(pins, force):
    """Against the balance itself: where the load differs by a ten-thousandth, and by a tenth."""
    ready = prepared(read_board(SAMPLES / "lopsided_board").board)
    here = ready.moisture_percent
    ready.loaded_state(pins, force, moisture_percent=here)
    for share, found in ((0.9e-4, 1), (0.1, 2)):
        load = force * (1.0 + share * np.linspace(-1.0, 1.0, len(force)))
        fields = ready.loaded_fields(pins, load, moisture_percent=here)
        assert len(ready.loaded_met(pins, here)) == found
        fresh = prepared(read_board(SAMPLES / "lopsided_board").board)
        truth = fresh.loaded_state(pins, load, moisture_percent=here).fields
        moved = ready.belly.board.sink_mm(fields - truth, pins)
        assert np.abs(moved).max() < 2e-6
        before = ready.belly.board.sink_mm(truth - ready.loaded_state(pins, force, moisture_percent=here).fields, pins)
        assert np.abs(before).max() > 1e-5
