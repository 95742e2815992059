"""Scans laid onto the board. Kind of every expected number: invariant (the crown that the scan was made from)."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from scipy.spatial import cKDTree

from bellywork.board.state import ScanPoint, State
from bellywork.errors import BoardError
from bellywork.estimate.rib_fit import rib_fit
from bellywork.estimate.threads import rib_threads
from bellywork.files.read import read_board
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.solids.scan import laid_scan, scan_readings, scanned_points
from bellywork.solids.slab import region_plan

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"
TURN = trimesh.transformations.rotation_matrix(1.1, [0.3, -0.5, 0.8])[:3, :3]
SHIFT = np.array([500.0, -2000.0, 300.0])


@cache
def board():
    return read_board(GRAND).board


@cache
def scanned(step: float = 6.0):
    """The panel's top as a scanner sees it: noise, two holes, strays; in its true place."""
    random, plan = np.random.default_rng(3), region_plan(board().body.outline.points_mm, step)
    top = crown_surface(board().body).rise_mm(plan.points_mm) + thickness_field(board().body.panel)(plan.points_mm)
    vertices = np.column_stack([plan.points_mm, top + random.normal(0.0, 0.15, len(top))])
    middle = plan.points_mm[plan.triangles].mean(axis=1)
    hole = (np.hypot(*(middle - [700, 700]).T) < 60.0) | (np.hypot(*(middle - [300, 1200]).T) < 40.0)
    vertices[random.choice(len(top), 150, replace=False), 2] += random.uniform(-80.0, 80.0, 150)
    return vertices, plan.triangles[~hole]


def written(path: Path, vertices: np.ndarray) -> Path:
    trimesh.Trimesh(vertices, scanned()[1], process=False).export(path)
    return path


@pytest.mark.parametrize("kind", ["ply", "stl", "obj"])
def test_a_moved_scan_with_noise_holes_and_strays_gives_back_the_crown(tmp_path, kind):
    path = written(tmp_path / f"scan.{kind}", scanned()[0] @ TURN.T + SHIFT)
    readings = scan_readings(board(), path, unit="mm", state=State.BARE)
    threads, findings = rib_threads(board().body, [each for each in readings if each.kind == "straightedge"])
    assert findings == ()
    assert len(threads) == 15
    crown, within = crown_surface(board().body), []
    for thread in threads:
        fit = rib_fit(
            thread.position_mm, thread.height_mm, span_mm=thread.span_mm, uncertainty_mm=thread.uncertainty_mm
        )
        start, middle, end = crown.rise_mm(thread.points_mm[-3:])
        off = abs(fit.rise_mm - float(middle - (start + end) / 2.0))
        assert off < 0.25, thread.rib.name  # the longest rib is no pure arc between its ends
        within.append(off <= fit.rise_uncertainty_mm)
    assert sum(within) >= 14


def test_named_points_lay_it_too():
    there = np.array([[100.0, 100.0, 8.0], [1200.0, 200.0, 8.0], [400.0, 1300.0, 8.0], [700.0, 600.0, 20.0]])
    pairs = [(point @ TURN.T + SHIFT, point) for point in there]
    laid = laid_scan(board().body, scanned()[0] @ TURN.T + SHIFT, pairs)
    away, near = cKDTree(laid.points_mm).query(scanned()[0])
    # the band along the rim is crowned a little itself
    np.testing.assert_allclose(np.median(laid.points_mm[near] - scanned()[0], axis=0), 0.0, atol=0.1)
    assert np.median(away) < 0.1


@pytest.mark.parametrize(
    ("unit", "scale", "face", "said"),
    [
        (
            "in",
            1.0,
            1.0,
            r"^The scan is 25\.4 times the size of the board: the file seems to be in mm, not",
        ),
        ("mm", 1 / 25.4, 1.0, r"the file seems to be in inches, not in mm\.$"),
        ("mm", 0.001, 1.0, r"the file seems to be in metres\.$"),
        ("mm", 0.7, 1.0, r"is it of this board, and whole\? Where more than the panel was scanned, name three "),
        ("mm", 1.0, -1.0, r"^The scan lies upside down"),
    ],
)
def test_wrong_unit_wrong_board_and_upside_down_are_named(tmp_path, unit, scale, face, said):
    path = written(tmp_path / "scan.ply", (scanned()[0] * [1.0, 1.0, face]) @ TURN.T * scale)
    with pytest.raises(BoardError, match=said):
        scan_readings(board(), path, unit=unit, state=State.BARE)


def test_files_that_hold_no_scan_are_named(tmp_path):
    (tmp_path / "a.ply").write_text("no mesh")
    with pytest.raises(BoardError, match=r"^a\.ply holds no surface"):
        scanned_points(tmp_path / "a.ply", "mm")
    with pytest.raises(BoardError, match=r"^Found the scan 'a\.dwg', expected a \.ply, \.stl, \.obj file\.$"):
        scanned_points(tmp_path / "a.dwg", "mm")
    with pytest.raises(BoardError, match=r"^Found the unit 'cm' for a scan, expected mm or in\.$"):
        scanned_points(tmp_path / "a.ply", "cm")
    trimesh.creation.box().export(tmp_path / "box.stl")
    with pytest.raises(BoardError, match=r"too few for a soundboard\.$"):
        scanned_points(tmp_path / "box.stl", "mm")


def in_its_case() -> np.ndarray:
    """The panel with a rim 60 mm high and 40 mm wide round it, and a table under it, in inches, moved."""
    ring = shapely.Polygon(board().body.outline.points_mm)
    random = np.random.default_rng(6)
    places = random.uniform([-300.0, -300.0], [1800.0, 2100.0], (60_000, 2))
    away = shapely.distance(ring, shapely.points(places))
    rim, table = places[(away > 0.0) & (away < 40.0)], places[away > 40.0]
    whole = np.vstack([scanned()[0], np.column_stack([rim, np.full(len(rim), 60.0)]),
                       np.column_stack([table, np.full(len(table), -400.0)])])  # fmt: skip
    return (whole @ TURN.T + SHIFT) / 25.4


def named() -> tuple[ScanPoint, ...]:
    """Two places of the panel and the bridge top at two notes, as a hand picks them: to a millimetre."""
    random, line, plan = np.random.default_rng(8), board().strings, board().plan
    out = []
    for note, xy in ((None, (150.0, 150.0)), (None, (1150.0, 250.0)), (1, None), (60, None)):
        k = None if note is None else line.note.tolist().index(note)
        place = np.array(xy) if k is None else plan.middle_mm[plan.note.tolist().index(note)]
        height = (
            float(line.top_mm[k])
            if k is not None
            else float(
                crown_surface(board().body).rise_mm(place[None])[0]
                + thickness_field(board().body.panel)(place[None])[0]
            )
        )
        there = np.append(place, height) + random.uniform(-1.0, 1.0, 3)
        out.append(ScanPoint(scan=(TURN @ there + SHIFT) / 25.4, place_mm=place, note=note))
    return tuple(out)


def test_a_panel_in_its_case_is_laid_by_named_points_and_read_alone(tmp_path):
    """Without them its size is wrong, and the way out that is named is the one that works."""
    path = tmp_path / "case.ply"
    trimesh.PointCloud(in_its_case()).export(path)
    with pytest.raises(BoardError, match=r"name three of its points in scan_points\.csv\.$"):
        scan_readings(board(), path, unit="in", state=State.BARE)
    told = replace(board(), scan_points=named())
    readings = scan_readings(told, path, unit="in", state=State.BARE)
    threads, _ = rib_threads(board().body, [each for each in readings if each.kind == "straightedge"])
    crown = crown_surface(board().body)
    assert len(threads) == 15
    for thread in threads:
        fit = rib_fit(
            thread.position_mm, thread.height_mm, span_mm=thread.span_mm, uncertainty_mm=thread.uncertainty_mm
        )
        start, middle, end = crown.rise_mm(thread.points_mm[-3:])
        assert fit.rise_mm == pytest.approx(float(middle - (start + end) / 2.0), abs=0.35)


def test_two_points_cannot_lay_a_scan():
    pairs = [(np.zeros(3), np.zeros(3)), (np.ones(3), np.ones(3))]
    with pytest.raises(BoardError, match=r"^Laying a scan by named points needs three or more"):
        laid_scan(board().body, scanned()[0], pairs)
