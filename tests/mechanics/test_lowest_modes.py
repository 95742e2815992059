"""Modes. Kinds of expected numbers: invariants; plausibility against a published upright board, its ribs unpublished
(Ege, Boutillon and Rébillat 2013: mean spacing of the 21 lowest modes about 22 Hz, similar boards 22 to 25 Hz).
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Body, Outline, Panel, Rib
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.files.read import read_board
from bellywork.mechanics.energy import FIELDS, LIFT, W
from bellywork.mechanics.masses import masses
from bellywork.mechanics.model import assembled
from bellywork.mechanics.modes import OWN, mass_points, modes

SPRUCE = wood("sitka_spruce")
RIB = Rib(name="a", wood=SPRUCE, start_mm=[450, 0], end_mm=[450, 600], width_mm=26, height_mm=22, end_height_mm=(8, 8),
          feather_mm=(120, 120))  # fmt: skip
BODY = Body(
    outline=Outline(points_mm=[[0, 0], [900, 0], [900, 600], [0, 600]], support=(rim_support("glued"),) * 4),
    panel=Panel(wood=SPRUCE, grain_deg=0.0, thickness_points_mm=[[0, 0, 8.0]]),
    ribs=(RIB,),
)
FOUND = modes(assembled(BODY, cell_mm=40.0), count=5)


def hz(body: Body) -> np.ndarray:
    return modes(assembled(body, cell_mm=40.0), count=5).frequencies_Hz


def test_four_times_the_density_halves_every_frequency():
    heavy = replace(SPRUCE, density_kg_m3=4.0 * SPRUCE.density_kg_m3)
    body = replace(BODY, panel=replace(BODY.panel, wood=heavy), ribs=(replace(RIB, wood=heavy),))
    np.testing.assert_allclose(hz(body), FOUND.frequencies_Hz / 2.0, rtol=1e-6)


def test_modes_ascend_and_are_the_same_each_time():
    assert (np.diff(FOUND.frequencies_Hz) > 0.0).all()
    again = modes(assembled(BODY, cell_mm=40.0), count=5)
    np.testing.assert_allclose(again.fields, FOUND.fields, atol=1e-9)


def test_modes_are_orthogonal_in_the_mass():
    points = mass_points(assembled(BODY, cell_mm=40.0).discrete)
    gram = np.array([[np.sum(a * points.forces(b)) for b in FOUND.fields] for a in FOUND.fields])
    size = np.sqrt(np.diag(gram))
    np.testing.assert_allclose(gram / np.outer(size, size), np.eye(5), atol=1e-6)


def test_all_of_the_boards_mass_moves():
    body = read_board(Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand").board.body
    points = mass_points(assembled(body, cell_mm=40.0).discrete)
    lifts = points.mass[:, W, W] + points.mass[:, FIELDS + OWN.index(LIFT), FIELDS + OWN.index(LIFT)]
    assert lifts.sum() * 1000.0 == pytest.approx(masses(body).total_kg, rel=1e-5)


def test_a_rib_lowers_no_mode_that_it_stiffens():
    bare, ribbed = hz(replace(BODY, ribs=())), FOUND.frequencies_Hz
    assert ribbed[0] > 1.2 * bare[0]


def test_an_upright_board_of_published_size_has_modes_about_as_dense():
    ribs = tuple(
        replace(RIB, name=str(k), start_mm=[x, 0], end_mm=[x, 910])
        for k, x in enumerate(np.arange(110.0, 1390.0, 130.0))
    )
    outline = Outline(points_mm=[[0, 0], [1390, 0], [1390, 910], [0, 910]], support=(rim_support("clamped"),) * 4)
    found = modes(assembled(replace(BODY, outline=outline, ribs=ribs), cell_mm=40.0), count=21).frequencies_Hz
    spacing = (found[-1] - found[0]) / 20.0
    assert 15.0 < spacing < 30.0
