"""The board as one linear model: assembled and factored once, then asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from bellywork.board._frozen import Floats, Ints
from bellywork.board.body import Body, Outline
from bellywork.errors import BoardError
from bellywork.geometry.crown import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.mechanics.assembly import band_matrix, freedoms
from bellywork.mechanics.band import BandFactor, factored
from bellywork.mechanics.cells import GAUSS_T, GAUSS_W, quadrature
from bellywork.mechanics.energy import FIELDS, W, panel_strains, rim_strains, stiffener_strains
from bellywork.mechanics.grid import Frame, Grid, board_frame, grid_over
from bellywork.mechanics.panel import gauss_places, plane_stiffness, section_stiffness, whole_cells
from bellywork.mechanics.points import PointSet, cell_stiffness
from bellywork.mechanics.stiffeners import ACROSS, Stations, bridge_stations, rib_stations

DEFAULT_CELL_MM = 20.0
PANEL, RIM = "panel", "rim"
# share of its width over which a stiffener holds the panel: chosen against solids (docs/validation.md)
HELD_WIDTH = {-1: 0.5, 1: 1.0}
HELD_FAST = 1e4  # a fast hold is so many times as stiff as the panel over one cell


@dataclass(frozen=True, kw_only=True, eq=False)
class BoardModel:
    """A board's stiffness, factored. Made by `assembled`."""

    body: Body
    frame: Frame
    grid: Grid
    first: Ints
    factor: BandFactor
    sets: tuple[PointSet, ...]
    stiffeners: tuple[Stations, ...]
    crown: Floats

    def compliance(self, points_mm: ArrayLike) -> Floats:
        """Sink at every point under a unit push at every point: (points, points), mm/N, symmetric.

        C = (L⁻¹B)ᵀ (L⁻¹B) with the factor L and the loads B: the forward half of the solution is enough.
        Raises BoardError for a point outside the outline.
        """
        half = self.factor.half_solved(self.loads(self.inside(points_mm)))
        return half.T @ half

    def inside(self, points_mm: ArrayLike) -> Floats:
        """Points of the board's plan in the grid's frame; raises BoardError for one outside the outline."""
        import shapely

        points = np.atleast_2d(np.asarray(points_mm, dtype=float))
        polygon = shapely.Polygon(self.body.outline.points_mm).buffer(1e-6)
        shapely.prepare(polygon)
        outside = ~shapely.contains_xy(polygon, points[:, 0], points[:, 1])
        if outside.any():
            x, y = points[outside.argmax()]
            raise BoardError(f"The point ({x:g}, {y:g}) mm is outside the board's outline.")
        return self.frame.inside(points)

    def loads(self, points: Floats) -> Floats:
        """Right sides (freedoms, points) of unit pushes, down, at points of the grid's frame."""
        cells, functions = self.grid.evaluated(points)
        right = np.zeros((self.factor.lower.shape[1], len(points)))
        rows = freedoms(self.first, self.grid.nodes(cells))[..., W]
        right[rows, np.arange(len(points))[:, None]] = -functions[:, 0]
        return right

    def fields(self, solution: Floats) -> Floats:
        """A solution (freedoms,) as coefficients (5, nodes), zero where a node is not used."""
        out = np.zeros((len(self.first), FIELDS))
        used = self.first >= 0
        out[used] = solution[freedoms(self.first, np.flatnonzero(used))]
        return out.T


def assembled(body: Body, *, cell_mm: float = DEFAULT_CELL_MM) -> BoardModel:
    """Assemble and factor the board.

    Raises BoardError for a cell size or a board that no grid can be laid over, SolveError where it moves freely.
    """
    import shapely

    if not cell_mm > 0.0:
        raise BoardError(f"A cell needs a size above 0 mm; got {cell_mm:g} mm.")
    if not shapely.Polygon(body.outline.points_mm).is_valid:
        raise BoardError("The outline crosses itself.")
    frame = board_frame(body)
    outline = shapely.Polygon(frame.inside(body.outline.points_mm))
    grid = grid_over(frame.inside(body.outline.points_mm), cell_mm)
    thickness = thickness_field(body.panel)
    places = grid.fit_points()
    crown = grid.fitted(
        crown_surface(body).rise_mm(frame.outside(places.reshape(-1, 2))).reshape(places.shape[:2])
    ).ravel()

    grain = np.radians(body.panel.grain_deg) - np.arctan2(frame.axes[0, 1], frame.axes[0, 0])
    plane, shear = plane_stiffness(body.panel.wood, grain)
    where = quadrature(grid, outline)

    def slope_at(points: Floats) -> Floats:
        cells, functions = grid.evaluated(points)
        slopes: Floats = np.einsum("pdn,pn->pd", functions[:, 1:], crown[grid.nodes(cells)])
        return slopes

    def thickness_at(points: Floats) -> Floats:
        return thickness(frame.outside(points))

    corner = np.stack(np.divmod(where.whole, grid.y.cells), axis=-1) * [grid.x.step, grid.y.step] + [
        grid.x.start,
        grid.y.start,
    ]
    gauss = (corner[:, None] + gauss_places(grid)).reshape(-1, 2)
    whole = whole_cells(grid, plane, shear, thickness_at(gauss).reshape(-1, 16), slope_at(gauss).reshape(-1, 16, 2))
    sets = [
        PointSet(
            part=PANEL,
            points=where.cut_points,
            strains=panel_strains(slope_at(where.cut_points)),
            stiffness=section_stiffness(plane, shear, thickness_at(where.cut_points))
            * where.cut_weights[:, None, None],
        )
    ]
    polygon = shapely.Polygon(body.outline.points_mm)
    stations = [each for rib in body.ribs if (each := rib_stations(rib, polygon)) is not None]
    stations += [bridge_stations(bridge) for bridge in body.bridges]
    sets += [_strip(each, frame, outline, slope_at, thickness_at) for each in stations]
    sets.append(_rim(body.outline, frame, plane, shear, thickness_at, grid.x.step))
    other, stiffness = cell_stiffness(grid, sets)
    lower, first = band_matrix(grid, where.whole, whole, other, stiffness)
    return BoardModel(
        body=body, frame=frame, grid=grid, first=first, factor=factored(lower), sets=tuple(sets),
        stiffeners=tuple(stations), crown=crown,
    )  # fmt: skip


def _strip(stations: Stations, frame: Frame, outline, slope_at, thickness_at) -> PointSet:  # type: ignore[no-untyped-def]
    """A stiffener spread evenly over the width of its glue line, as far as that lies on the panel."""
    import shapely

    across, weight = np.polynomial.legendre.leggauss(ACROSS)
    centre, tangent = frame.inside(stations.points), frame.inside(stations.tangents)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    s = stations.section
    points = (
        centre[:, None] + normal[:, None] * (s.width_mm[:, None] / 2.0 * across * HELD_WIDTH[stations.side])[..., None]
    )
    step = stations.weights_mm
    t = thickness_at(centre)
    offset = stations.side * (t / 2.0 + s.centroid_mm)
    rate = np.gradient(offset, stations.run_mm) if len(offset) > 1 else np.zeros(1)
    C = np.zeros((len(centre), ACROSS, 4, 4))
    for k, value in enumerate((s.EA, s.EI, s.GA, s.GJ)):
        C[:, :, k, k] = value[:, None] * step[:, None] * weight / 2.0
    flat = points.reshape(-1, 2)
    shapely.prepare(outline)
    keep = shapely.intersects_xy(outline, flat[:, 0], flat[:, 1])
    flat = flat[keep]
    strains = stiffener_strains(
        slope_at(flat),
        np.repeat(tangent, ACROSS, axis=0)[keep],
        np.repeat(offset, ACROSS)[keep],
        np.repeat(rate, ACROSS)[keep],
    )
    C = C.reshape(-1, 4, 4)[keep]
    return PointSet(part=stations.name, points=flat, strains=strains, stiffness=C)


def _rim(outline: Outline, frame: Frame, plane: Floats, shear: Floats, thickness_at, cell: float) -> PointSet:  # type: ignore[no-untyped-def]
    """The rim as springs along the outline."""
    points, weights, stiff = [], [], []
    corners = frame.inside(outline.points_mm)
    thick = float(thickness_at(corners).max())
    fast = (
        HELD_FAST
        * np.array(
            [
                plane.max() * thick,
                plane.max() * thick,
                shear.max() * thick,
                plane.max() * thick**3 / 12,
                plane.max() * thick**3 / 12,
            ]
        )
        / cell
    )
    for a, b, held in zip(corners, np.roll(corners, -1, axis=0), outline.support):
        length = float(np.hypot(*(b - a)))
        steps = max(int(np.ceil(2.0 * length / cell)), 1)
        share = ((np.arange(steps)[:, None] + GAUSS_T) / steps).ravel()
        points.append(a + share[:, None] * (b - a))
        weights.append(np.tile(GAUSS_W * length / steps, steps))
        spring = np.array([held.inplane_N_mm2] * 2 + [held.vertical_N_mm2] + [held.rotation_N] * 2)
        stiff.append(np.broadcast_to(np.minimum(spring, fast), (len(share), FIELDS)))
    C = np.concatenate(stiff)[:, :, None] * np.eye(FIELDS) * np.concatenate(weights)[:, None, None]
    flat = np.concatenate(points)
    return PointSet(part=RIM, points=flat, strains=rim_strains(len(flat)), stiffness=C)
