"""The panel's points outside of whole cells. Kind of every expected number: another path (operators made whole)."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board import Body, Outline, Panel, Rib
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.energy import SLOPES, panel_strains
from bellywork.mechanics.panel import BY_DERIVATIVE, section_stiffness
from bellywork.mechanics.panel_set import PANEL_PAIRS
from bellywork.mechanics.points import PAIRS

SPRUCE = wood("sitka_spruce")
DISCRETE = discretised(
    Body(
        outline=Outline(points_mm=[[0, 0], [700, 40], [650, 500], [60, 430]], support=(rim_support("glued"),) * 4),
        panel=Panel(
            wood=SPRUCE,
            grain_deg=33.0,
            thickness_points_mm=[[0, 0, 8.0], [700, 40, 6.0], [60, 430, 7.0]],
            crown_points_mm=np.array([[300.0, 200.0, 12.0], [100.0, 300.0, 4.0]]),
        ),
        ribs=(
            Rib(name="1", wood=SPRUCE, start_mm=[150, 220], end_mm=[480, 260], width_mm=25, height_mm=20,
                end_height_mm=(20, 20), feather_mm=(0, 0)),
        ),
    ),
    60.0,
)  # fmt: skip
RANDOM = np.random.default_rng(3)
MOVED = RANDOM.normal(size=(5, DISCRETE.space.nodes))


def test_values_are_those_of_the_functions_and_forces_their_transpose() -> None:
    assert len({each.at.nodes.shape[1] for each in DISCRETE.cut}) > 1  # kinked functions among them
    assert sum(len(each.points) for each in DISCRETE.cut) > 500
    for each in DISCRETE.cut:
        values = each.values(np.ascontiguousarray(MOVED.T))
        np.testing.assert_allclose(values, each.at.interpolated(MOVED)[:, BY_DERIVATIVE], rtol=1e-12, atol=1e-12)
        forces = RANDOM.normal(size=values.shape)
        work = np.sum(each.gathered(forces, MOVED.shape[1]) * MOVED.T)
        assert work == pytest.approx(np.sum(forces * values), rel=1e-10)


def test_what_they_hold_is_that_of_operators_and_sections() -> None:
    """Under membrane forces too, which turn with the slope."""
    left_out = [pair for pair in PAIRS if pair not in PANEL_PAIRS.panel]
    for each in DISCRETE.cut:
        rows = np.arange(len(each.points)).reshape(-1, each.per_cell)
        G, C = panel_strains(each.slope), section_stiffness(each.plane, each.shear, each.thickness)
        whole = np.swapaxes(G, 1, 2) @ (each.area[:, None, None] * C) @ G
        np.testing.assert_allclose(each.on_values(rows).reshape(whole.shape), whole, rtol=1e-9, atol=1e-9 * whole.max())
        for f, g in left_out:
            assert not whole[:, 3 * f : 3 * f + 3, 3 * g : 3 * g + 3].any()
        _, energy = each.internal_forces(MOVED)
        q = each.at.interpolated(MOVED)
        assert energy == pytest.approx(0.5 * np.einsum("pq,pqr,pr->", q, whole, q), rel=1e-9)


def test_membrane_forces_turn_with_the_slope() -> None:
    each = DISCRETE.cut[0]
    pull = RANDOM.normal(size=(len(each.points), 3))
    rows = np.arange(len(each.points)).reshape(-1, each.per_cell)
    tense = replace(each, membrane_N=pull)
    more = (tense.on_values(rows) - each.on_values(rows)).reshape(-1, 15, 15)
    x, y = SLOPES
    for (a, b), expected in {(x, x): pull[:, 0], (y, y): pull[:, 1], (x, y): pull[:, 2], (y, x): pull[:, 2]}.items():
        np.testing.assert_allclose(more[:, a, b], expected, rtol=1e-6, atol=1e-6)
        more[:, a, b] = 0.0
    assert np.abs(more).max() < 1e-6
