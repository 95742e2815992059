"""The plain grid that is laid over the outline, in a frame that comes from the board itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Body
from bellywork.mechanics.splines import DEGREE, LOCAL, Axis

NODES = LOCAL**2  # functions on a cell


@dataclass(frozen=True, kw_only=True, eq=False)
class Frame:
    """A frame turned against the board's own: `axes` holds its two unit vectors as rows."""

    axes: Floats

    def inside(self, points: Floats) -> Floats:
        """Points or vectors (…, 2) of the board in this frame."""
        return points @ self.axes.T

    def angle(self, degrees: float) -> float:
        """A direction of the board, in degrees from its x, as an angle in this frame, radians."""
        return float(np.radians(degrees) - np.arctan2(self.axes[0, 1], self.axes[0, 0]))

    def outside(self, points: Floats) -> Floats:
        """Points or vectors (…, 2) of this frame on the board."""
        return points @ self.axes


def board_frame(body: Body) -> Frame:
    """A frame along the mean direction of the ribs (by length), or across the grain where there are none.

    It turns and moves with the board, so that the answer does too.
    """
    runs = [rib.end_mm - rib.start_mm for rib in body.ribs]
    # directions without sense: means are taken of twice the angle
    double = sum((np.hypot(*run) * np.exp(2j * np.arctan2(run[1], run[0])) for run in runs), start=0j)
    angle = np.angle(double) / 2.0 if abs(double) > 1e-9 else np.radians(body.panel.grain_deg + 90.0)
    along = np.array([np.cos(angle), np.sin(angle)])
    return Frame(axes=np.array([along, [-along[1], along[0]]]))


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Tensor products of splines on two axes; node (i, j) has the number i · ny + j, j along the shorter side."""

    x: Axis
    y: Axis

    @property
    def shape(self) -> tuple[int, int]:
        """Functions along x and y."""
        return self.x.functions, self.y.functions

    def evaluated(self, points: Floats) -> tuple[Ints, Floats]:
        """Cell numbers (points,), and the sixteen functions there with their slopes along x and y: (points, 3, 16)."""
        i, fx = self.x.evaluated(points[:, 0])
        j, fy = self.y.evaluated(points[:, 1])
        pairs = np.empty((len(points), 3, LOCAL, LOCAL))
        for k, (along_x, along_y) in enumerate(((0, 0), (1, 0), (0, 1))):
            np.multiply(fx[:, along_x, :, None], fy[:, along_y, None, :], out=pairs[:, k])
        return i * self.y.cells + j, pairs.reshape(len(points), 3, NODES)

    def nodes(self, cells: Ints) -> Ints:
        """Numbers of the sixteen nodes of each cell, shape (cells, 16)."""
        i, j = np.divmod(cells, self.y.cells)
        a, b = np.divmod(np.arange(NODES), LOCAL)
        nodes: Ints = (i[:, None] + a) * self.y.functions + j[:, None] + b
        return nodes

    def nearest(self, points: Floats) -> Ints:
        """Numbers of the nodes whose functions have their middle nearest to points (points, 2)."""
        i, j = (
            np.clip(np.round((points[:, k] - axis.start) / axis.step).astype(np.int64) + 1, 0, axis.functions - 1)
            for k, axis in enumerate((self.x, self.y))
        )
        nodes: Ints = i * self.y.functions + j
        return nodes

    def corners(self, cells: Ints) -> tuple[Floats, ...]:
        """The four corners of each cell, each (cells, 2)."""
        i, j = np.divmod(cells, self.y.cells)
        return tuple(
            np.column_stack([self.x.start + self.x.step * (i + a), self.y.start + self.y.step * (j + b)])
            for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))
        )

    def fitted(self, height: Floats) -> Floats:
        """Coefficients (nx, ny) of the spline through heights at `fit_points`, shape (nx, ny)."""
        first = np.linalg.solve(_collocation(self.x), height)
        return np.linalg.solve(_collocation(self.y), first.T).T

    def fit_points(self) -> Floats:
        """Points (nx, ny, 2) at which `fitted` takes its heights: grid lines, and mid of the outermost cells."""
        x, y = np.meshgrid(_fit_places(self.x), _fit_places(self.y), indexing="ij")
        return np.stack([x, y], axis=-1)


def grid_over(points: Floats, cell_mm: float) -> Grid:
    """The grid over the box round these points, cells as near to square and to `cell_mm` as fits the box."""
    axes = []
    for low, high in zip(points.min(0), points.max(0)):
        cells = max(int(np.ceil((high - low) / cell_mm - 1e-9)), 2)
        axes.append(Axis(start=float(low), step=float((high - low) / cells), cells=cells))
    return Grid(x=axes[0], y=axes[1])


def _fit_places(axis: Axis) -> Floats:
    lines = np.arange(axis.cells + 1.0)
    return axis.start + axis.step * np.sort(np.append(lines, [0.5, axis.cells - 0.5]))


def _collocation(axis: Axis) -> Floats:
    cell, local = axis.evaluated(_fit_places(axis))
    matrix = np.zeros((axis.functions, axis.functions))
    rows = np.arange(axis.functions)
    for k in range(DEGREE + 1):
        matrix[rows, cell + k] += local[:, 0, k]
    return matrix
