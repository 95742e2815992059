"""What makes crown and feathers seen at true heights: contour lines on the panel, ribs paler where they are thinner."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.measures import Units
from bellywork.quantities import QUANTITIES
from bellywork.solids.slab import Solid
from bellywork_viewer import palette as colours
from bellywork_viewer.palette import Rgb, rounded_up
from bellywork_viewer.surfaces import Surface

LINES = 10  # no more contour lines than this
LEAST_STEP_MM = 0.5
LINE_MM = 3.0  # width of a contour line
OVER_MM = 1.2  # off the panel, so that it does not flicker in it


def contour_step_mm(heights_mm: Floats, units: Units) -> float:
    """A step, round in the user's unit, that gives no more than LINES lines over these heights."""
    factor = QUANTITIES["panel_crown_mm"].measure.outside(1.0, units)
    return rounded_up(factor * max(float(np.ptp(heights_mm)) / LINES, LEAST_STEP_MM)) / factor


def contours(panel: Solid, vertices_mm: Floats, heights_mm: Floats, step: float) -> Surface | None:
    """Lines of equal height on both faces of the panel, at whole steps (mm); None where it is flat.

    vertices_mm   of the panel as it stands, below and then above; heights_mm: over the rim, one per point of its plan
    """
    n = len(panel.plan.points_mm)
    pieces = [
        _crossings(panel.plan.triangles, heights_mm, level)
        for level in step * np.arange(np.floor(heights_mm.min() / step) + 1.0, heights_mm.max() / step)
    ]
    edges = np.concatenate([each[0] for each in pieces] or [np.zeros((0, 2, 2), int)])
    share = np.concatenate([each[1] for each in pieces] or [np.zeros((0, 2))])[..., None]
    if not len(edges):
        return None
    quads = []
    for face, over in ((vertices_mm[:n], -OVER_MM), (vertices_mm[n:], OVER_MM)):
        ends = face[edges[..., 0]] * (1.0 - share) + face[edges[..., 1]] * share + [0.0, 0.0, over]
        way = ends[:, 1, :2] - ends[:, 0, :2]
        side = np.column_stack([-way[:, 1], way[:, 0], np.zeros(len(way))])
        side *= LINE_MM / 2.0 / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
        quads.append(np.stack([ends[:, 0] - side, ends[:, 1] - side, ends[:, 1] + side, ends[:, 0] + side], axis=1))
    vertices = np.concatenate(quads).reshape(-1, 3)
    faces = (np.array([[0, 1, 2], [0, 2, 3]])[None] + 4 * np.arange(2 * len(edges))[:, None, None]).reshape(-1, 3)
    return Surface(name="contours", vertices_mm=vertices, faces=faces, colour=colours.CONTOUR, opacity=0.6, flat=True)


def _crossings(triangles: Ints, heights: Floats, level: float) -> tuple[Ints, Floats]:
    """Where a level crosses triangles: the two edges of each (crossed, 2, 2), and how far along them (crossed, 2)."""
    edges = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2)
    start, end = heights[edges[..., 0]], heights[edges[..., 1]]
    # a corner that lies on the level counts as above it: each crossed triangle then has exactly two crossed edges
    across = (start >= level) != (end >= level)
    crossed = across.any(axis=1)
    which = edges[crossed][across[crossed]].reshape(-1, 2, 2)
    low, high = heights[which[..., 0]], heights[which[..., 1]]
    return which, (level - low) / (high - low)


def rib_colours(rib: Solid) -> Rgb:
    """Colours (vertices, 3) of a rib: its own where it is highest, that of the panel where it is feathered away."""
    n = len(rib.plan.points_mm)
    height = rib.vertices_mm[n:, 2] - rib.vertices_mm[:n, 2]
    share = np.tile(height / height.max(), 2)[:, None]
    mixed = share * np.array(colours.RIB, float) + (1.0 - share) * np.array(colours.SPRUCE, float)
    return np.asarray(np.rint(mixed), dtype=np.uint8)
