"""Solids of a board. Kinds of expected numbers: closed forms (prism, ring, spherical segment), invariants (watertight,
mass as by the section formulas, a second way)."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellywork.board import Body, Bridge, Outline, Panel, Rib
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.errors import BoardError
from bellywork.files.read import read_board
from bellywork.mechanics.masses import masses
from bellywork.solids.parts import body_solids
from bellywork.solids.slab import Plan, region_plan, slab, strip_plan

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
SPRUCE, MAPLE = wood("sitka_spruce"), wood("sugar_maple")


def disc(radius: float, points: int = 720) -> np.ndarray:
    turn = np.linspace(0.0, 2.0 * np.pi, points, endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


@pytest.mark.parametrize("name", ["seven_foot_grand", "upright", "compression_crowned_grand"])
def test_every_solid_of_a_sample_board_is_closed_and_weighs_what_its_sections_say(name):
    body = read_board(SAMPLES / name).board.body
    solids, weighed = body_solids(body), masses(body)
    for solid in solids.all:
        mesh = solid.mesh()
        assert mesh.is_watertight, solid.name
        assert mesh.is_winding_consistent, solid.name
    assert solids.panel.mass_kg == pytest.approx(weighed.panel_kg, rel=2e-4)
    assert {rib.name for rib in solids.ribs} == set(weighed.ribs_kg)
    for rib in solids.ribs:
        assert rib.mass_kg == pytest.approx(weighed.ribs_kg[rib.name], rel=2e-4)
    for root, cap in zip(solids.roots, solids.caps):
        assert root.mass_kg + cap.mass_kg == pytest.approx(weighed.bridges_kg[root.name], rel=1e-3)
    assert solids.mass_kg == pytest.approx(weighed.total_kg, rel=2e-4)


def test_a_prism_has_the_volume_centre_and_inertia_of_a_prism():
    a, b, h = 300.0, 200.0, 10.0
    plan = region_plan(np.array([[0, 0], [a, 0], [a, b], [0, b]], float), 37.0)
    n = len(plan.points_mm)
    mesh = slab(plan, np.zeros(n), np.full(n, h)).mesh()
    assert mesh.volume == pytest.approx(a * b * h, rel=1e-9)
    np.testing.assert_allclose(mesh.center_mass, [a / 2, b / 2, h / 2], rtol=1e-9)
    inertia = a * b * h / 12.0 * np.array([b * b + h * h, a * a + h * h, a * a + b * b])
    np.testing.assert_allclose(np.diag(mesh.moment_inertia), inertia, rtol=1e-9)


def test_a_spherical_segment_has_the_volume_of_the_book_ever_nearer():
    # V = π h² (3R − h) / 3 and centre of gravity 3 (2R − h)² / (4 (3R − h)) from the sphere's centre (any handbook)
    R, r = 1000.0, 400.0
    h = R - np.sqrt(R**2 - r**2)
    plate = np.pi * r**2 * 1.0
    segment = np.pi * h**2 * (3 * R - h) / 3.0
    centre = 3.0 * (2 * R - h) ** 2 / (4.0 * (3 * R - h)) - (R - h)
    height = (segment * centre - plate * 0.5) / (segment + plate)
    missed = []
    for step in (16.0, 8.0):
        plan = region_plan(disc(r), step)
        top = np.sqrt(R**2 - np.sum(plan.points_mm**2, axis=1)) - (R - h)
        mesh = slab(plan, np.full(len(top), -1.0), top).mesh()
        missed.append([abs(mesh.volume / (segment + plate) - 1.0), abs(mesh.center_mass[2] / height - 1.0)])
    coarse, fine = np.array(missed)
    assert np.all(fine < 1e-3)
    assert np.all(coarse / fine > 3.0)  # second order


def test_crown_lifts_a_panel_and_does_not_thin_it():
    flat = Body(
        outline=Outline(points_mm=disc(400.0), support=(rim_support("glued"),) * 720),
        panel=Panel(wood=SPRUCE, grain_deg=0.0, thickness_points_mm=[[0, 0, 8.0]]),
    )
    crowned = replace(flat, panel=replace(flat.panel, crown_points_mm=[[0, 0, 9.0], [150, 0, 7.5], [0, -150, 7.5]]))
    assert body_solids(crowned).panel.mass_kg == pytest.approx(body_solids(flat).panel.mass_kg, rel=1e-12)
    assert body_solids(crowned).centre_mm[2] > body_solids(flat).centre_mm[2] + 2.0


def test_a_notched_bridge_on_a_flat_panel_is_a_sum_of_prisms():
    body = Body(
        outline=Outline(points_mm=[[0, 0], [1000, 0], [1000, 500], [0, 500]], support=(rim_support("glued"),) * 4),
        panel=Panel(wood=SPRUCE, grain_deg=0.0, thickness_points_mm=[[0, 0, 8.0]]),
        ribs=(
            Rib(name="1", wood=SPRUCE, start_mm=[500, -50], end_mm=[500, 550], width_mm=25, height_mm=20,
                end_height_mm=(20, 20), feather_mm=(0, 0)),
        ),
        bridges=(
            Bridge(name="long", root_wood=MAPLE, cap_wood=MAPLE, line_mm=[[100, 200], [900, 300]], width_mm=[32, 32],
                   root_mm=[24, 24], cap_mm=[10, 10], notch_mm=[3, 3]),
        ),
    )  # fmt: skip
    solids = body_solids(body)
    length = np.hypot(800.0, 100.0)
    assert solids.roots[0].mesh().volume == pytest.approx(length * 32 * 24, rel=1e-9)
    assert solids.caps[0].mesh().volume == pytest.approx(length * (32 * 10 - 16 * 3), rel=1e-9)
    # the rib ends at the rim, not 50 mm beyond
    assert solids.ribs[0].mesh().volume == pytest.approx(500.0 * 25 * 20, rel=1e-9)
    np.testing.assert_allclose(solids.ribs[0].mesh().bounds, [[487.5, 0, -20], [512.5, 500, 0]], atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.25, 1.0), min_size=5, max_size=40),
    st.floats(20.0, 130.0),
    st.floats(0.0, 90.0),
)
def test_any_outline_gives_a_closed_plan_of_its_own_area(radii, step, turn):
    angle = np.linspace(0.0, 2.0 * np.pi, len(radii), endpoint=False) + np.radians(turn)
    outline = 600.0 * np.array(radii)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    plan = region_plan(outline, step)
    x, y = outline.T
    area = 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)
    mesh = slab(plan, np.zeros(len(plan.points_mm)), np.ones(len(plan.points_mm))).mesh()
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(area, rel=1e-6)


def test_a_strip_runs_from_right_to_left_of_its_way():
    plan = strip_plan(np.array([[0.0, 0.0], [10.0, 0.0]]), np.array([[0.0, 1.0]] * 2), np.array([[-2.0, 2.0]] * 2))
    assert slab(plan, np.zeros(4), np.ones(4)).mesh().volume == pytest.approx(40.0)


def test_an_outline_that_crosses_itself_is_named():
    with pytest.raises(BoardError, match=r"^The outline crosses itself; give its points in order along the rim\.$"):
        region_plan(np.array([[0, 0], [10, 10], [10, 0], [0, 10.0]]), 3.0)


def test_a_part_without_thickness_is_named():
    square = Plan(points_mm=[[0, 0], [1, 0], [1, 1]], triangles=[[0, 1, 2]])
    with pytest.raises(BoardError, match=r"^The solid of rib 3 has no thickness at one of its points\.$"):
        slab(square, np.zeros(3), np.zeros(3), name="rib 3")
