"""Points against the outline."""

from __future__ import annotations

from bellywork.board.arrays import Floats


def onto_outline(points_mm: Floats, outline_mm: Floats) -> Floats:
    """Points (points, 2) with those outside moved to the nearest point of the outline, the others as they are.

    Corners of a rib, and a thread's ends on the rim, may lie just outside.

    >>> import numpy as np
    >>> square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    >>> onto_outline(np.array([[50.0, 20.0], [104.0, 30.0]]), square).tolist()
    [[50.0, 20.0], [100.0, 30.0]]
    """
    import shapely

    polygon = shapely.Polygon(outline_mm)
    shapely.prepare(polygon)
    outside = ~shapely.intersects_xy(polygon, points_mm[:, 0], points_mm[:, 1])
    edge, out = polygon.exterior, points_mm.copy()
    along = shapely.line_locate_point(edge, shapely.points(points_mm[outside]))
    out[outside] = shapely.get_coordinates(shapely.line_interpolate_point(edge, along))
    return out
