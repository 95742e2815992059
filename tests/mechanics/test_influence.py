"""Sink of the panel under the pins. Kind of every expected number: invariant (reciprocity, the same solution)."""

import numpy as np

from bellywork.board import Body, Outline, Panel
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.mechanics.model import assembled

CORNERS = [[0, 0], [900, 0], [900, 600], [0, 600]]
MODEL = assembled(
    Body(
        outline=Outline(points_mm=CORNERS, support=(rim_support("glued"),) * 4),
        panel=Panel(wood=wood("sitka_spruce"), grain_deg=30.0, thickness_points_mm=[[0, 0, 8.0]]),
    ),
    cell_mm=40.0,
)
PUSHED = np.array([[300.0, 200.0], [450.0, 300.0], [700.0, 450.0]])
READ = np.array([[100.0, 100.0], [450.0, 300.0], [800.0, 300.0], [640.0, 90.0]])


def test_under_the_pushes_the_influence_is_the_compliance():
    np.testing.assert_allclose(MODEL.influence(PUSHED, PUSHED), MODEL.compliance(PUSHED), rtol=1e-10)


def test_a_push_here_sinks_there_as_a_push_there_sinks_here():
    np.testing.assert_allclose(MODEL.influence(PUSHED, READ), MODEL.influence(READ, PUSHED).T, rtol=1e-9)


def test_influence_times_forces_is_the_solution():
    forces = np.array([40.0, 100.0, 15.0])
    solution = MODEL.pressed(PUSHED, forces)
    np.testing.assert_allclose(MODEL.influence(PUSHED, READ) @ forces, solution.sink_mm(READ), rtol=1e-8)
