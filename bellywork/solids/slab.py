"""A slab over a triangulated plan: one height below and one above each of its points, closed all round."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints, floats, keep
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from shapely import Polygon
    from trimesh import Trimesh

MERGED_MM = 1e-6
GRID_SHIFTS = (0.3819, 0.2361, 0.4721)  # shares of a cell: an outline drawn on round numbers meets no grid line


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """A triangulated region in plan: points (points, 2) in mm, triangles counter-clockwise as seen from the strings."""

    points_mm: Floats
    triangles: Ints

    def __post_init__(self) -> None:
        keep(self, points_mm=floats(self.points_mm, (-1, 2), "points_mm"))
        triangles = np.array(self.triangles, dtype=np.int64)
        triangles.setflags(write=False)
        keep(self, triangles=triangles)

    def edges(self) -> Ints:
        """The edges (edges, 2) along the region's border, the region on their left."""
        all_edges = np.concatenate([self.triangles[:, [0, 1]], self.triangles[:, [1, 2]], self.triangles[:, [2, 0]]])
        key = all_edges @ np.array([len(self.points_mm), 1])
        other = all_edges[:, ::-1] @ np.array([len(self.points_mm), 1])
        return all_edges[~np.isin(key, other)]


@dataclass(frozen=True, kw_only=True, eq=False)
class Solid:
    """A closed body of one wood, as a mesh.

    name            as on the board; kind: "panel", "rib", "root" or "cap"
    vertices_mm     (vertices, 3): first all points of the plan below, then all above
    faces           (faces, 3), counter-clockwise seen from outside
    plan            the plan that it stands on
    density_kg_m3   of its wood
    wood            its wood's name
    """

    name: str
    kind: str
    vertices_mm: Floats
    faces: Ints
    plan: Plan
    density_kg_m3: float
    wood: str = ""

    def mesh(self) -> Trimesh:
        """The solid as a trimesh, in mm."""
        import trimesh

        return trimesh.Trimesh(self.vertices_mm, self.faces, process=False)

    @property
    def mass_kg(self) -> float:
        """Mass, from the mesh's volume."""
        return float(self.mesh().volume) * self.density_kg_m3 * 1e-9


def slab(
    plan: Plan,
    below_mm: Floats,
    above_mm: Floats,
    *,
    name: str = "",
    kind: str = "",
    density_kg_m3: float = 0.0,
    wood: str = "",
) -> Solid:
    """The solid between two heights over a plan, each one per point, `above_mm` the greater.

    >>> square = Plan(points_mm=[[0, 0], [200, 0], [200, 50], [0, 50]], triangles=[[0, 1, 2], [0, 2, 3]])
    >>> board = slab(square, np.zeros(4), np.full(4, 8.0), density_kg_m3=400.0)
    >>> board.mesh().is_watertight, round(board.mass_kg, 6)  # 80 cm³ of 400 kg/m³
    (True, 0.032)
    """
    n = len(plan.points_mm)
    if np.any(np.asarray(above_mm) <= np.asarray(below_mm)):
        raise BoardError(f"The solid of {name or 'a part'} has no thickness at one of its points.")
    vertices = np.column_stack([np.tile(plan.points_mm, (2, 1)), np.concatenate([below_mm, above_mm])])
    a, b = plan.edges().T
    walls = np.concatenate([np.stack([a, b, b + n], 1), np.stack([a, b + n, a + n], 1)])
    faces = np.concatenate([plan.triangles[:, ::-1], plan.triangles + n, walls])
    return Solid(
        name=name, kind=kind, vertices_mm=vertices, faces=faces, plan=plan, density_kg_m3=density_kg_m3, wood=wood
    )


def region_plan(outline_mm: Floats, step_mm: float) -> Plan:
    """The inside of an outline, counter-clockwise, cut into triangles on a grid of about `step_mm`.

    Whole cells are halved, cells at the edge triangulated exactly.

    Raises BoardError for an outline that crosses itself.
    """
    import shapely

    polygon = shapely.Polygon(outline_mm)
    if not polygon.is_valid:
        raise BoardError("The outline crosses itself; give its points in order along the rim.")
    for shift in GRID_SHIFTS:
        plan = _on_grid(polygon, step_mm, shift)
        if _closed(plan):
            return plan
    raise BoardError("The outline could not be cut into triangles; look for points that all but touch.")


def strip_plan(centre_mm: Floats, normal: Floats, across_mm: Floats) -> Plan:
    """A strip along a curve: points centre + normal · across, shape (stations, columns) in turn, each square halved.

    centre_mm, normal   (stations, 2); the normal points to the left of the way
    across_mm           (stations, columns), ascending: from the right edge to the left
    """
    points = centre_mm[:, None] + normal[:, None] * across_mm[..., None]
    stations, columns = across_mm.shape
    a = (np.arange(stations - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    b, c, d = a + columns, a + columns + 1, a + 1
    return Plan(
        points_mm=points.reshape(-1, 2), triangles=np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    )


def _on_grid(polygon: Polygon, step: float, shift: float) -> Plan:
    import shapely

    low_x, low_y, high_x, high_y = polygon.bounds
    x = np.arange(low_x - shift * step, high_x + step, step)
    y = np.arange(low_y - shift * step, high_y + step, step)
    i, j = (each.ravel() for each in np.meshgrid(np.arange(len(x) - 1), np.arange(len(y) - 1), indexing="ij"))
    cells = shapely.box(x[i], y[j], x[i + 1], y[j + 1])
    shapely.prepare(polygon)
    whole = shapely.contains_properly(polygon, cells)
    corners = [np.column_stack([x[i + k], y[j + m]])[whole] for k, m in ((0, 0), (1, 0), (1, 1), (0, 1))]
    triangles = [np.stack([corners[0], corners[1], corners[2]], 1), np.stack([corners[0], corners[2], corners[3]], 1)]
    pieces = shapely.intersection(cells[~whole & shapely.intersects(polygon, cells)], polygon)
    cut = shapely.get_parts(shapely.constrained_delaunay_triangles(pieces[shapely.area(pieces) > 0.0]))
    triangles.append(shapely.get_coordinates(cut).reshape(-1, 4, 2)[:, :3])
    soup = np.concatenate(triangles)
    keys, number = np.unique(np.round(soup.reshape(-1, 2) / MERGED_MM).astype(np.int64), axis=0, return_inverse=True)
    faces = number.reshape(-1, 3)
    points = np.zeros((len(keys), 2))
    points[number.ravel()] = soup.reshape(-1, 2)
    faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
    a, b, c = points[faces].transpose(1, 0, 2)
    left = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    faces[left < 0.0] = faces[left < 0.0][:, ::-1]
    return Plan(points_mm=points, triangles=faces)


def _closed(plan: Plan) -> bool:
    """True where the border is made of closed rings that meet nowhere: each of its points left once, entered once."""
    edges = plan.edges()
    start, stop = np.sort(edges[:, 0]), np.sort(edges[:, 1])
    return bool(np.array_equal(start, stop) and len(np.unique(start)) == len(start))
