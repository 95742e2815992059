"""Stresses, woods and swelling as they are reported. Kinds of expected numbers: closed forms; hand values."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Body, CrownMethod, Making, Outline, Panel, Rib, RimSupport
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.files.read import read_board
from bellywork.mechanics.climate import body_in
from bellywork.mechanics.making import Belly, made
from bellywork.mechanics.model import assembled
from bellywork.mechanics.moisture import at_moisture, free_strain
from bellywork.mechanics.strength import duration_factor, uses

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
SPRUCE = wood("sitka_spruce")


def body() -> Body:
    return read_board(LOPSIDED).board.needed_body("test")


def test_a_rib_that_carries_all_has_the_shear_stress_of_a_rectangle() -> None:
    """Statics and Jourawski: 100 N midway on two knife edges, V = 50 N on either side, at most 1.5 V/(b h) =
    1.5 · 50 / (25 · 24) = 0.125 N/mm². The panel is 0.5 mm thick across its grain and carries next to nothing."""
    knife = RimSupport(name="knife", vertical_N_mm2=float("inf"), inplane_N_mm2=1.0, rotation_N=0.0)
    free = rim_support("free")
    strip = Body(
        outline=Outline(points_mm=[[0, 0], [800, 0], [800, 40], [0, 40]], support=(free, knife, free, knife)),
        panel=Panel(wood=SPRUCE, grain_deg=90.0, thickness_points_mm=[[0, 0, 0.5]]),
        ribs=(
            Rib(name="1", wood=SPRUCE, start_mm=[0, 20], end_mm=[800, 20], width_mm=25.0, height_mm=24.0,
                end_height_mm=(24.0, 24.0), feather_mm=(0.0, 0.0)),
        ),
    )  # fmt: skip
    (rib,) = assembled(strip, cell_mm=10.0).pressed([[400.0, 20.0]], [100.0]).stiffeners()
    for low, high in ((150.0, 280.0), (520.0, 650.0)):
        there = (rib.run_mm > low) & (rib.run_mm < high)
        assert np.abs(rib.shear_MPa[there]).mean() == pytest.approx(0.125, rel=0.03)
        # M = 50 N times the distance from the nearer edge; σ = 6 M/(b h²), pulled below and pressed at the glue line
        moment = 50.0 * np.minimum(rib.run_mm, 800.0 - rib.run_mm)[there]
        np.testing.assert_allclose(rib.edge_MPa[there], 6.0 * moment / (25.0 * 24.0**2), rtol=0.03)
        np.testing.assert_allclose(rib.glue_MPa[there], -6.0 * moment / (25.0 * 24.0**2), rtol=0.03)


def test_strength_is_read_beyond_30_mm_from_the_ends_and_nowhere_nearer() -> None:
    """Rib b pressed 20 mm and bridge pressed near their ends: the greatest stress stands in the last 30 mm, where it is
    not read; what is read is the greatest of the rest."""
    board = body()
    rib, bridge = board.ribs[1], board.bridges[0]
    places = [rib.points_at(20.0), rib.points_at(740.0), bridge.line_mm[0], bridge.line_mm[-1]]
    solution = assembled(board, cell_mm=20.0).pressed(places, [300.0, 300.0, 300.0, 300.0])
    left_out = 0
    for forces in solution.stiffeners():
        shear = next(use for use in uses(solution) if (use.part, use.what) == (forces.name, "shear"))
        bending = next(use for use in uses(solution) if (use.part, use.what) == (forces.name, "bending"))
        away = np.minimum(forces.run_mm - forces.run_mm[0], forces.run_mm[-1] - forces.run_mm) >= 30.0
        assert shear.stress_MPa == pytest.approx(np.abs(forces.shear_MPa[away]).max())
        faces = [np.abs(face[away]).max() for face in (forces.glue_MPa, forces.edge_MPa)]
        assert any(bending.stress_MPa == pytest.approx(face) for face in faces)
        for use in (shear, bending):
            reach = [np.hypot(*(np.array(use.place_mm) - forces.points_mm[k])) for k in (0, -1)]
            assert min(reach) >= 29.0
        left_out += np.abs(forces.shear_MPa).max() > 1.05 * shear.stress_MPa
    assert left_out >= 1


def test_a_share_is_stress_over_what_ten_years_leave_of_the_woods_strength() -> None:
    """Sitka spruce 70 N/mm² in bending and 7.9 in shear (Wood Handbook); 0.18 + 1.084 (3.156e8 s)^−0.04635 = 0.62."""
    lasting = 0.183 + 1.084 * 3.15576e8**-0.04635
    assert duration_factor(10.0) == pytest.approx(lasting)
    solution = assembled(body(), cell_mm=30.0).pressed([[300.0, 315.0]], [500.0])
    found = {(use.part, use.what): use for use in uses(solution)}
    for what, strength in (("bending", 70.0), ("shear", 7.9)):
        use = found["rib b", what]
        assert use.strength_MPa == pytest.approx(strength * lasting)
        assert use.share == pytest.approx(use.stress_MPa / (strength * lasting))


def test_cap_root_panel_and_ribs_each_go_to_the_new_moisture_in_their_own_wood() -> None:
    moved = body_in(body(), 8.0)
    assert moved.bridges[0].cap_wood == at_moisture(wood("american_beech"), 8.0)
    assert moved.bridges[0].root_wood == at_moisture(wood("sugar_maple"), 8.0)
    assert moved.panel.wood == at_moisture(SPRUCE, 8.0)
    assert [rib.wood.name for rib in moved.ribs] == ["sitka_spruce", "sitka_spruce", "sugar_pine", "sugar_pine"]
    assert {rib.wood.moisture_percent for rib in moved.ribs} == {8.0}


def swollen(held: RimSupport, grain_deg: float) -> tuple[Belly, np.ndarray]:
    """Stress across the grain, N/mm², of a plain flat panel made and held at 7 % and led to 9 %.

    The grid lies along the ribs: a sliver of a rib along x, next to nothing, slants the grain to it."""
    sliver = Rib(name="1", wood=SPRUCE, start_mm=[100, 150], end_mm=[300, 150], width_mm=1.0, height_mm=0.2,
                 end_height_mm=(0.2, 0.2), feather_mm=(0.0, 0.0))  # fmt: skip
    plain = Body(
        outline=Outline(points_mm=[[0, 0], [400, 0], [400, 300], [0, 300]], support=(held,) * 4),
        panel=Panel(wood=SPRUCE, grain_deg=grain_deg, thickness_points_mm=[[0, 0, 8.0]]),
        ribs=(sliver,),
    )
    belly = made(
        plain, Making(method=CrownMethod.RIB, panel_moisture_percent=7.0, glued_in_moisture_percent=7.0), cell_mm=50.0
    )
    return belly, belly.across_grain_MPa(belly.at_moisture(9.0))


@pytest.mark.parametrize("grain_deg", [0.0, 33.0, -57.0])
def test_what_swells_freely_has_no_stress_whatever_its_grain(grain_deg: float) -> None:
    """Closed form: a panel that nothing holds grows by L and R along and across its grain, and no stress comes."""
    slack = RimSupport(name="slack", vertical_N_mm2=1e-3, inplane_N_mm2=1e-6, rotation_N=0.0)
    _, stress = swollen(slack, grain_deg)
    assert np.abs(stress).max() < 0.1


@pytest.mark.parametrize("grain_deg", [0.0, 33.0, -57.0])
def test_what_is_held_all_round_is_pressed_by_all_its_swelling(grain_deg: float) -> None:
    """Closed form, plane stress with no strain: σ_R = −E_R (ε_R + ν_LR ε_L) / (1 − ν_LR² E_R/E_L)."""
    grown = free_strain(SPRUCE, from_percent=7.0, to_percent=9.0)
    over = 1.0 - SPRUCE.nu_LR**2 * SPRUCE.E_R / SPRUCE.E_L
    pressed = -SPRUCE.E_R * (grown.R + SPRUCE.nu_LR * grown.L) / over
    _, stress = swollen(rim_support("clamped"), grain_deg)
    assert np.median(stress) == pytest.approx(pressed, rel=0.01)
    assert pressed == pytest.approx(-2.81, abs=0.01)  # 926.6 (0.00296 + 0.372 · 0.0001) / 0.989


def test_one_wood_in_the_cap_is_not_another_in_the_root() -> None:
    """A bridge whose cap alone is stiffer bends less: 15 290 against 9 350 N/mm² in its cap."""
    board = body()
    sinks = []
    for cap in ("eastern_white_pine", "yellow_birch"):
        bridge = replace(board.bridges[0], cap_wood=wood(cap))
        board_with = body_in(replace(board, bridges=(bridge,)), 8.0)
        sinks.append(assembled(board_with, cell_mm=40.0).compliance(np.array([[300.0, 315.0]]))[0, 0])
    assert sinks[1] < 0.999 * sinks[0]


def test_the_upper_face_of_a_sagging_strip_is_pressed() -> None:
    """A strip 800 × 40 × 8 mm along its grain on two edges, 10 N midway: M = P L/4 = 2000 N mm, σ = 6 M/(b h²) = 4.69
    N/mm², pulled below and pressed above; a quarter of the span out half of it."""
    knife = RimSupport(name="knife", vertical_N_mm2=float("inf"), inplane_N_mm2=1.0, rotation_N=0.0)
    free = rim_support("free")
    strip = Body(
        outline=Outline(points_mm=[[0, 0], [800, 0], [800, 40], [0, 40]], support=(free, knife, free, knife)),
        panel=Panel(wood=SPRUCE, grain_deg=0.0, thickness_points_mm=[[0, 0, 8.0]]),
    )
    stress = (
        assembled(strip, cell_mm=20.0).pressed([[400.0, 20.0]], [10.0]).panel_stress([[200.0, 20.0], [600.0, 20.0]])
    )
    np.testing.assert_allclose(stress.along_grain, [[2.344, -2.344]] * 2, rtol=0.02)
