"""A board cut into points and cells: everything that the matrix is made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Body, Outline
from bellywork.errors import BoardError
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.taper import thickness_field
from bellywork.mechanics.cut_cells import GAUSS_T, GAUSS_W, quadrature
from bellywork.mechanics.energy import (
    FIELDS,
    LIFT,
    OWN_FIELDS,
    ROLL,
    Offset,
    U,
    V,
    W,
    end_strains,
    rim_strains,
    stiffener_strains,
)
from bellywork.mechanics.grid import Frame, Grid, board_frame, grid_over
from bellywork.mechanics.panel import gauss_places, plane_stiffness
from bellywork.mechanics.panel_set import PANEL as PANEL
from bellywork.mechanics.panel_set import PanelSet, panel_sets
from bellywork.mechanics.points import OwnFunctions, Pairs, PointSet, point_sets
from bellywork.mechanics.rim_line import rim_curves
from bellywork.mechanics.space import FreeEnd, Functions, Space
from bellywork.mechanics.stiffeners import Stations, bridge_stations, rib_stations
from bellywork.mechanics.whole_cells import WholeCells

if TYPE_CHECKING:
    from scipy.sparse import csr_array
    from shapely import Polygon

RIM, HELD_ENDS = "rim", "ends on the rim"
GHOST = 1e-7  # of the panel's stiffness
TIED = (
    1e2  # a stiffener's end on the rim is tied to the panel's edge so many times stiffer than its foot is over a piece
)
HELD_FAST = 1e4  # what is held fast is held so many times stiffer than the panel is over one cell

# Two grids of one board are laid in threads, and its outline is one polygon: what GEOS keeps of a polygon it builds
# when it is first asked, and not for two at once
_ONE_AT_A_TIME = Lock()

Field = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True, eq=False)
class Discrete:
    """A board as whole cells and sets of points.

    frame, space  where the grid lies, and all functions of the board
    crown         the crown's heights as coefficients (nodes,), 0 beyond the grid's own nodes
    whole, ghost  the panel on whole cells; next to no panel on all of each cell that the outline cuts: what lies beyond
                  the outline would else move without bound
    cut           the panel on all other cells
    strips        ribs and bridges, and stations along each for its section forces
    rim           the rim's springs; rim_side: the side of the outline that each stands on
    held_ends     the rim's springs against the own rotation and slip of stiffeners, and what holds their lift and roll
                  to the panel's edge; a point for each end (0 where free)
    """

    body: Body
    frame: Frame
    space: Space
    crown: Floats
    thickness: Field
    whole: WholeCells
    ghost: WholeCells
    cut: tuple[PanelSet, ...]
    strips: tuple[PointSet, ...]
    stations: tuple[Stations, ...]
    rim: PointSet
    rim_side: Ints
    held_ends: PointSet

    @property
    def grid(self) -> Grid:
        """The grid."""
        return self.space.grid

    @property
    def sets(self) -> tuple[PointSet | PanelSet, ...]:
        """Everything but the whole cells."""
        return (*self.cut, *self.strips, self.rim, self.held_ends)

    def held_by(self, outline: Outline) -> Discrete:
        """The same board whose edge is held as this outline, of the same points, tells."""
        rim, rim_side = _rim(outline, self.frame, self.space, self.whole, self.cut, self.thickness)
        return replace(
            self,
            body=replace(self.body, outline=outline),
            rim=rim,
            rim_side=rim_side,
            held_ends=_held_ends(outline, self.stations, self.frame, self.space),
        )

    def slope(self, points: Floats) -> Floats:
        """Slope (points, 2) of the crown at points of the grid's frame."""
        return slopes(self.grid, self.crown, points)

    def evaluated(self, points_mm: Floats) -> Functions:
        """The functions at points (points, 2) in plan of the board."""
        return self.space.evaluated(self.frame.inside(points_mm))

    def sinking(self, points_mm: Floats) -> csr_array:
        """How far what is on top at points in plan sinks, a matrix (points, 5 · nodes): a bridge where one stands, else
        the panel.
        """
        from scipy.sparse import csr_array

        at, n = self.evaluated(points_mm), self.space.nodes
        rows = np.repeat(np.arange(len(points_mm)), at.nodes.shape[1])
        entries = [(rows, (W * n + at.nodes).ravel(), at.values[:, 0].ravel())]
        on_panel = np.ones(len(points_mm), dtype=bool)
        for number, stations in enumerate(self.stations):
            if stations.side < 0:
                continue  # a rib is under the panel
            under, run, aside = stations.under(points_mm)
            on = np.flatnonzero(under & on_panel)
            on_panel[on] = False
            own = own_functions(self.space, number, stations, run[on])
            for field, share in ((LIFT, np.ones(len(on))), (ROLL, -aside[on])):
                values = share[:, None] * own.functions[:, 0]
                entries.append((np.repeat(on, own.nodes.shape[1]), (field * n + own.nodes).ravel(), values.ravel()))
        entries[0][2][~on_panel[rows]] = 0.0
        rows, columns, values = (np.concatenate(part) for part in zip(*entries))
        matrix = csr_array((-values, (rows, columns)), shape=(len(points_mm), FIELDS * n))
        matrix.eliminate_zeros()
        return matrix

    def along(self, points_mm: Floats, ways: Floats) -> csr_array:
        """How far the panel's mid-surface at points in plan moves along unit vectors (points, 2), a matrix (points,
        5 · nodes).
        """
        from scipy.sparse import csr_array

        at, n, way = self.evaluated(points_mm), self.space.nodes, self.frame.inside(ways)
        rows = np.repeat(np.arange(len(points_mm)), at.nodes.shape[1])
        columns = np.concatenate([(field * n + at.nodes).ravel() for field in (U, V)])
        values = np.concatenate([(way[:, [k]] * at.values[:, 0]).ravel() for k in range(2)])
        return csr_array((values, (np.tile(rows, 2), columns)), shape=(len(points_mm), FIELDS * n))

    def pushed(self, places_mm: Floats, forces_N: Floats) -> Floats:
        """Nodal forces (5, nodes) of pushes at places (pushes, 2) in plan, N, down positive, on what is on top."""
        load: Floats = (self.sinking(places_mm).T @ forces_N).reshape(FIELDS, -1)
        return load

    def interpolated(self, fields: Floats, points_mm: Floats) -> Floats:
        """The fifteen values (points, 15) of a movement (5, nodes) at points in plan of the board."""
        return self.evaluated(points_mm).interpolated(fields)


def slopes(grid: Grid, heights: Floats, points: Floats) -> Floats:
    """Slopes (points, 2) of a surface given by coefficients (nodes,)."""
    cells, functions = grid.evaluated(points)
    out: Floats = np.einsum("pdn,pn->pd", functions[:, 1:], heights[grid.nodes(cells)])
    return out


def discretised(body: Body, cell_mm: float) -> Discrete:
    """Lay the grid over a board and gather all its points.

    Raises BoardError for a cell size that is not above 0 or more than twice a stiffener's length, or an outline that
    crosses itself.
    """
    with _ONE_AT_A_TIME:
        return _discretised(body, cell_mm)


def _discretised(body: Body, cell_mm: float) -> Discrete:
    import shapely

    if not cell_mm > 0.0:
        raise BoardError(f"A cell needs a size above 0 mm; got {cell_mm:g} mm.")
    if not body.outline.polygon.is_valid:
        raise BoardError("The outline crosses itself; give its points in order along the rim.")
    frame = board_frame(body)
    corners = frame.inside(body.outline.points_mm)
    outline = shapely.Polygon(corners)
    grid = grid_over(corners, cell_mm)
    laid = (
        *(rib_stations(rib, body.outline, cell_mm) for rib in body.ribs),
        *(bridge_stations(bridge, body.outline, cell_mm) for bridge in body.bridges),
    )
    stations = tuple(each for each in laid if each is not None)
    for each in stations:
        length = each.axis.stop - each.axis.start
        if length < cell_mm / 2.0:
            raise BoardError(
                f"Cells of {cell_mm:g} mm are too large for {each.name}, of which {length:.0f} mm lie on the panel: "
                f"take cells of at most {2.0 * length:.0f} mm."
            )
    space = _space(grid, frame, stations)
    places = grid.fit_points()
    rise = crown_surface(body).rise_mm(frame.outside(places.reshape(-1, 2)))
    fitted = grid.fitted(rise.reshape(places.shape[:2])).ravel()
    crown = np.append(fitted, np.zeros(space.nodes - len(fitted)))
    field = thickness_field(body.panel)

    def thickness(points: Floats) -> Floats:
        return field(frame.outside(points))

    plane, shear = plane_stiffness(body.panel.wood, frame.angle(body.panel.grain_deg))
    where = quadrature(space, outline)

    def cells_of(cells: Ints, share: float) -> WholeCells:
        gauss = (grid.corners(cells)[0][:, None] + gauss_places(grid)).reshape(-1, 2)
        return WholeCells(
            grid=grid,
            cells=cells,
            thickness=thickness(gauss).reshape(-1, 16),
            slope=slopes(grid, crown, gauss).reshape(-1, 16, 2),
            plane=share * plane,
            shear=share * shear,
        )

    at_cut = thickness(where.points), slopes(grid, crown, where.points)
    cut = panel_sets(space, where.points, where.weights, *at_cut, plane, shear)
    strips = [_strips(each, k, frame, outline, space, crown, thickness) for k, each in enumerate(stations)]
    whole = cells_of(where.whole, 1.0)
    rim, rim_side = _rim(body.outline, frame, space, whole, cut, thickness)
    return Discrete(
        body=body,
        frame=frame,
        space=space,
        crown=crown,
        thickness=thickness,
        whole=whole,
        ghost=cells_of(where.cut, GHOST),
        cut=cut,
        strips=tuple(part for parts in strips for part in parts),
        stations=stations,
        rim=rim,
        rim_side=rim_side,
        held_ends=_held_ends(body.outline, stations, frame, space),
    )


def _space(grid: Grid, frame: Frame, stations: tuple[Stations, ...]) -> Space:
    """The functions of the board: grid, free ends, and each stiffener's own rotation."""
    return Space(
        grid=grid,
        ends=tuple(
            FreeEnd(
                middle=frame.inside(end.point_mm), outward=frame.inside(end.outward), half_width_mm=end.width_mm / 2.0
            )
            for each in stations
            for end in each.ends
            if end.free
        ),
        hosts=tuple(grid.nearest(frame.inside(each.middles_mm)) for each in stations),
    )


def stiffener_operators(
    stations: Stations, frame: Frame, slope: Floats, thickness: Floats, rows: Ints, aside_mm: Floats
) -> Floats:
    """Strain operators (points, 6, 23) of a stiffener at points so far aside of the stations `rows`."""
    glue = stations.side * thickness / 2.0
    section, side = stations.section, stations.side
    return stiffener_strains(
        slope,
        frame.inside(stations.tangents)[rows],
        stations.turning[rows],
        Offset(mm=glue, rate=np.gradient(glue, stations.run_mm))[rows],
        Offset(mm=side * section.centroid.mm, rate=side * section.centroid.rate)[rows],
        aside_mm,
    )


def own_functions(space: Space, number: int, stations: Stations, run_mm: Floats) -> OwnFunctions:
    """A stiffener's own functions at distances along it."""
    piece, functions = stations.axis.evaluated(run_mm)
    return OwnFunctions(
        nodes=space.run_nodes(number) + piece[:, None] + np.arange(functions.shape[2]), functions=functions
    )


def _strips(
    stations: Stations,
    number: int,
    frame: Frame,
    outline: Polygon,
    space: Space,
    crown: Floats,
    thickness: Field,
) -> tuple[PointSet, ...]:
    """A stiffener spread evenly over its width, as far as that lies inside the rim."""
    import shapely

    grid = space.grid
    # enough points across for the cells to see a strip, not lines
    width = stations.section.width_mm
    count = max(3, int(np.ceil(3.0 * float(width.max()) / min(grid.x.step, grid.y.step))))
    across, weight = np.polynomial.legendre.leggauss(count)
    centre, tangent = frame.inside(stations.points_mm), frame.inside(stations.tangents)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    aside = width[:, None] / 2.0 * across
    points = (centre[:, None] + normal[:, None] * aside[..., None]).reshape(-1, 2)
    share = stations.weights_mm[:, None] * weight / 2.0
    C = stations.section.stiffness(stations.side)[:, None] * share[..., None, None]
    shapely.prepare(outline)
    keep = np.flatnonzero(shapely.intersects_xy(outline, points[:, 0], points[:, 1]))
    rows = keep // count
    slope = slopes(grid, crown, points[keep])
    return point_sets(
        space,
        stations.name,
        points[keep],
        stiffener_operators(stations, frame, slope, thickness(centre), rows, aside.ravel()[keep]),
        C.reshape(-1, *C.shape[2:])[keep],
        own_functions(space, number, stations, stations.run_mm[rows]),
    )


def _held_ends(outline: Outline, stations: tuple[Stations, ...], frame: Frame, space: Space) -> PointSet:
    """Springs against the own rotation and the slip of stiffeners that end on the rim: what the rim is to the panel's
    edge there, over the stiffener's width. Their lift and roll are held fast to that edge: the rim holds the whole end.
    """
    import shapely

    corners = outline.points_mm
    sides = shapely.linestrings(np.stack([corners, np.roll(corners, -1, axis=0)], axis=1))
    places, springs, nodes, functions, normals = [], [], [], [], []
    for number, each in enumerate(stations):
        for end, run, place in zip(each.ends, (each.axis.start, each.axis.stop), (0, -1)):
            support = outline.support[int(np.argmin(shapely.distance(sides, shapely.Point(end.point_mm))))]
            section, outward = each.section, frame.inside(end.outward)
            fast = HELD_FAST / each.axis.step * np.array([section.EI[place], section.EA[place]])
            held = np.minimum(np.array([support.rotation_N, support.inplane_N_mm2]) * end.width_mm, fast)
            foot = TIED * each.axis.step * section.foot[place]
            tied = [foot, foot * end.width_mm**2 / 12.0]
            own = own_functions(space, number, each, np.array([run]))
            places.append(frame.inside(end.point_mm))
            normals.append([-outward[1], outward[0]])
            springs.append(np.zeros(4) if end.free else np.append(held, tied))
            nodes.append(own.nodes[0])
            functions.append(own.functions[0])
    points, n = np.reshape(places, (-1, 2)), len(places)
    return PointSet(
        part=HELD_ENDS,
        points=points,
        at=space.evaluated(points),
        strains=end_strains(np.reshape(normals, (-1, 2))),
        stiffness=np.reshape(springs, (n, 4, 1)) * np.eye(4),
        own=OwnFunctions(nodes=np.reshape(nodes, (n, 4)).astype(np.int64), functions=np.reshape(functions, (n, 2, 4))),
        pairs=Pairs(panel=((W, W),), mixed=tuple((own, W) for own in range(OWN_FIELDS))),
    )


def _rim(
    outline: Outline, frame: Frame, space: Space, whole: WholeCells, cut: tuple[PanelSet, ...], thickness: Field
) -> tuple[PointSet, Ints]:
    """The rim as springs along the outline, with the side of each.

    Where the rim's curve leaves the cells that hold panel, its springs stay on the straight side.
    """
    grid, corners = space.grid, frame.inside(outline.points_mm)
    panel = np.concatenate([whole.cells, *(each.at.cells for each in cut)])
    most, along = thickness(corners).max(), whole.plane.max()
    held_fast = np.array([along * most, along * most, whole.shear.max() * most, *[along * most**3 / 12.0] * 2])
    fast = HELD_FAST / grid.x.step * held_fast
    points, stiff, sides = [], [], []
    for k, (curve, held) in enumerate(zip(rim_curves(corners), outline.support)):
        length = float(np.hypot(*(corners[(k + 1) % len(corners)] - corners[k])))
        pieces = max(int(np.ceil(2.0 * length / grid.x.step)), 1)
        share = ((np.arange(pieces)[:, None] + GAUSS_T) / pieces).ravel()
        straight = corners[k] + share[:, None] * (corners[(k + 1) % len(corners)] - corners[k])
        curved = curve(share)
        on_panel = np.isin(grid.evaluated(curved)[0], panel)
        points.append(np.where(on_panel[:, None], curved, straight))
        spring = np.array(
            [held.inplane_N_mm2, held.inplane_N_mm2, held.vertical_N_mm2, held.rotation_N, held.rotation_N]
        )
        sides.append(np.full(len(share), k))
        stiff.append(np.tile(GAUSS_W * length / pieces, pieces)[:, None] * np.minimum(spring, fast))
    springs, places = np.concatenate(stiff), np.concatenate(points)
    rim = PointSet(
        part=RIM,
        points=places,
        at=space.evaluated(places),
        strains=rim_strains(len(springs)),
        stiffness=springs[:, :, None] * np.eye(FIELDS),
        pairs=Pairs(panel=tuple((field, field) for field in range(FIELDS)), mixed=(), own=()),
    )
    return rim, np.concatenate(sides)
