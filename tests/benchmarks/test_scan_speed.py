"""A scan of a million triangles, read, laid and sampled: the bound is 10 s."""

from pathlib import Path

import numpy as np
import trimesh

from bellywork.board.state import State
from bellywork.files.read import read_board
from bellywork.geometry.crown_surface import crown_surface
from bellywork.solids.scan import scan_readings
from bellywork.solids.slab import region_plan

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"


def test_a_large_scan(benchmark, tmp_path):
    board = read_board(GRAND).board
    plan = region_plan(board.body.outline.points_mm, 1.85 if benchmark.enabled else 8.0)
    top = crown_surface(board.body).rise_mm(plan.points_mm[::7])
    height = np.repeat(top, 7)[: len(plan.points_mm)]
    trimesh.Trimesh(np.column_stack([plan.points_mm, height]), plan.triangles, process=False).export(tmp_path / "s.stl")
    readings = benchmark.pedantic(
        lambda: scan_readings(board, tmp_path / "s.stl", unit="mm", state=State.BARE), rounds=1
    )
    assert readings
