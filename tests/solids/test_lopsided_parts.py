"""Solids, masses and a scan of the lopsided sample. Kind of every expected number: worked out by hand from its tables.

Panel: 960 · 640 less the corner 240 · 80 / 2 and the bay 340 · 80 is 577 600 mm²; its thickness 7.5 + 0.0025 x −
0.002 y (four measured points in one plane) gives 7.5 · 577 600 + 0.0025 · 272 656 000 − 0.002 · 182 560 000 = 4 648
520 mm³.
Ribs, width times the areas of feather, middle, feather:
  a  22 (60 · 11.5 + 260 · 18 + 180 · 13.5)               = 171 600 mm³
  b  25 (220 · 15 + 450 · 24 + 90 · 17)                   = 390 750
  c  24 (160 · 15 + 165 · 22) and 24 (125 · 22 + 250 · 13.5), either side of the bay: 144 720 and 147 000
  d  20 (205 · 16 + 120 · 11)                             =  92 000
Bridge: root 30 (150 · 24 + 300 · 21) = 297 000; cap less half its notches 30 (150 · 11 + 300 · 9.25) = 132 750 mm³.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from bellywork.board.body import Body
from bellywork.board.state import ScanPoint, State
from bellywork.files.read import read_board
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.mechanics.masses import masses
from bellywork.solids.parts import body_solids
from bellywork.solids.scan import scan_readings
from bellywork.solids.slab import region_plan

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
SPRUCE, PINE, MAPLE, BEECH = 448.0, 403.2, 705.6, 716.8  # kg/m³ at 12 % (Wood Handbook's specific gravities × 1120)


@cache
def body() -> Body:
    return read_board(LOPSIDED).board.needed_body("test")


def test_every_part_has_the_volume_worked_out_by_hand() -> None:
    solids = body_solids(body())
    volumes = [(solid.name, solid.mesh().volume) for solid in solids.ribs]
    expected = [("a", 171600.0), ("b", 390750.0), ("c", 144720.0), ("c", 147000.0), ("d", 92000.0)]
    assert [name for name, _ in volumes] == [name for name, _ in expected]
    assert [volume for _, volume in volumes] == pytest.approx([volume for _, volume in expected], rel=1e-6)
    assert solids.panel.mesh().volume == pytest.approx(4648520.0, rel=1e-6)
    assert solids.roots[0].mesh().volume == pytest.approx(297000.0, rel=1e-6)
    assert solids.caps[0].mesh().volume == pytest.approx(132750.0, rel=1e-6)
    assert all(solid.mesh().is_watertight for solid in solids.all)


def test_every_part_weighs_what_its_own_wood_does() -> None:
    found = masses(body())
    assert found.panel_kg == pytest.approx(4648520.0 * SPRUCE * 1e-9, rel=1e-6)
    assert found.ribs_kg["a"] == pytest.approx(171600.0 * SPRUCE * 1e-9, rel=1e-3)
    assert found.ribs_kg["b"] == pytest.approx(390750.0 * SPRUCE * 1e-9, rel=1e-3)
    assert found.ribs_kg["d"] == pytest.approx(92000.0 * PINE * 1e-9, rel=1e-3)
    assert found.bridges_kg["long"] == pytest.approx((297000.0 * MAPLE + 132750.0 * BEECH) * 1e-9, rel=1e-3)
    solids = body_solids(body())
    assert solids.roots[0].mass_kg == pytest.approx(297000.0 * MAPLE * 1e-9, rel=1e-6)
    assert solids.caps[0].mass_kg == pytest.approx(132750.0 * BEECH * 1e-9, rel=1e-6)
    assert solids.panel.mass_kg == pytest.approx(4648520.0 * SPRUCE * 1e-9, rel=1e-6)
    assert [solid.mass_kg for solid in solids.ribs if solid.name == "c"] == pytest.approx(
        [144720.0 * PINE * 1e-9, 147000.0 * PINE * 1e-9], rel=1e-6
    )


def test_a_scan_reads_the_top_of_the_bridge_where_it_stands(tmp_path: Path) -> None:
    """Points of panel and bridge top every 4 mm, laid by four named points: a bridge 30 mm wide on its centre line,
    its top over the panel root + cap: 26 + 13, 22 + 11 and 20 + 10 mm at 0, 150 and 450 mm from its start.

    The bridge tops of three notes, worked out from that at 420, 276 and 24 mm (notes 40, 52 and 73)."""
    flat = replace(body(), ribs=(), panel=replace(body().panel, crown_points_mm=[[500, 150, 4.0]]))
    board = replace(read_board(LOPSIDED).board, body=flat)
    plan = region_plan(flat.outline.points_mm, 4.0)
    x, y = plan.points_mm.T
    along, beside = 0.8 * (x - 120) + 0.6 * (y - 180), -0.6 * (x - 120) + 0.8 * (y - 180)
    on = (along >= 0.0) & (along <= 450.0) & (np.abs(beside) <= 15.0)
    stands = np.where(on, np.interp(along, [0, 150, 450], [39, 33, 30]), 0.0)
    top = crown_surface(flat).rise_mm(plan.points_mm) + thickness_field(flat.panel)(plan.points_mm) + stands
    path = tmp_path / "scan.ply"
    vertices = np.column_stack([plan.points_mm, top])
    trimesh.Trimesh(vertices, plan.triangles, process=False).export(path)
    named = tuple(
        ScanPoint(scan=vertices[k], place_mm=vertices[k, :2], height_mm=vertices[k, 2])
        for k in (0, len(x) // 3, len(x) // 2, len(x) - 1)
    )
    readings = scan_readings(replace(board, scan_points=named), path, unit="mm", state=State.BARE)
    heights = {each.note: each.value for each in readings if each.kind == "bridge_height"}
    for note, place, over in ((40, [456, 432], 30.3), (52, [340.8, 345.6], 31.74), (73, [139.2, 194.4], 38.04)):
        rise = float(crown_surface(flat).rise_mm(np.array([place]))[0])
        panel = 7.5 + 0.0025 * place[0] - 0.002 * place[1]
        # laid by its rim, which the crown lifts by some hundredths
        assert heights[note] == pytest.approx(rise + panel + over, abs=0.12)
