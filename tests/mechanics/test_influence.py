"""Sink of the panel under the pins. Kind of every expected number: invariant (reciprocity, the same solution)."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board import Body, Outline, Panel
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.model import assembled, compliance
from bellywork.mechanics.unheld import without_rim

CORNERS = [[0, 0], [900, 0], [900, 600], [0, 600]]
CELL = 40.0
BODY = Body(
    outline=Outline(points_mm=CORNERS, support=(rim_support("glued"),) * 4),
    panel=Panel(wood=wood("sitka_spruce"), grain_deg=30.0, thickness_points_mm=[[0, 0, 8.0]]),
)
MODEL = assembled(BODY, cell_mm=CELL)
PUSHED = np.array([[300.0, 200.0], [450.0, 300.0], [700.0, 450.0]])
READ = np.array([[100.0, 100.0], [450.0, 300.0], [800.0, 300.0], [640.0, 90.0]])


def test_under_the_pushes_the_influence_is_the_compliance():
    both = MODEL.influence(PUSHED, np.vstack([PUSHED, READ]))  # solved to the end
    np.testing.assert_allclose(both[: len(PUSHED)], MODEL.compliance(PUSHED), rtol=1e-10)


def test_a_factor_used_as_it_comes_gives_the_same_compliance():
    discrete = discretised(BODY, CELL)
    np.testing.assert_allclose(
        compliance(without_rim(discrete), discrete, PUSHED), MODEL.compliance(PUSHED), rtol=1e-12
    )


def test_a_compliance_that_is_not_of_these_strains_is_refused():
    """The matrix of a panel whose modulus along the grain is greater by three millionths."""
    wood = replace(BODY.panel.wood, E_L=BODY.panel.wood.E_L * (1.0 + 3e-6))
    stiffer = discretised(replace(BODY, panel=replace(BODY.panel, wood=wood)), CELL)
    with pytest.raises(SolveError, match=r"^The compliance does not hold: a movement known beforehand comes out \d"):
        compliance(without_rim(stiffer), discretised(BODY, CELL), PUSHED)


def test_a_push_here_sinks_there_as_a_push_there_sinks_here():
    np.testing.assert_allclose(MODEL.influence(PUSHED, READ), MODEL.influence(READ, PUSHED).T, rtol=1e-9)


def test_influence_times_forces_is_the_solution():
    forces = np.array([40.0, 100.0, 15.0])
    solution = MODEL.pressed(PUSHED, forces)
    np.testing.assert_allclose(MODEL.influence(PUSHED, READ) @ forces, solution.sink_mm(READ), rtol=1e-8)
