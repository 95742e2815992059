"""The lowest modes of the bare board: mass of panel, ribs and bridges in the same space as their stiffness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Bridge
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import Discrete
from bellywork.mechanics.energy import BX, BY, FIELDS, U, V, W
from bellywork.mechanics.model import BoardModel
from bellywork.mechanics.panel import cell_functions
from bellywork.mechanics.solution import inner_forces
from bellywork.mechanics.stiffeners import Stations, bridge_sizes_mm

if TYPE_CHECKING:
    from scipy.sparse import csr_array

LIMIT = 1e-6  # a mode whose residual holds more of its energy does not count


@dataclass(frozen=True, kw_only=True, eq=False)
class Modes:
    """Modes, the lowest first.

    frequencies_Hz   (modes,)
    fields           coefficients (modes, 5, nodes) of their movement, the greatest sink or rise of a node 1
    """

    frequencies_Hz: Floats
    fields: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class MassPoints:
    """Points that carry mass: `evaluated` (points, nodes) gives movements there, `mass` (points, 5, 5) in t = Mg."""

    evaluated: csr_array
    mass: Floats

    def forces(self, fields: Floats) -> Floats:
        """Mass times movement: (5, nodes) of fields (5, nodes)."""
        there = self.evaluated @ fields.T
        out: Floats = (self.evaluated.T @ np.einsum("pfg,pg->pf", self.mass, there)).T
        return out


def modes(model: BoardModel, *, count: int = 10) -> Modes:
    """The lowest modes of the bare board, K x = (2πf)² M x, by Lanczos' method on the factored stiffness (ARPACK).

    Translation of panel, ribs and bridges, each at its own height, and rotary inertia. The mass of the strings, of air
    and of the rim is left out; so is damping.

    Raises SolveError where a mode does not hold, that is where the energy of its residual is more than LIMIT of its
    strain energy, both summed afresh from the strains; or where none is found.

    A plate of steel, 1 × 0.8 m and 10 mm, hinged all round: f = π/2 √(D/ρt) (1/a² + 1/b²) = 63.0 Hz as a thin plate.
    """
    from scipy.sparse.linalg import ArpackError, LinearOperator, eigsh

    points, size = mass_points(model.discrete), model.factor.lower.shape[1]

    def weighed(x: Floats) -> Floats:
        return model.as_freedoms(points.forces(model.as_fields(np.ravel(x))))

    shape = (size, size)
    solved = LinearOperator(shape, matvec=lambda x: model.factor.solved(np.ravel(x)), dtype=float)
    mass = LinearOperator(shape, matvec=weighed, dtype=float)
    start = np.random.default_rng(0).standard_normal(size)  # the same modes each time, sign and all
    try:
        value, vector = eigsh(mass, k=count, M=mass, sigma=0.0, OPinv=solved, which="LM", v0=start)
    except ArpackError as error:
        raise SolveError(f"The board's modes were not found: {error}.") from None
    found = [model.as_fields(vector[:, k]) for k in np.argsort(value)]
    squares = np.array([_checked_square(model, points, fields) for fields in found])
    shapes = np.array([fields / fields[W][np.argmax(np.abs(fields[W]))] for fields in found])
    return Modes(frequencies_Hz=np.sqrt(squares) / (2.0 * np.pi), fields=shapes)


def _checked_square(model: BoardModel, points: MassPoints, fields: Floats) -> float:
    """The square of a mode's angular frequency by Rayleigh's quotient: rounding counts squared."""
    inner, energies = inner_forces(model.discrete, fields)
    strain, moved = 2.0 * sum(energies.values()), points.forces(fields)
    square = strain / float(np.sum(fields * moved))
    missed = model.as_freedoms(inner - square * moved)
    residual = abs(float(missed @ model.factor.solved(missed))) / strain
    if not residual <= LIMIT:
        raise SolveError(
            f"A mode of {np.sqrt(square) / (2.0 * np.pi):.1f} Hz does not hold: the energy of its residual is "
            f"{residual:.1e} of its own."
        )
    return square


def mass_points(discrete: Discrete) -> MassPoints:
    """Everything that has mass, as points; units are t (1000 kg), mm, s, so that N are N."""
    from scipy.sparse import csr_array, vstack

    grid, body = discrete.grid, discrete.body
    functions, area = cell_functions(grid)
    nodes = grid.nodes(discrete.whole.cells)
    n = len(nodes) * functions.shape[0]
    whole = csr_array(
        (np.tile(functions[:, 0], (len(nodes), 1)).ravel(), np.repeat(nodes, functions.shape[0], axis=0).ravel(),
         np.arange(n + 1) * nodes.shape[1]), shape=(n, len(discrete.crown)),
    )  # fmt: skip
    density = body.panel.wood.density_kg_m3 * 1e-12
    cut = discrete.cut.points
    evaluated = [whole, _evaluated(discrete, cut)]
    mass = [
        _plate(density, discrete.whole.thickness.ravel(), np.tile(area, len(nodes))),
        _plate(density, discrete.thickness(cut), discrete.cut_weights),
    ]
    bridges = {f"bridge {bridge.name}": bridge for bridge in body.bridges}
    for stations in discrete.stations:
        centre = discrete.frame.inside(stations.points_mm)
        evaluated.append(_evaluated(discrete, centre))
        mass.append(_beam(stations, bridges.get(stations.name), discrete.thickness(centre)))
    return MassPoints(evaluated=csr_array(vstack(evaluated)), mass=np.concatenate(mass))


def _evaluated(discrete: Discrete, points: Floats) -> csr_array:
    from scipy.sparse import csr_array

    cells, functions = discrete.grid.evaluated(points)
    nodes = discrete.grid.nodes(cells)
    start = np.arange(len(points) + 1) * nodes.shape[1]
    return csr_array((functions[:, 0].ravel(), nodes.ravel(), start), shape=(len(points), len(discrete.crown)))


def _plate(density: float, thickness: Floats, weight: Floats) -> Floats:
    mass = np.zeros((len(thickness), FIELDS, FIELDS))
    for field in (U, V, W):
        mass[:, field, field] = density * thickness * weight
    for field in (BX, BY):
        mass[:, field, field] = density * thickness**3 / 12.0 * weight
    return mass


def _beam(stations: Stations, bridge: Bridge | None, panel_mm: Floats) -> Floats:
    """Mass of a stiffener at its stations, at its own height over the panel's mid-surface."""
    width = stations.section.width_mm
    if bridge is None:
        layers = [(stations.glue_wood.density_kg_m3, stations.section.height_mm)]
    else:
        _, root, cap, notch = bridge_sizes_mm(bridge, stations.run_mm)
        layers = [(bridge.root_wood.density_kg_m3, root), (bridge.cap_wood.density_kg_m3, cap - notch / 2.0)]
    total, first, second, base = (np.zeros(len(width)) for _ in range(4))
    base = base + panel_mm / 2.0
    for density, height in layers:
        line = density * 1e-12 * width * height * stations.weights_mm
        total, first = total + line, first + line * (base + height / 2.0)
        second = second + line * ((base + height / 2.0) ** 2 + height**2 / 12.0)
        base = base + height
    mass = np.zeros((len(width), FIELDS, FIELDS))
    for field in (U, V, W):
        mass[:, field, field] = total
    for move, turn in ((U, BX), (V, BY)):
        mass[:, turn, turn] = second
        mass[:, move, turn] = mass[:, turn, move] = stations.side * first
    return mass
