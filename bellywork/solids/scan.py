"""A scanned surface laid onto the board and read at its ribs and along its bridges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.body import Body
from bellywork.board.state import Climate, Reading, State
from bellywork.conventions import UNITS
from bellywork.errors import BoardError
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.measures import counted

KINDS = (".ply", ".stl", ".obj")
MOST_POINTS = 600_000
NEAR_MM = 12.0  # points this near to a place are asked for its height
FEWEST = 6
RIM_MM = 14.0  # nothing is read nearer to the outline
BAND_MM = 6.0  # within the outline, taken to lie on the rim: the crown rises by some hundredths over it
FROM_BRIDGE_MM = 8.0  # beside a bridge's edge
PLACES = 13  # along a rib
# Of a place. A scanner is finer, but a rib is no pure arc between its ends: with 0.15 mm only 11 of 15 ribs of a
# synthetic scan came out within their uncertainty
USUAL_UNCERTAINTY_MM = 0.25
TURNS = 72


@dataclass(frozen=True, kw_only=True, eq=False)
class LaidScan:
    """A scan in the board's own place.

    points_mm       (points, 3)
    rim_scatter_mm  how far the points along the rim scatter about its plane (standard deviation)
    """

    points_mm: Floats
    rim_scatter_mm: float


def scan_readings(
    board: Board,
    path: Path,
    *,
    unit: str,
    state: State,
    climate: Climate = Climate(),  # noqa: B008 (frozen)
    uncertainty_mm: float = USUAL_UNCERTAINTY_MM,
) -> tuple[Reading, ...]:
    """Readings for `survey` out of a scan of the panel from above: straightedges along ribs, heights of the bridge top.

    unit     "mm" or "in", as the file has it

    It is laid by the board's `scan_points`, what lies beyond the outline then being left out; without them by the
    board's outline and its rim.

    Holes give no reading; stray triangles are outvoted by their neighbours. Where a bridge stands on a rib, the panel
    is not read. Raises BoardError where the file cannot be read, is in another unit or upside down, or lies nowhere.
    """
    body = board.needed_body("A scan")
    laid = laid_scan(body, scanned_points(path, unit), pairs_of(board, UNITS[unit].factor))
    from scipy.spatial import cKDTree

    tree = cKDTree(laid.points_mm[:, :2])
    thickness = thickness_field(body.panel)
    out: list[Reading] = []
    how: dict[str, Any] = {"state": state, "climate": climate, "table": path.stem}
    for rib in body.ribs:
        start, end = _rim_to_rim(body, rib.start_mm, rib.end_mm)
        span = float(np.hypot(*(end - start)))
        share = np.linspace(RIM_MM / span, 1.0 - RIM_MM / span, PLACES)
        places = start + share[:, None] * (end - start)
        free = _off_bridges(body, places)
        for s, place, t in zip(share[free], places[free], thickness(places[free])):
            top = _height(laid.points_mm, tree, place)
            if top is not None:
                wide = float(np.hypot(uncertainty_mm, 2.0 * top[1]))
                at: dict[str, Any] = {"position_mm": float(s * span), "span_mm": span, "uncertainty": wide}
                out.append(Reading(kind="straightedge", place=rib.name, value=float(t) - top[0], **at, **how))
    if board.plan is not None and board.strings is not None:
        middle = board.plan.middle_mm
        for note, place in zip(board.plan.note.tolist(), middle):
            top = _height(laid.points_mm, tree, place)
            if top is not None:
                wide = float(np.hypot(uncertainty_mm, 2.0 * top[1]))
                out.append(Reading(kind="bridge_height", note=note, value=top[0], uncertainty=wide, **how))
    return tuple(out)


def pairs_of(board: Board, factor: float) -> tuple[tuple[Floats, Floats], ...]:
    """The named points of a scan, in mm, each with its place on the board (x, y, height over the rim's glue line).

    factor   mm of one unit of the scan

    Where a height was not given it is that of the panel's top as it was made, or of the bridge's top at a note.
    """
    if not board.scan_points:
        return ()
    body, line, out = board.needed_body("A scan"), board.strings, []
    crown, thickness = crown_surface(body), thickness_field(body.panel)
    for point in board.scan_points:
        place, height = point.place_mm[None], point.height_mm
        note = None if line is None or point.note is None else line.place_of(point.note)
        if np.isnan(height) and line is not None and note is not None:
            height = float(line.top_mm[note])
        if np.isnan(height):
            height = float((crown.rise_mm(place) + thickness(place))[0])
        out.append((factor * point.scan, np.append(point.place_mm, height)))
    return tuple(out)


def scanned_points(path: Path, unit: str) -> Floats:
    """The points (points, 3) of a PLY, STL or OBJ file in mm, thinned to at most MOST_POINTS.

    Raises BoardError for another kind of file or unit, or one that holds no surface.
    """
    if unit not in ("mm", "in"):
        raise BoardError(f"Found the unit '{unit}' for a scan, expected mm or in.")
    if path.suffix.lower() not in KINDS:
        raise BoardError(f"Found the scan '{path.name}', expected a {', '.join(KINDS)} file.")
    import trimesh

    try:
        loaded: Any = trimesh.load(str(path), process=False)
        if not isinstance(loaded, (trimesh.PointCloud, trimesh.Trimesh)):  # a scene of several things
            loaded = trimesh.load(str(path), force="mesh", process=False)
        points = np.asarray(loaded.vertices, dtype=float) * UNITS[unit].factor
    except OSError as error:
        raise BoardError(f"{path} cannot be read ({(error.strerror or 'no reason').lower()}).") from None
    except Exception as error:
        raise BoardError(f"{path.name} holds no surface that can be read ({type(error).__name__}).") from None
    points = points[np.isfinite(points).all(axis=1)] if points.ndim == 2 else np.zeros((0, 3))
    if len(points) < 1000:
        raise BoardError(f"{path.name} holds {counted(len(points), 'point')}: too few for a soundboard.")
    if len(points) > MOST_POINTS:
        points = points[np.random.default_rng(0).choice(len(points), MOST_POINTS, replace=False)]
    return points


def laid_scan(body: Body, points_mm: Floats, pairs: Sequence[tuple[Floats, Floats]] = ()) -> LaidScan:
    """Lay a scan onto a board by pairs of points, or by its outline and rim.

    Raises BoardError for fewer than three pairs or pairs in one line, and for a scan of another size or upside down.
    """
    if pairs:
        moved = _cropped(body, _by_pairs(points_mm, pairs))
    else:
        _check_size(body, points_mm)
        moved = _by_outline(body, points_mm)
    moved, scatter = _onto_rim(body, moved)
    if _middle_rise(body, moved) < -1.0:
        raise BoardError(
            "The scan lies upside down, or the board is hollow: its middle is below its rim. Turn the scan over, or "
            "name three of its points in scan_points.csv."
        )
    return LaidScan(points_mm=moved, rim_scatter_mm=scatter)


def _by_pairs(points: Floats, pairs: Sequence[tuple[Floats, Floats]]) -> Floats:
    """Rigid motion that takes the first of each pair nearest to the second (Kabsch)."""
    here, there = (np.array([np.asarray(pair[k], dtype=float) for pair in pairs]) for k in (0, 1))
    spread = np.linalg.svd(here - here.mean(axis=0), compute_uv=False) if len(here) >= 3 else np.zeros(3)
    if len(here) < 3 or spread[1] < 1e-3 * spread[0]:
        raise BoardError("Laying a scan by named points needs three or more that do not lie in one line.")
    u, _, v = np.linalg.svd((here - here.mean(axis=0)).T @ (there - there.mean(axis=0)))
    turn = v.T @ np.diag([1.0, 1.0, np.sign(np.linalg.det(v.T @ u.T))]) @ u.T
    moved: Floats = (points - here.mean(axis=0)) @ turn.T + there.mean(axis=0)
    return moved


def _cropped(body: Body, points: Floats) -> Floats:
    """The points over the panel alone: in its case, rim and table stand round it."""
    import shapely

    return np.asarray(points[shapely.intersects_xy(body.outline.polygon, points[:, 0], points[:, 1])])


def _check_size(body: Body, points: Floats) -> None:
    """Name a scan of another size, and the unit that it seems to be in."""
    _, flat = _flattened(points)
    size = float(np.sqrt(_hull_area(flat) / _hull_area(body.outline.points_mm)))
    for factor, words in (
        (25.4, "in mm, not in inches"),
        (1.0 / 25.4, "in inches, not in mm"),
        (0.001, "in metres"),
        (10.0, "in tenths of a millimetre"),
    ):
        if abs(size / factor - 1.0) < 0.1:
            raise BoardError(f"The scan is {size:.3g} times the size of the board: the file seems to be {words}.")
    if not 0.9 < size < 1.12:
        raise BoardError(
            f"The scan is {size:.3g} times the size of the board: is it of this "
            "board, and whole? Where more than the panel was scanned, name three of its points in scan_points.csv."
        )


def _flattened(points: Floats) -> tuple[Floats, Floats]:
    """The scan's own plane: axes as rows, and points (x, y) in it."""
    some = points[:: max(len(points) // 20_000, 1)]
    middle = np.median(some, axis=0)
    near = some[np.linalg.norm(some - middle, axis=1) < 3.0 * np.median(np.linalg.norm(some - middle, axis=1))]
    axes = np.linalg.svd(near - near.mean(axis=0), full_matrices=False)[2]
    axes[2] = np.cross(axes[0], axes[1])
    return axes, (near - near.mean(axis=0)) @ axes[:2].T


def _hull(points: Floats) -> Floats:
    from scipy.spatial import ConvexHull

    hull: Floats = points[ConvexHull(points).vertices]
    return hull


def _hull_area(points: Floats) -> float:
    from scipy.spatial import ConvexHull

    return float(ConvexHull(points).volume)


def _by_outline(body: Body, points: Floats) -> Floats:
    """The motion whose hull in plan lies nearest to the outline's, from many turns and both faces."""
    from scipy.spatial import cKDTree

    axes, flat = _flattened(points)
    some = points[:: max(len(points) // 20_000, 1)]
    target = _dense(_hull(body.outline.points_mm))
    tree = cKDTree(target)
    best: tuple[float, Floats, Floats] | None = None
    for face in (1.0, -1.0):
        frame = axes * np.array([[1.0], [face], [face]])
        hull = _dense(_hull(flat * [1.0, face]))
        for angle in 2.0 * np.pi * np.arange(TURNS) / TURNS:
            turn, shift, left = _settled(hull, tree, target, angle)
            whole = np.vstack([turn @ frame[:2], frame[2:]])
            candidate = np.append(shift, 0.0)
            if best is None or left < best[0] - 1e-6:
                best = (left, whole, candidate)
    assert best is not None
    left, whole, shift = best
    if left > 20.0:
        raise BoardError(
            f"The scan's edge stays {left:.0f} mm off the board's outline: name three of its points in scan_points.csv."
        )
    middle = np.median(some, axis=0)
    near = some[np.linalg.norm(some - middle, axis=1) < 3.0 * np.median(np.linalg.norm(some - middle, axis=1))]
    moved: Floats = (points - near.mean(axis=0)) @ whole.T + shift
    return moved


def _settled(hull: Floats, tree: object, target: Floats, angle: float) -> tuple[Floats, Floats, float]:
    """A few steps of nearest points in plan from one turn: rotation, shift, and mean distance left."""
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    shift = target.mean(axis=0) - (hull @ turn.T).mean(axis=0)
    left = np.inf
    for _ in range(25):
        moved = hull @ turn.T + shift
        away, near = tree.query(moved)  # type: ignore[attr-defined]
        if left - float(away.mean()) < 1e-4:
            break
        left = float(away.mean())
        there = target[near]
        u, _, v = np.linalg.svd((hull - hull.mean(axis=0)).T @ (there - there.mean(axis=0)))
        turn = v.T @ np.diag([1.0, np.sign(np.linalg.det(v.T @ u.T))]) @ u.T
        shift = there.mean(axis=0) - hull.mean(axis=0) @ turn.T
    return turn, shift, left


def _dense(ring: Floats) -> Floats:
    """Points about every 15 mm along a closed ring."""
    out = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0)):
        steps = max(int(np.hypot(*(b - a)) / 15.0), 1)
        out.append(a + (b - a) * (np.arange(steps) / steps)[:, None])
    return np.concatenate(out)


def _onto_rim(body: Body, points: Floats) -> tuple[Floats, float]:
    """Tilted and lifted so that the band along the outline lies at the panel's top on the rim; how far it scatters."""
    import shapely

    ring = shapely.Polygon(body.outline.points_mm)
    band = ring.difference(ring.buffer(-BAND_MM))
    shapely.prepare(band)
    there = points[shapely.intersects_xy(band, points[:, 0], points[:, 1])]
    if len(there) < 100:
        raise BoardError("The scan does not reach the rim: it cannot be laid onto the board.")
    off = there[:, 2] - thickness_field(body.panel)(there[:, :2])
    keep, rows = np.ones(len(there), bool), np.column_stack([there[:, :2], np.ones(len(there))])
    for _ in range(6):
        plane = np.linalg.lstsq(rows[keep], off[keep], rcond=None)[0]
        left = off - rows @ plane
        keep = np.abs(left - np.median(left[keep])) < 3.0 * max(1.4826 * float(np.median(np.abs(left[keep]))), 0.02)
    moved = points.copy()
    moved[:, 2] -= np.column_stack([points[:, :2], np.ones(len(points))]) @ plane
    return moved, float(np.std(left[keep]))


def _middle_rise(body: Body, points: Floats) -> float:
    """Median height of the middle third over the panel's top on the rim."""
    import shapely

    ring = shapely.Polygon(body.outline.points_mm)
    inner = ring.buffer(-0.25 * float(np.sqrt(ring.area)))
    shapely.prepare(inner)
    there = points[shapely.intersects_xy(inner, points[:, 0], points[:, 1])]
    if not len(there):
        return 0.0
    # bridges stand above the panel and would hide a hollow: the lower half tells
    height = there[:, 2] - thickness_field(body.panel)(there[:, :2])
    return float(np.quantile(height, 0.4))


def _height(points: Floats, tree: object, place: Floats) -> tuple[float, float] | None:
    """Height at a place from a plane through its neighbours, strays outvoted, and its standard error; None: a hole."""
    near = points[tree.query_ball_point(place, NEAR_MM)]  # type: ignore[attr-defined]
    if len(near) < FEWEST:
        return None
    rows = np.column_stack([near[:, :2] - place, np.ones(len(near))])
    keep = np.abs(near[:, 2] - np.median(near[:, 2])) < 2.0
    for _ in range(4):
        if keep.sum() < FEWEST or np.ptp(rows[keep, 0]) < NEAR_MM / 2 or np.ptp(rows[keep, 1]) < NEAR_MM / 2:
            return None
        plane = np.linalg.lstsq(rows[keep], near[keep, 2], rcond=None)[0]
        left = np.abs(near[:, 2] - rows @ plane)
        keep = left < 3.0 * max(1.4826 * float(np.median(left[keep])), 0.02)
    return float(plane[2]), float(np.std((near[:, 2] - rows @ plane)[keep]) / np.sqrt(max(int(keep.sum()) - 3, 1)))


def _rim_to_rim(body: Body, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Ends of the longest stretch of a line on the panel."""
    pieces = body.outline.pieces(start, end)
    way = (end - start) / np.hypot(*(end - start))
    near, far = pieces[np.argmax(np.ptp(pieces, axis=1))]
    return start + near * way, start + far * way


def _off_bridges(body: Body, places: Floats) -> np.ndarray:
    """Places that no bridge covers."""
    import shapely

    free = np.ones(len(places), bool)
    for bridge in body.bridges:
        line = shapely.LineString(bridge.line_mm).buffer(float(bridge.width_mm.max()) / 2.0 + FROM_BRIDGE_MM)
        free &= ~shapely.intersects_xy(line, places[:, 0], places[:, 1])
    return free
