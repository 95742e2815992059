"""What must hold of large deflection and of swelling, whatever the board."""

from dataclasses import replace

import numpy as np
import pytest
from test_board_mechanics import CORNERS, POINTS, SPRUCE, board

from bellywork.board import Body, Outline, Panel, RimSupport
from bellywork.board.arrays import Floats
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.large import LargeBoard
from bellywork.mechanics.model import assembled

CELL = 50.0
FORCES = np.array([100.0, 300.0, 200.0, 50.0])
BENCH = RimSupport(name="bench", vertical_N_mm2=1e-4, inplane_N_mm2=1e-4, rotation_N=0.0)


def test_the_large_answer_tends_to_the_linear_one_monotonically() -> None:
    """Limit: as the load goes to zero, the share by which the two differ goes to zero, each time by about as much."""
    large, linear = LargeBoard(discretised(board(), CELL)), assembled(board(), cell_mm=CELL)
    apart = []
    for share in (1.0, 0.5, 0.25, 0.125):
        state = large.settled(large.pushes(POINTS, share * FORCES))
        exact = linear.pressed(POINTS, share * FORCES).sink_mm(POINTS)
        apart.append(float(np.abs(large.sink_mm(state.fields, POINTS) / exact - 1.0).max()))
    assert apart[0] > apart[1] > apart[2] > apart[3]
    assert apart[3] / apart[2] == pytest.approx(0.5, abs=0.1)


def test_a_free_flat_panel_swells_without_stress() -> None:
    """Nothing holds it and nothing is glued to it: it grows as it would by itself."""
    body = Body(
        outline=Outline(points_mm=CORNERS, support=(BENCH,) * len(CORNERS)),
        panel=Panel(wood=SPRUCE, grain_deg=130.0, thickness_points_mm=[[0, 0, 8.0]]),
    )
    free = LargeBoard(discretised(body, CELL))
    growth = np.zeros(8)
    growth[:3] = (0.003, 0.001, 0.0005)
    state = free.settled(free.at_rest(), free={"panel": growth})
    held = np.abs(SPRUCE.E_L * growth[0] * 8.0)
    assert np.abs(state.inner.membrane_N_mm).max() < 1e-3 * held
    assert np.abs(free.sink_mm(state.fields, POINTS)).max() < 1e-6
    still = free.settled(free.at_rest(), free={"panel": 0.0 * growth})  # where nothing at all is out of balance
    led = free.settled(free.at_rest(), free={"panel": growth}, start=still)
    assert np.abs(led.fields[:2]).max() == pytest.approx(np.abs(state.fields[:2]).max(), rel=1e-6)


def test_no_load_and_no_moisture_move_nothing() -> None:
    rest = LargeBoard(discretised(board(), CELL))
    state = rest.settled(rest.at_rest())
    assert np.abs(state.fields).max() < 1e-12
    assert state.inner.energy < 1e-15


def test_the_path_out_and_back_returns_to_the_start() -> None:
    large = LargeBoard(discretised(board(), CELL))
    loads = [large.pushes(POINTS, share * FORCES) for share in (0.2, 1.0)]
    start = large.settled(loads[0])
    back = large.settled(loads[0], start=large.settled(loads[1], start=start))
    assert large.sink_mm(back.fields, POINTS) == pytest.approx(large.sink_mm(start.fields, POINTS), rel=1e-6)


def test_the_give_about_a_balance_is_how_balances_differ() -> None:
    """Independent: two balances under loads a little more and less; and the same by a tangent that is kept."""
    large, little = LargeBoard(discretised(board(), CELL)), 0.5
    state = large.settled(large.pushes(POINTS, FORCES))
    given = large.compliance(state, POINTS)
    for k in range(len(POINTS)):
        more, less = (
            large.settled(large.pushes(POINTS, FORCES + sign * little * np.eye(len(POINTS))[k]), start=state).fields
            for sign in (1.0, -1.0)
        )
        apart = large.sink_mm(more, POINTS) - large.sink_mm(less, POINTS)
        assert apart / (2.0 * little) == pytest.approx(given[k], rel=1e-4)
    large.tangent_at(state)
    assert large.compliance(state, POINTS) == pytest.approx(given, rel=1e-12)


def test_loads_that_follow_the_board_are_in_balance_with_it() -> None:
    """Invariant: springs on the bridge, pressed as far as it still stands above where they are at rest."""
    large = LargeBoard(discretised(board(), CELL))
    spring = FORCES / 3.0  # N/mm, at rest 3 mm below

    def pressed(fields: Floats) -> Floats:
        return large.pushes(POINTS, np.maximum(spring * (3.0 - large.sink_mm(fields, POINTS)), 0.0))

    seen: list[Floats] = []

    def renewed(fields: Floats) -> Floats | None:
        now = pressed(fields)
        stands = bool(seen) and np.abs(now - seen[-1]).max() < 1e-7 * np.abs(now).max()
        seen.append(now)
        return None if stands else now

    state = large.settled(pressed(large.at_rest()), start=large.resting(), renewed=renewed)
    assert len(seen) > 3
    assert np.abs(state.inner.forces - pressed(state.fields)).max() < 1e-5 * np.abs(pressed(state.fields)).max()
    assert large.sink_mm(state.fields, POINTS).max() > 0.2


def test_energy_is_the_work_of_the_load_along_its_path() -> None:
    """Energy = ∫ load · d(sink), by Simpson's rule over the path."""
    large = LargeBoard(discretised(board(), CELL))
    shares = np.linspace(0.0, 1.0, 9)
    states = [large.settled(large.pushes(POINTS, share * FORCES)) for share in shares]
    along = np.array([FORCES @ large.sink_mm(state.fields, POINTS) for state in states])
    # ∫ s d(along) = [s · along] − ∫ along ds
    simpson = np.array([1, 4, 2, 4, 2, 4, 2, 4, 1]) / 24.0
    assert states[-1].inner.energy == pytest.approx(along[-1] - simpson @ along, rel=1e-4)


def test_a_board_pressed_beyond_what_it_bears_says_so_and_how_far_it_came() -> None:
    """A crowned strip of panel, hinged at its two ends, snaps through; it says how far it could be followed."""
    held = RimSupport(name="hinge", vertical_N_mm2=np.inf, inplane_N_mm2=np.inf, rotation_N=0.0)
    loose = RimSupport(name="free", vertical_N_mm2=0.0, inplane_N_mm2=0.0, rotation_N=0.0)
    x, y = (each.ravel() for each in np.meshgrid(np.linspace(-20, 620, 33), np.linspace(-20, 120, 8)))
    body = Body(
        outline=Outline(points_mm=[[0, 0], [600, 0], [600, 100], [0, 100]], support=(loose, held, loose, held)),
        panel=replace(
            board().panel,
            grain_deg=0.0,
            thickness_points_mm=np.array([[0.0, 0.0, 8.0]]),
            crown_points_mm=np.column_stack([x, y, 25.0 * (1.0 - (x / 300.0 - 1.0) ** 2)]),
        ),
    )
    arch = LargeBoard(discretised(body, 25.0))
    middle, force = np.array([[300.0, 50.0]]), np.array([5000.0])
    start = arch.settled(arch.at_rest())
    with pytest.raises(SolveError, match=r"^The path could be followed to \d+ % only\. The board "):
        arch.followed(start, load=(arch.at_rest(), arch.pushes(middle, force)), free=({}, {}))
