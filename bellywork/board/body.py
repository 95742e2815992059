"""The wooden body: outline on the rim, panel, ribs and bridges. Plan coordinates (x, y) and sizes in mm."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from bellywork.board.arrays import Floats, floats, keep
from bellywork.board.wood import Wood
from bellywork.errors import BoardError


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


@dataclass(frozen=True, kw_only=True, eq=False)
class Body:
    """Outline, panel, ribs and bridges together. No ribs, or no bridges, is a body too."""

    outline: Outline
    panel: Panel
    ribs: tuple[Rib, ...] = ()
    bridges: tuple[Bridge, ...] = ()
