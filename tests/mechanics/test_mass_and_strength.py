"""Masses against closed forms, section forces and stresses against the simple beam, strength with its duration."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Body, Bridge, Outline, Panel, Rib, RimSupport
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.files.read import read_board
from bellywork.mechanics.masses import masses
from bellywork.mechanics.model import assembled
from bellywork.mechanics.strength import duration_factor, panel_uses, uses

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"
SPRUCE, MAPLE = wood("sitka_spruce"), wood("sugar_maple")


def ribbed(width: float, support: RimSupport, sides: tuple[int, ...] = (1, 3)) -> Body:
    """A strip 800 mm long with one plain rib along it, held at its two ends only."""
    free = rim_support("free")
    return Body(
        outline=Outline(
            points_mm=[[0, 0], [800, 0], [800, width], [0, width]],
            support=tuple(support if k in sides else free for k in range(4)),
        ),
        panel=Panel(wood=SPRUCE, grain_deg=90.0, thickness_points_mm=[[0, 0, 8.0]]),
        ribs=(
            Rib(name="1", wood=SPRUCE, start_mm=[0, width / 2], end_mm=[800, width / 2], width_mm=25.0, height_mm=24.0,
                end_height_mm=(24.0, 24.0), feather_mm=(0.0, 0.0)),
        ),
    )  # fmt: skip


def test_masses_are_those_of_prisms() -> None:
    """Closed forms: a slab with a straight taper, a feathered rib, a bridge."""
    body = ribbed(200.0, rim_support("hinged"))
    body = replace(
        body,
        panel=replace(body.panel, thickness_points_mm=[[0, 0, 6], [800, 0, 10], [0, 200, 6], [800, 200, 10]]),
        ribs=(replace(body.ribs[0], end_height_mm=(8.0, 8.0), feather_mm=(100.0, 200.0)),),
        bridges=(
            Bridge(name="b", root_wood=MAPLE, cap_wood=MAPLE, line_mm=[[100, 50], [700, 50]], width_mm=[30, 30],
                   root_mm=[20, 20], cap_mm=[10, 10], notch_mm=[0, 0]),
        ),
    )  # fmt: skip
    found = masses(body)
    assert found.panel_kg == pytest.approx(800 * 200 * 8 * SPRUCE.density_kg_m3 * 1e-9, rel=1e-3)
    rib = 25 * (500 * 24 + 300 * (24 + 8) / 2) * SPRUCE.density_kg_m3 * 1e-9
    assert found.ribs_kg["1"] == pytest.approx(rib, rel=2e-3)
    assert found.bridges_kg["b"] == pytest.approx(600 * 30 * 30 * MAPLE.density_kg_m3 * 1e-9, rel=1e-6)
    assert found.total_kg == pytest.approx(found.panel_kg + found.ribs_kg["1"] + found.bridges_kg["b"])


def test_the_sample_grands_board_weighs_as_much_as_boards_do() -> None:
    """Plausibility: about 7 kg/m² with ribs and bridges, for an upright of 8 mm (Ege et al. 2013, second-hand copy)."""
    found = masses(read_board(GRAND).board.needed_body("test"))
    assert 8.0 < found.total_kg < 14.0


def test_a_rib_on_two_supports_carries_what_a_beam_does() -> None:
    """Statics: middle push P on a span L, M = P L/4 in rib and panel together; nearly all in the rib."""
    hinged = RimSupport(name="knife", vertical_N_mm2=float("inf"), inplane_N_mm2=1.0, rotation_N=0.0)
    solution = assembled(ribbed(60.0, hinged), cell_mm=15.0).pressed([[400.0, 30.0]], [100.0])
    (rib,) = solution.stiffeners()
    quarter = int(np.argmin(np.abs(rib.run_mm - 200.0)))
    offset = rib.normal_N * (8.0 / 2.0 + 24.0 / 2.0)  # the rib's pull about the panel's middle, which presses back
    moment = abs(rib.moment_Nmm[quarter] + offset[quarter])
    assert moment == pytest.approx(100.0 / 2.0 * 200.0, rel=0.05)
    assert rib.edge_MPa[quarter] > 0.0 > rib.glue_MPa[quarter] - rib.edge_MPa[quarter]
    assert solution.energy_share["rib 1"] > 0.7


def test_the_duration_curve_at_known_durations() -> None:
    """Published curve (Madison curve, from memory): about 100 % in some minutes' test, 62 % in ten years."""
    assert duration_factor(7.5 / 60.0 / 24.0 / 365.25) == pytest.approx(1.0, abs=0.02)
    assert duration_factor(10.0) == pytest.approx(0.62, abs=0.01)


def test_a_sound_board_uses_a_part_of_its_strength() -> None:
    board = read_board(GRAND).board
    plan = board.needed_plan("test")
    pins = (plan.front_pin_mm + plan.rear_pin_mm) / 2.0
    solution = assembled(board.needed_body("test"), cell_mm=35.0).pressed(pins, np.full(88, 40.0))
    found = uses(solution)
    assert {use.part for use in found} == {*(f"rib {k}" for k in range(1, 16)), "bridge long", "bridge bass"}
    for use in found:
        assert 0.0 < use.share < 1.0  # a sound board under its strings uses a part of its strength
    panel = {use.what: use for use in panel_uses(solution, pins)}
    assert panel["along the grain"].strength_MPa == pytest.approx(SPRUCE.strength.bending * duration_factor(10.0))
    bare = replace(SPRUCE, strength=replace(SPRUCE.strength, bending=None))
    body = board.needed_body("test")
    unknown = replace(body, ribs=tuple(replace(rib, wood=bare) for rib in body.ribs))
    other = uses(assembled(unknown, cell_mm=60.0).pressed(pins, np.full(88, 40.0)))
    assert np.isnan(next(use for use in other if use.part == "rib 1" and use.what == "bending").share)
