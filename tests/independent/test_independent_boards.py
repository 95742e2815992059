"""Ribbed boards of our own drawing against solids by scikit-fem; see boards.py, bricks.py and solve_boards.py."""

from __future__ import annotations

import numpy as np
import pytest
from boards import BOARDS, CHOOSING, HELD_BACK, UNDER_STRINGS
from bricks import Solid
from compare import solids
from shapes import Bar, Patch, TestBoard, Timber
from solve_boards import settled_moves, sinks_of
from strung import by_hand, compliance_at_pins

SETTLED_PERCENT = 0.5


@pytest.mark.parametrize("name", BOARDS)
def test_the_solids_hardly_move_with_a_finer_mesh(name):
    meshes = solids(name)["meshes"]
    moved = [mesh["moved"]["rms_percent"] for mesh in meshes[1:]]
    assert len(moved) >= 2
    assert np.all(np.diff(moved) < 0.0)
    assert settled_moves(meshes)["rms_percent"] < SETTLED_PERCENT


@pytest.mark.parametrize("name", [CHOOSING[0].name, HELD_BACK[3].name])
def test_the_kept_sinks_are_what_the_library_gives(name):
    """The coarsest mesh anew: flat ribs, and a bridge oblique to ribs and grain."""
    board = BOARDS[name]
    live = Solid(board, 1).influence(board.loads, np.array(board.reads))
    assert live == pytest.approx(sinks_of(solids(name)["meshes"][0]), rel=1e-4, abs=1e-9)


def test_bricks_agree_with_a_solid_of_other_hands():
    """Panel 600 × 400 × 8 mm with three flat ribs, computed apart from this project with 50 000 nodes.

    Within 0.6 %: bricks of 12 mm against a mesh three times as fine.
    """
    panel = Timber("panel", 11_000.0, 850.0, 470.0, 750.0, 720.0, 35.0, 0.37, 0.44, 0.47)
    rib = Timber("rib", 12_000.0, 850.0, 470.0, 750.0, 720.0, 35.0, 0.37, 0.44, 0.47)
    known = {(225.0, 200.0): 0.0544, (300.0, 100.0): 0.0409, (150.0, 200.0): 0.01465, (375.0, 300.0): 0.0283}
    ribs = tuple(Bar(x, 25.0, 22.0, (0.0, 400.0), wood=rib) for x in (150.0, 300.0, 450.0))
    load = Patch("middle", 300.0, 200.0, 2.0, 2.0)
    board = TestBoard("three ribs", 600.0, 400.0, (8.0, 8.0), ribs, (), (load,), tuple(known), wood=panel)
    sinks = 100.0 * Solid(board, 2).influence(board.loads, np.array(board.reads))[:, 0]
    assert sinks == pytest.approx(np.array(list(known.values())), rel=0.006)


@pytest.mark.parametrize("board", UNDER_STRINGS, ids=lambda board: board.name)
def test_it_matters_little_that_strings_press_the_top_and_the_middle_is_read(board):
    """Such a compliance is not quite symmetric (2.5 % of its greatest); the net hears less than 0.005° of that."""
    C = compliance_at_pins(board)
    assert np.linalg.eigvalsh((C + C.T) / 2.0).min() > 0.0
    assert by_hand(board) == pytest.approx(by_hand(board, C.T), abs=0.005)
