"""The thin-plate spline against scipy's, and what must hold of any."""

import numpy as np
import pytest
from scipy.interpolate import RBFInterpolator

from bellywork.board import Body, Outline, Panel
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.errors import BoardError
from bellywork.geometry.crown_surface import crown_surface, smooth_field

RANDOM = np.random.default_rng(11)
POINTS = RANDOM.uniform([-200.0, 900.0], [1300.0, 2400.0], (60, 2))
VALUES = RANDOM.normal(0.0, 5.0, 60)
AT = RANDOM.uniform([-300.0, 800.0], [1400.0, 2500.0], (400, 2))


def test_it_is_the_general_library_s_spline() -> None:
    """Independent: scipy.interpolate.RBFInterpolator, kernel thin_plate_spline."""
    theirs = RBFInterpolator(POINTS, VALUES, kernel="thin_plate_spline")(AT)
    np.testing.assert_allclose(smooth_field(POINTS, VALUES)(AT), theirs, atol=1e-8)


def test_a_plane_stays_a_plane_and_points_are_met() -> None:
    plane = 3.0 + POINTS @ [0.01, -0.02]
    np.testing.assert_allclose(smooth_field(POINTS, plane)(AT), 3.0 + AT @ [0.01, -0.02], atol=1e-9)
    np.testing.assert_allclose(smooth_field(POINTS, VALUES)(POINTS), VALUES, atol=1e-8)


def test_points_nearer_than_a_millimetre_count_once() -> None:
    twice = np.vstack([POINTS, POINTS[:5] + 0.01])
    assert np.isfinite(smooth_field(twice, np.append(VALUES, VALUES[:5]))(AT)).all()


def test_points_on_one_line_are_refused() -> None:
    line = np.linspace(0.0, 1.0, 9)[:, None] * [300.0, 100.0]
    with pytest.raises(BoardError, match=r"^A smooth surface needs points that do not all lie on one line\.$"):
        smooth_field(line, np.zeros(9))


def test_a_measured_crown_goes_on_to_an_edge_that_is_not_held() -> None:
    """A cylinder measured all over, its curved edges free and its straight ones glued: the arc stands at the free edge
    as it does in the middle. By hand: R − √(R² − 200²) = 8.01 mm at R = 2500 mm."""
    x, y = (each.ravel() for each in np.meshgrid(np.linspace(0.0, 600.0, 13), np.linspace(0.0, 400.0, 17)))
    rise = np.sqrt(2500.0**2 - (y - 200.0) ** 2) - np.sqrt(2500.0**2 - 200.0**2)
    glued, free = rim_support("glued"), rim_support("free")
    body = Body(
        outline=Outline(points_mm=[[0, 0], [600, 0], [600, 400], [0, 400]], support=(glued, free, glued, free)),
        panel=Panel(wood=wood("sitka_spruce"), grain_deg=0.0, thickness_points_mm=[[0, 0, 8]],
                    crown_points_mm=np.column_stack([x, y, rise])),
    )  # fmt: skip
    found = crown_surface(body).rise_mm(np.array([[600.0, 200.0], [300.0, 200.0], [600.0, 100.0], [300.0, 0.0]]))
    assert found == pytest.approx([8.013, 8.013, 6.010, 0.0], abs=0.02)
