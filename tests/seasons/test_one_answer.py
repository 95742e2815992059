"""One question, one answer: at the humidity of the measurement every command says the same. Kind: invariant."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from bellywork_viewer.situation import Desk, Setting, Shown

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.what_if import Change, what_if
from bellywork.board import State
from bellywork.board.scheme import Scheme
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared
from bellywork.schemes.assessed import assessed, base_of
from bellywork.seasons.at_climate import bearing_at, plane_at
from bellywork.seasons.year import season

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
DEG, MM = 0.005, 0.01


@pytest.fixture(scope="module", params=["lopsided_board", "upright"])
def ready(request: pytest.FixtureRequest) -> Instrument:
    return prepared(read_board(SAMPLES / request.param).board)


def test_the_strung_bearing(ready: Instrument) -> None:
    net, here = bearing(ready, state=State.STRUNG).net_deg, ready.rh_percent
    desk = Desk(ready=ready, panel_mm=np.zeros((0, 2)))
    scheme = Scheme(name="own", ribs=ready.board.needed_body("a test").ribs)
    others = {
        "season": season(ready, rh_percent=[here]).net_deg[0],
        "bearing --rh": bearing_at(ready, rh_percent=here, state=State.STRUNG).net_deg,
        "what if nothing": what_if(ready, Change()).bearing.net_deg,
        "viewer": desk.situation(Setting(shown=Shown.STRUNG)).net_deg,
        "viewer at that humidity": desk.situation(Setting(shown=Shown.STRUNG, rh_percent=here)).net_deg,
        "schemes": assessed(base_of(ready), scheme, with_modes=False).net_deg,
    }
    for name, other in others.items():
        np.testing.assert_allclose(other, net, atol=DEG, err_msg=name)


def test_the_depth_to_plane(ready: Instrument) -> None:
    schedule, here = plane(ready), ready.rh_percent
    other = plane_at(ready, rh_percent=[here])
    seen = Desk(ready=ready, panel_mm=np.zeros((0, 2))).situation(Setting())
    for row, drawn in (("plane_front_mm", seen.plane_front_mm), ("plane_rear_mm", seen.plane_rear_mm)):
        np.testing.assert_allclose(getattr(other, row), getattr(schedule, row), atol=MM)
        np.testing.assert_allclose(drawn, getattr(schedule, row), atol=MM)


def test_strung_heights_lead_to_the_same_board(ready: Instrument) -> None:
    """Measured bare and led to the strung state, or measured strung there and led back."""
    strung = bearing(ready, state=State.STRUNG)
    read = prepared(replace(ready.board, strings=strung.line, measured_in=State.STRUNG))
    back = bearing(read, state=State.BARE).line
    bare = bearing(ready, state=State.BARE).line
    np.testing.assert_allclose(back.top_mm, bare.top_mm, atol=MM)
    np.testing.assert_allclose(plane(read).plane_front_mm, plane(ready).plane_front_mm, atol=MM)
