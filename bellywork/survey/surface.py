"""The whole board's surface from its ribs as they were read, and how it curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.estimate.threads import RibThread
from bellywork.geometry.crown_surface import RIM_STEP_MM, CrownSurface, smooth_field
from bellywork.survey.loss import RibLoss

ALONG = 9  # points taken of each rib's fitted shape
STEP_MM = 20.0  # over which curvatures are differences


@dataclass(frozen=True, kw_only=True, eq=False)
class Curvature:
    """Principal curvatures at points, 1/m, dome positive: the greater, the lesser, and the direction of the greater."""

    greater_per_m: Floats
    lesser_per_m: Floats
    direction_deg: Floats


def read_surface(body: Body, ribs: Sequence[RibLoss], threads: Sequence[RibThread]) -> CrownSurface:
    """The smoothest surface (thin-plate spline) over the ribs as read, one state of each, zero along the rim.

    ribs      one result for each rib, all of one state to be compared with each other; threads: all of the survey
    """
    rim = body.outline.along(RIM_STEP_MM)
    points, rises = [rim], [np.zeros(len(rim))]
    for rib in ribs:
        thread = next(each for each in threads if each.rib.name == rib.rib and each.state is rib.state)
        share = np.linspace(0.0, 1.0, ALONG + 2)[1:-1]
        start, end = thread.points_mm[-3], thread.points_mm[-1]
        points.append(start + share[:, None] * (end - start))
        rises.append(rib.read.height_mm(share * rib.read.span_mm))
    return CrownSurface(rise=smooth_field(np.concatenate(points), np.concatenate(rises)))


def curvature(surface: CrownSurface, points_mm: Floats) -> Curvature:
    """Principal curvatures of a shallow surface at points (points, 2), from second differences over STEP_MM.

    A dome of 18.3 m (60 ft) curves by 1/18.3 both ways:

    >>> dome = CrownSurface(rise=lambda p: -np.sum(p**2, axis=1) / (2 * 18300.0))
    >>> found = curvature(dome, np.array([[100.0, 50.0]]))
    >>> round(1 / float(found.greater_per_m[0]), 2), round(1 / float(found.lesser_per_m[0]), 2)
    (18.3, 18.3)
    """
    h, x, y = STEP_MM, np.array([STEP_MM, 0.0]), np.array([0.0, STEP_MM])
    at = surface.rise_mm
    middle = at(points_mm)
    xx = (at(points_mm + x) - 2.0 * middle + at(points_mm - x)) / h**2
    yy = (at(points_mm + y) - 2.0 * middle + at(points_mm - y)) / h**2
    corners = at(points_mm + x + y) - at(points_mm + x - y) - at(points_mm - x + y) + at(points_mm - x - y)
    xy = corners / (4.0 * h**2)
    mean, half = -(xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    return Curvature(
        greater_per_m=1000.0 * (mean + half),
        lesser_per_m=1000.0 * (mean - half),
        direction_deg=np.degrees(0.5 * np.arctan2(-2.0 * xy, yy - xx)),
    )
