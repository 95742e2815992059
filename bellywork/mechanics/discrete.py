"""A board cut into points and cells: everything that the matrix is made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Body, Outline
from bellywork.errors import BoardError
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.mechanics.cells import GAUSS_T, GAUSS_W, quadrature
from bellywork.mechanics.energy import FIELDS, panel_strains, rim_strains, stiffener_strains
from bellywork.mechanics.grid import Frame, Grid, board_frame, grid_over
from bellywork.mechanics.panel import gauss_places, plane_stiffness, section_stiffness
from bellywork.mechanics.points import PointSet
from bellywork.mechanics.rim import rim_curves
from bellywork.mechanics.stiffeners import Flange, FlangeAt, Stations, bridge_stations, rib_stations
from bellywork.mechanics.whole import WholeCells

if TYPE_CHECKING:
    from shapely import Polygon

PANEL, RIM = "panel", "rim"
GHOST = 1e-7  # of the panel's stiffness
HELD_FAST = 1e4  # what is held fast is held so many times stiffer than the panel is over one cell

Field = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True, eq=False)
class Discrete:
    """A board as whole cells and sets of points on a grid.

    frame, grid   where the grid lies; crown: its heights as coefficients (nodes,)
    whole, cut    the panel on whole and on cut cells
    cut_weights   area in mm² that each point of `cut` stands for
    ghost         next to no panel on all of each cut cell: what lies beyond the outline would else move without bound
    strips        ribs and bridges, and stations along each for its section forces
    rim           the rim's springs; rim_side: the side of the outline that each stands on
    """

    body: Body
    frame: Frame
    grid: Grid
    crown: Floats
    thickness: Field
    whole: WholeCells
    ghost: WholeCells
    cut: PointSet
    cut_weights: Floats
    strips: tuple[PointSet, ...]
    stations: tuple[Stations, ...]
    rim: PointSet
    rim_side: Ints

    @property
    def sets(self) -> tuple[PointSet, ...]:
        """Everything but the whole cells."""
        return (self.cut, *self.strips, self.rim)

    def slope(self, points: Floats) -> Floats:
        """Slope (points, 2) of the crown at points of the grid's frame."""
        return slopes(self.grid, self.crown, points)


def slopes(grid: Grid, heights: Floats, points: Floats) -> Floats:
    """Slopes (points, 2) of a surface given by coefficients (nodes,)."""
    cells, functions = grid.evaluated(points)
    out: Floats = np.einsum("pdn,pn->pd", functions[:, 1:], heights[grid.nodes(cells)])
    return out


def discretised(body: Body, cell_mm: float) -> Discrete:
    """Lay the grid over a board and gather all its points.

    Raises BoardError for a cell size that is not above 0 or an outline that crosses itself.
    """
    import shapely

    if not cell_mm > 0.0:
        raise BoardError(f"A cell needs a size above 0 mm; got {cell_mm:g} mm.")
    on_board = shapely.Polygon(body.outline.points_mm)
    if not on_board.is_valid:
        raise BoardError("The outline crosses itself; give its points in order along the rim.")
    frame = board_frame(body)
    corners = frame.inside(body.outline.points_mm)
    outline = shapely.Polygon(corners)
    grid = grid_over(corners, cell_mm)
    places = grid.fit_points()
    rise = crown_surface(body).rise_mm(frame.outside(places.reshape(-1, 2)))
    crown = grid.fitted(rise.reshape(places.shape[:2])).ravel()
    field = thickness_field(body.panel)

    def thickness(points: Floats) -> Floats:
        return field(frame.outside(points))

    grain = np.radians(body.panel.grain_deg) - np.arctan2(frame.axes[0, 1], frame.axes[0, 0])
    plane, shear = plane_stiffness(body.panel.wood, grain)
    where = quadrature(grid, outline)

    def cells_of(cells: Ints, share: float) -> WholeCells:
        corner = np.stack(np.divmod(cells, grid.y.cells), axis=-1) * [grid.x.step, grid.y.step]
        gauss = (corner[:, None] + [grid.x.start, grid.y.start] + gauss_places(grid)).reshape(-1, 2)
        return WholeCells(
            grid=grid,
            cells=cells,
            thickness=thickness(gauss).reshape(-1, 16),
            slope=slopes(grid, crown, gauss).reshape(-1, 16, 2),
            plane=share * plane,
            shear=share * shear,
        )

    cut = PointSet(
        part=PANEL,
        points=where.cut_points,
        strains=panel_strains(slopes(grid, crown, where.cut_points)),
        stiffness=section_stiffness(plane, shear, thickness(where.cut_points)) * where.cut_weights[:, None, None],
    )
    flange = _flange(body, field)
    ribs = (rib_stations(rib, on_board, flange) for rib in body.ribs)
    stations = (
        *(rib for rib in ribs if rib is not None),
        *(bridge_stations(bridge, flange) for bridge in body.bridges),
    )
    strips = tuple(_strip(each, frame, outline, grid, crown, thickness) for each in stations)
    stiffest = np.array([plane.max(), plane.max(), shear.max()]) * field(body.outline.points_mm).max()
    turning = plane.max() * field(body.outline.points_mm).max() ** 3 / 12.0
    fast = HELD_FAST / grid.x.step * np.append(stiffest, [turning, turning])
    rim, rim_side = _rim(body.outline, corners, fast, grid, np.union1d(where.whole, where.cut))
    return Discrete(
        body=body,
        frame=frame,
        grid=grid,
        crown=crown,
        thickness=thickness,
        whole=cells_of(where.whole, 1.0),
        ghost=cells_of(where.cut, GHOST),
        cut=cut,
        cut_weights=where.cut_weights,
        strips=strips,
        stations=stations,
        rim=rim,
        rim_side=rim_side,
    )


def _flange(body: Body, thickness: Field) -> FlangeAt:
    """What the panel is to a stiffener on it, by place and direction."""
    wood, grain = body.panel.wood, np.radians(body.panel.grain_deg)

    def at(points_mm: Floats, tangents: Floats) -> Flange:
        along = (tangents @ np.array([np.cos(grain), np.sin(grain)])) ** 2
        across = 1.0 - along
        slack = along**2 / wood.E_L + across**2 / wood.E_R
        slack = slack + along * across * (1.0 / wood.G_LR - 2.0 * wood.nu_LR / wood.E_L)
        return Flange(thickness_mm=thickness(points_mm), E=1.0 / slack, G=along * wood.G_LT + across * wood.G_RT)

    return at


def _strip(stations: Stations, frame: Frame, outline: Polygon, grid: Grid, crown: Floats, thickness: Field) -> PointSet:
    """A stiffener spread evenly over its width, as far as that lies inside the rim."""
    import shapely

    # enough points across for the cells to see a strip, not lines
    count = max(3, int(np.ceil(3.0 * float(stations.section.width_mm.max()) / min(grid.x.step, grid.y.step))))
    across, weight = np.polynomial.legendre.leggauss(count)
    centre, tangent = frame.inside(stations.points_mm), frame.inside(stations.tangents)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    s = stations.section
    points = (centre[:, None] + normal[:, None] * (s.width_mm[:, None] / 2.0 * across)[..., None]).reshape(-1, 2)
    offset = stations.side * (thickness(centre) / 2.0 + s.centroid_mm)
    rate = np.gradient(offset, stations.run_mm)
    C = np.zeros((len(centre), count, 4, 4))
    for k, value in enumerate((s.EA, s.EI, s.GA, s.GJ)):
        C[:, :, k, k] = (value * stations.weights_mm)[:, None] * weight / 2.0
    shapely.prepare(outline)
    keep = shapely.intersects_xy(outline, points[:, 0], points[:, 1])
    tangents, offsets, rates = (np.repeat(each, count, axis=0)[keep] for each in (tangent, offset, rate))
    return PointSet(
        part=stations.name,
        points=points[keep],
        strains=stiffener_strains(slopes(grid, crown, points[keep]), tangents, offsets, rates),
        stiffness=C.reshape(-1, 4, 4)[keep],
    )


def _rim(outline: Outline, corners: Floats, fast: Floats, grid: Grid, panel_cells: Ints) -> tuple[PointSet, Ints]:
    """The rim as springs along the outline, with the side of each; held fast has the stiffness `fast` (5,).

    Where the rim's curve leaves the cells that hold panel, its springs stay on the straight side.
    """
    step = grid.x.step
    points, stiff, sides = [], [], []
    for k, (curve, held) in enumerate(zip(rim_curves(corners), outline.support)):
        length = float(np.hypot(*(corners[(k + 1) % len(corners)] - corners[k])))
        pieces = max(int(np.ceil(2.0 * length / step)), 1)
        share = ((np.arange(pieces)[:, None] + GAUSS_T) / pieces).ravel()
        straight = corners[k] + share[:, None] * (corners[(k + 1) % len(corners)] - corners[k])
        curved = curve(share)
        on_panel = np.isin(grid.evaluated(curved)[0], panel_cells)
        points.append(np.where(on_panel[:, None], curved, straight))
        spring = np.array(
            [held.inplane_N_mm2, held.inplane_N_mm2, held.vertical_N_mm2, held.rotation_N, held.rotation_N]
        )
        sides.append(np.full(len(share), k))
        stiff.append(np.tile(GAUSS_W * length / pieces, pieces)[:, None] * np.minimum(spring, fast))
    springs = np.concatenate(stiff)
    rim = PointSet(
        part=RIM,
        points=np.concatenate(points),
        strains=rim_strains(len(springs)),
        stiffness=springs[:, :, None] * np.eye(FIELDS),
    )
    return rim, np.concatenate(sides)
