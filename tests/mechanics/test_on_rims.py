"""A board held in other ways: what the rim adds is taken off and put on. Kind: independent path (assembled anew)."""

import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board.body import RimSupport
from bellywork.board.rims import rim_support
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.mechanics import discrete
from bellywork.mechanics.discrete import discretised
from bellywork.mechanics.model import assembled, on_rim
from bellywork.mechanics.unheld import without_rim

CELL_MM = 40.0
SOFT = RimSupport(name="soft", vertical_N_mm2=30.0, inplane_N_mm2=7.0, rotation_N=900.0)
READY = prepared(read_board(Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board").board)
BODY, PINS = READY.board.needed_body("a test"), READY.board.needed_plan("a test").pins_mm


@pytest.mark.parametrize("held", ["glued", "clamped", "hinged"])
def test_each_other_rim_is_that_of_a_board_assembled_on_it(held: str) -> None:
    own = BODY.outline.supported(rim_support(held))
    others = [BODY.outline.supported(rim) for rim in (SOFT, rim_support("hinged"), rim_support("clamped"))]
    others.append(replace(others[-1], support=(SOFT, *others[-1].support[1:])))  # clamped but for one side
    start = discretised(replace(BODY, outline=own), CELL_MM)
    unheld = without_rim(start)
    for outline in others:
        model = on_rim(unheld, start.held_by(outline))
        anew = assembled(replace(BODY, outline=outline), cell_mm=CELL_MM)
        np.testing.assert_allclose(model.compliance(PINS), anew.compliance(PINS), rtol=1e-6, atol=1e-12)
        assert model.discrete.body.outline is outline


def test_grids_of_one_board_are_laid_one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its outline is one prepared polygon, which two threads may not ask for the first time at once: GEOS crashes."""
    inside, most = [], []

    def laid(body: object, cell_mm: float) -> float:
        inside.append(cell_mm)
        most.append(len(inside))
        time.sleep(0.05)
        inside.pop()
        return cell_mm

    monkeypatch.setattr(discrete, "_discretised", laid)
    with ThreadPoolExecutor(2) as threads:
        assert list(threads.map(lambda cell: discretised(BODY, cell), (40.0, 60.0))) == [40.0, 60.0]
    assert most == [1, 1]
