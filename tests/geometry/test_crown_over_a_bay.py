"""The crown of the lopsided sample. Kind of every expected number: worked out by hand from its tables.

Rib c, R 16 m, stands on the panel in two pieces, 325 and 375 mm long, either side of a bay: each rises over its own
chord, 325²/8R = 0.825 and 375²/8R = 1.099 mm, not over the whole 800 mm (5.0 mm), and the rim round the bay is at 0.
"""

from pathlib import Path

import numpy as np
import pytest

from bellywork.files.read import read_board
from bellywork.geometry.crown_surface import crown_surface

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"


def test_a_rib_across_a_bay_rises_over_each_of_its_pieces() -> None:
    body = read_board(LOPSIDED).board.needed_body("test")
    rise = crown_surface(body).rise_mm
    (rib,) = [rib for rib in body.ribs if rib.name == "c"]
    # from its start (925, 0) to the bay at (730, 260), and from (670, 340) to its end (445, 640)
    pieces = rib.pieces_within(body.outline)
    np.testing.assert_allclose(pieces, [[0.0, 325.0], [425.0, 800.0]], atol=1e-9)
    middles = rib.points_at(pieces.mean(axis=1))
    assert rise(middles) == pytest.approx([0.825, 1.099], abs=0.02)
    assert rise(rib.points_at(np.array([325.0, 425.0]))) == pytest.approx([0.0, 0.0], abs=0.1)
    a, b = (rib.points_at(rib.length_mm / 2.0)[None] for rib in body.ribs[:2])
    assert rise(a) == pytest.approx(2.404, abs=0.02)
    assert rise(b) == pytest.approx(4.813, abs=0.04)
