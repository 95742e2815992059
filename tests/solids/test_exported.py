"""Solids as files, read again. Kind of every expected number: invariant (what was written)."""

import io
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from bellywork.cli.main import main
from bellywork.errors import BoardError
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.mechanics.masses import masses
from bellywork.solids.exported import FORMATS, part_name, solid_files
from bellywork.solids.parts import body_solids

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"


@cache
def solids():
    return body_solids(prepared(read_board(GRAND).board).board.body)


@pytest.mark.parametrize("kind", ["stl", "ply"])
def test_every_part_read_again_is_what_was_written(kind):
    files = solid_files(solids(), kind)
    assert list(files) == [f"solid {part_name(solid)}.{kind}" for solid in solids().all]
    for solid, data in zip(solids().all, files.values()):
        again = trimesh.load(io.BytesIO(data), file_type=kind)
        assert again.is_watertight
        assert again.volume == pytest.approx(solid.mesh().volume, rel=1e-4)  # float32 in the file
        np.testing.assert_allclose(again.bounds, solid.mesh().bounds, atol=1e-3)
        assert b"bellywork result, mm" in data[:200]


def test_a_glb_holds_all_parts_by_name_in_metres_and_y_up():
    (data,) = solid_files(solids(), "glb").values()
    scene = trimesh.load(io.BytesIO(data), file_type="glb")
    assert set(scene.geometry) == {part_name(solid) for solid in solids().all}
    panel = scene.geometry["panel"]
    assert panel.volume == pytest.approx(solids().panel.mesh().volume * 1e-9, rel=1e-3)
    low, high = solids().panel.mesh().bounds / 1000.0
    np.testing.assert_allclose(panel.bounds, [[low[0], low[2], -high[1]], [high[0], high[2], -low[1]]], atol=1e-5)


def test_each_part_of_a_glb_has_the_material_of_its_wood():
    """Unlike kinds are told apart by their colour, and every material names what it is and its wood."""
    (data,) = solid_files(solids(), "glb").values()
    scene = trimesh.load(io.BytesIO(data), file_type="glb")
    told = {}
    for solid in solids().all:
        material = scene.geometry[part_name(solid)].visual.material
        assert material.name == f"{solid.kind}, {solid.wood.replace('_', ' ')}"
        assert solid.wood
        told.setdefault(solid.kind, set()).add(tuple(material.baseColorFactor))
    assert sorted(told) == ["cap", "panel", "rib", "root"]
    assert len(set.union(*told.values())) == len(told)


@pytest.mark.parametrize("kind", FORMATS)
def test_the_same_board_gives_the_same_bytes(kind):
    assert solid_files(solids(), kind) == solid_files(solids(), kind)


def test_another_kind_is_named():
    with pytest.raises(BoardError, match=r"^Found 'step' as a kind of solid file, expected one of stl, ply, glb\.$"):
        solid_files(solids(), "step")


def test_the_command_writes_them_and_tells_mass_and_centre(tmp_path, capsys):
    words = ["sheet", str(GRAND), "--what", "solids", "--format", "stl,glb", "--to", str(tmp_path / "cnc")]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert f"weigh {solids().mass_kg:.2f} kg" in said
    assert solids().mass_kg == pytest.approx(masses(prepared(read_board(GRAND).board).board.body).total_kg, rel=5e-3)
    assert (tmp_path / "cnc" / "solids.glb").exists()
    assert main([*words, "--replace"]) == 0
    assert len(list((tmp_path / "cnc").iterdir())) == len(solids().all) + 1


def test_solids_and_their_formats_go_together(capsys):
    assert main(["sheet", str(GRAND), "--what", "solids", "--to", "x"]) == 2
    assert "expected both" in capsys.readouterr().err
