"""The wooden body: outline on the rim, panel, ribs and bridges. Plan coordinates (x, y) and sizes in mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Bools, Floats, floats, keep
from bellywork.board.curve import NaturalCurve
from bellywork.board.wood import Wood
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from shapely import Polygon


@dataclass(frozen=True, kw_only=True, eq=False)
class RimSupport:
    """How a stretch of rim holds the panel's edge: an elastic line.

    vertical_N_mm2   force per mm of rim and mm of sink
    inplane_N_mm2    the same, for movement in the panel's plane
    rotation_N       moment per mm of rim and radian of the panel's edge

    ``inf`` means held fast, 0 means free.
    """

    name: str
    vertical_N_mm2: float
    inplane_N_mm2: float
    rotation_N: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Outline:
    """The panel's edge where it meets the rim: a closed polygon, counter-clockwise, first point not repeated.

    points_mm   shape (points, 2)
    support     one RimSupport per side; side i runs from point i to point i + 1
    """

    points_mm: Floats
    support: tuple[RimSupport, ...]

    def __post_init__(self) -> None:
        keep(self, points_mm=floats(self.points_mm, (-1, 2), "points_mm"))
        if len(self.points_mm) < 3 or len(self.support) != len(self.points_mm):
            raise BoardError("An outline needs three points or more and a rim support for each of its sides.")
        x, y = self.points_mm.T
        if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) <= 0.0:
            raise BoardError("An outline runs counter-clockwise; these points run clockwise or enclose nothing.")

    def supported(self, support: RimSupport) -> Outline:
        """The same outline, held in this one way all round."""
        return Outline(points_mm=self.points_mm, support=(support,) * len(self.points_mm))

    @cached_property
    def polygon(self) -> Polygon:
        """The outline as a polygon; not valid where it crosses itself."""
        import shapely

        polygon = shapely.Polygon(self.points_mm)
        shapely.prepare(polygon)
        return polygon

    def holds(self, points_mm: Floats) -> Bools:
        """True for the points (points, 2) that lie inside or on the outline, to a millionth of a mm."""
        import shapely

        near = shapely.dwithin(self.polygon, shapely.points(points_mm), 1e-6)
        return np.asarray(near, dtype=np.bool_)

    def onto(self, points_mm: Floats) -> Floats:
        """Points (points, 2) with those outside moved to the nearest point of the outline, the others as they are.

        Corners of a rib, and a thread's ends on the rim, may lie just outside.

        >>> from bellywork.board.rims import rim_support
        >>> square = Outline(points_mm=[[0, 0], [100, 0], [100, 100], [0, 100]], support=(rim_support("glued"),) * 4)
        >>> square.onto(np.array([[50.0, 20.0], [104.0, 30.0]])).tolist()
        [[50.0, 20.0], [100.0, 30.0]]
        """
        import shapely

        outside = ~shapely.intersects_xy(self.polygon, points_mm[:, 0], points_mm[:, 1])
        edge, out = self.polygon.exterior, points_mm.copy()
        along = shapely.line_locate_point(edge, shapely.points(points_mm[outside]))
        out[outside] = shapely.get_coordinates(shapely.line_interpolate_point(edge, along))
        return out

    def along(self, step_mm: float, *, held: bool = False) -> Floats:
        """Points about every `step_mm` along the outline, its corners among them: (points, 2).

        held   only of the sides that are held upright, with both their ends
        """
        out = [np.empty((0, 2))]
        for a, b, support in zip(self.points_mm, np.roll(self.points_mm, -1, axis=0), self.support):
            if held and support.vertical_N_mm2 == 0.0:
                continue
            steps = max(int(np.hypot(*(b - a)) / step_mm), 1)
            out.append(a + (b - a) * (np.arange(steps + held) / steps)[:, None])
        return np.concatenate(out)

    def pieces(self, start_mm: Floats, end_mm: Floats) -> Floats:
        """The stretches of a straight line that lie inside, as distances from its start: (pieces, 2), in order.

        A line across a bay of the outline has two; one that only touches it, or lies outside, has none.

        >>> from bellywork.board.rims import rim_support
        >>> bay = [[0, 0], [900, 0], [900, 500], [600, 500], [600, 200], [300, 200], [300, 500], [0, 500]]
        >>> outline = Outline(points_mm=bay, support=(rim_support("glued"),) * 8)
        >>> outline.pieces(np.array([0.0, 400.0]), np.array([900.0, 400.0])).tolist()
        [[0.0, 300.0], [600.0, 900.0]]
        """
        import shapely

        inside = shapely.intersection(self.polygon, shapely.LineString([start_mm, end_mm]))
        lines = [part for part in shapely.get_parts(inside) if part.length > 0.0]
        run = np.asarray(end_mm) - np.asarray(start_mm)
        along = [(shapely.get_coordinates(line) - start_mm) @ run / np.hypot(*run) for line in lines]
        return np.array(sorted([float(s.min()), float(s.max())] for s in along)).reshape(-1, 2)


@dataclass(frozen=True, kw_only=True, eq=False)
class Panel:
    """The panel. Thickness is given at scattered points (one point: the same everywhere); the grain runs in one
    direction, `grain_deg` counter-clockwise from +x as seen from the strings.

    crown_points_mm   optional measured crown of the bare board: rows (x, y, rise above the rim's glue line)
    """

    wood: Wood
    grain_deg: float
    thickness_points_mm: Floats  # rows (x, y, thickness)
    crown_points_mm: Floats = field(default_factory=lambda: np.empty((0, 3)))

    def __post_init__(self) -> None:
        keep(
            self,
            thickness_points_mm=floats(self.thickness_points_mm, (-1, 3), "thickness_points_mm"),
            crown_points_mm=floats(self.crown_points_mm, (-1, 3), "crown_points_mm"),
        )
        if len(self.thickness_points_mm) == 0 or np.any(self.thickness_points_mm[:, 2] <= 0.0):
            raise BoardError("A panel needs its thickness, above 0 mm, at one point or more.")


@dataclass(frozen=True, kw_only=True, eq=False)
class Rib:
    """A rib under the panel, along a straight line in plan from `start_mm` to `end_mm`.

    height_mm        full height, in the middle
    end_height_mm    height left at (start, end); equal to height_mm where the rib is not feathered
    feather_mm       length over which (start, end) the height falls in a straight line from full to end height
    crown_radius_mm  radius of the crown along the rib in the bare board; ``inf`` where flat
    """

    name: str
    wood: Wood
    start_mm: Floats
    end_mm: Floats
    width_mm: float
    height_mm: float
    end_height_mm: tuple[float, float]
    feather_mm: tuple[float, float]
    crown_radius_mm: float = float("inf")

    def __post_init__(self) -> None:
        keep(self, start_mm=floats(self.start_mm, (2,), "start_mm"), end_mm=floats(self.end_mm, (2,), "end_mm"))
        if not self.length_mm > 0.0 or min(self.width_mm, self.height_mm, *self.end_height_mm) <= 0.0:
            raise BoardError(f"Rib {self.name} needs a length, a width and heights above 0 mm.")

    @property
    def length_mm(self) -> float:
        """Length in plan."""
        return float(np.hypot(*(self.end_mm - self.start_mm)))

    @property
    def direction(self) -> Floats:
        """Unit vector (2,) from start to end."""
        return np.asarray((self.end_mm - self.start_mm) / self.length_mm)

    @property
    def knees_mm(self) -> tuple[float, float]:
        """Where the feathers meet the full height, as distances from the start."""
        return self.feather_mm[0], self.length_mm - self.feather_mm[1]

    def points_at(self, along_mm: Floats | float) -> Floats:
        """Points (…, 2) of its line in plan at distances from its start."""
        return np.asarray(self.start_mm + np.multiply.outer(along_mm, self.direction))

    def height_at(self, along_mm: Floats) -> Floats:
        """Height of its section at distances from its start: full, falling in straight feathers to the end heights.

        The one place where a rib's profile is told: mechanics, masses, solids and sheets ask here.
        """
        height = np.full(len(along_mm), float(self.height_mm))
        for end, feather, away in zip(self.end_height_mm, self.feather_mm, (along_mm, self.length_mm - along_mm)):
            if feather > 0.0:
                share = np.clip(away / feather, 0.0, 1.0)
                height = np.minimum(height, end + (self.height_mm - end) * share)
        return height

    def pieces_within(self, outline: Outline) -> Floats:
        """The stretches that lie on the panel, as distances from its start: (pieces, 2), in order."""
        return outline.pieces(self.start_mm, self.end_mm)

    def away_mm(self, points_mm: Floats) -> Floats:
        """Distance in plan of points (points, 2) from the rib's line."""
        return away_from_segment_mm(points_mm, self.start_mm, self.end_mm)


@dataclass(frozen=True, kw_only=True, eq=False)
class Bridge:
    """A bridge on the panel, along a curve through points in plan; sizes are given at each point.

    line_mm    shape (points, 2), in the order of the notes or against it
    width_mm, root_mm, cap_mm, notch_mm
               width, height of the root, thickness of the cap and depth of the notches, one per point
    """

    name: str
    root_wood: Wood
    cap_wood: Wood
    line_mm: Floats
    width_mm: Floats
    root_mm: Floats
    cap_mm: Floats
    notch_mm: Floats

    def __post_init__(self) -> None:
        keep(self, line_mm=floats(self.line_mm, (-1, 2), "line_mm"))
        n = len(self.line_mm)
        if n < 2:
            raise BoardError(f"Bridge {self.name} needs two points or more.")
        for name in ("width_mm", "root_mm", "cap_mm", "notch_mm"):
            keep(self, **{name: floats(getattr(self, name), (n,), name)})

    @cached_property
    def knots_mm(self) -> Floats:
        """Distance of each given point along the bridge, straight from point to point: what its curve runs over."""
        return np.append(0.0, np.cumsum(np.hypot(*np.diff(self.line_mm, axis=0).T)))

    @cached_property
    def curve(self) -> NaturalCurve:
        """The smooth curve in plan through the given points, over `knots_mm`."""
        return NaturalCurve(knots_mm=self.knots_mm, points_mm=self.line_mm)

    def tangents_at(self, along_mm: Floats) -> Floats:
        """Unit vectors (…, 2) along the curve at distances from its start."""
        slope = self.curve(along_mm, 1)
        return np.asarray(slope / np.linalg.norm(slope, axis=-1, keepdims=True))

    def sizes_at(self, along_mm: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Width, height of the root, thickness of the cap and depth of the notches at distances from its start."""
        width, root, cap, notch = (
            np.interp(along_mm, self.knots_mm, size)
            for size in (self.width_mm, self.root_mm, self.cap_mm, self.notch_mm)
        )
        return width, root, cap, notch

    def nearest_mm(self, points_mm: Floats) -> Floats:
        """Distances along the bridge at which it passes points (points, 2) in plan, to half a millimetre."""
        along = np.linspace(0.0, self.knots_mm[-1], max(int(2.0 * self.knots_mm[-1]), 2))
        away = np.linalg.norm(points_mm[:, None] - self.curve(along)[None], axis=2)
        return np.asarray(along[np.argmin(away, axis=1)])


def away_from_segment_mm(points_mm: Floats, start_mm: Floats, end_mm: Floats) -> Floats:
    """Distance in plan of points (points, 2) from a straight stretch.

    >>> away_from_segment_mm(np.array([[50.0, 3.0], [104.0, 3.0]]), np.zeros(2), np.array([100.0, 0.0])).tolist()
    [3.0, 5.0]
    """
    run = end_mm - start_mm
    share = np.clip((points_mm - start_mm) @ run / (run @ run), 0.0, 1.0)
    return np.asarray(np.hypot(*(points_mm - start_mm - np.outer(share, run)).T))


@dataclass(frozen=True, kw_only=True, eq=False)
class Body:
    """Outline, panel, ribs and bridges together. No ribs, or no bridges, is a body too."""

    outline: Outline
    panel: Panel
    ribs: tuple[Rib, ...] = ()
    bridges: tuple[Bridge, ...] = ()
