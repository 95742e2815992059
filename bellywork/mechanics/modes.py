"""The lowest modes of the bare board: mass of panel, ribs and bridges in the same space as their stiffness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Bridge
from bellywork.errors import SolveError
from bellywork.mechanics.discrete import Discrete, own_functions
from bellywork.mechanics.energy import BX, BY, FIELDS, LIFT, ROLL, TURN, U, V, W
from bellywork.mechanics.model import BoardModel
from bellywork.mechanics.panel import cell_functions
from bellywork.mechanics.solution import internal_forces
from bellywork.mechanics.stiffeners import Stations

if TYPE_CHECKING:
    from scipy.sparse import csr_array

OWN = [TURN, LIFT, ROLL]  # a stiffener's slip moves no mass to speak of
SIZE = FIELDS + len(OWN)
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
    """Points that carry mass, in t, mm, s: `evaluated` (points, nodes) gives the movement there, `own`
    the own fields of a stiffener; `mass` (points, 8, 8) for the five and its rotation, lift and roll.
    """

    evaluated: csr_array
    own: csr_array
    mass: Floats

    def forces(self, fields: Floats) -> Floats:
        """Mass times movement: (5, nodes) of fields (5, nodes)."""
        there = np.column_stack([self.evaluated @ fields.T, self.own @ fields[OWN].T])
        pushed = np.einsum("pfg,pg->pf", self.mass, there)
        out = np.asarray((self.evaluated.T @ pushed[:, :FIELDS]).T)
        out[OWN] += (self.own.T @ pushed[:, FIELDS:]).T
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

    numbering = model.numbering
    points, size = mass_points(model.discrete), numbering.size

    def weighed(x: Floats) -> Floats:
        return numbering.vector(points.forces(numbering.fields(np.ravel(x))))

    shape = (size, size)
    solved = LinearOperator(shape, matvec=lambda x: model.factor.solved(np.ravel(x)), dtype=float)
    mass = LinearOperator(shape, matvec=weighed, dtype=float)
    start = np.random.default_rng(0).standard_normal(size)  # the same modes each time, sign and all
    try:
        value, vector = eigsh(mass, k=count, M=mass, sigma=0.0, OPinv=solved, which="LM", v0=start)
    except ArpackError as error:
        raise SolveError(f"The board's modes were not found: {error}.") from None
    found = [numbering.fields(vector[:, k]) for k in np.argsort(value)]
    squares = np.array([_checked_square(model, points, fields) for fields in found])
    shapes = np.array([fields / fields[W][np.argmax(np.abs(fields[W]))] for fields in found])
    return Modes(frequencies_Hz=np.sqrt(squares) / (2.0 * np.pi), fields=shapes)


def _checked_square(model: BoardModel, points: MassPoints, fields: Floats) -> float:
    """The square of a mode's angular frequency by Rayleigh's quotient: rounding counts squared."""
    inner, energies = internal_forces(model.discrete, fields)
    strain, moved = 2.0 * sum(energies.values()), points.forces(fields)
    square = strain / float(np.sum(fields * moved))
    missed = model.numbering.vector(inner - square * moved)
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

    grid, body, nodes = discrete.grid, discrete.body, discrete.space.nodes
    functions, area = cell_functions(grid)
    on_cells = grid.nodes(discrete.whole.cells)
    n = len(on_cells) * len(area)
    whole = _rows(np.repeat(on_cells, len(area), axis=0), np.tile(functions[:, 0], (len(on_cells), 1)), nodes)
    density = body.panel.wood.density_kg_m3 * 1e-12
    evaluated, own = [whole], [csr_array((n, nodes))]
    mass = [_plate(density, discrete.whole.thickness.ravel(), np.tile(area, len(on_cells)))]
    for cut in discrete.cut:
        evaluated.append(_rows(cut.at.nodes, cut.at.values[:, 0], nodes))
        own.append(csr_array((len(cut.area), nodes)))
        mass.append(_plate(density, cut.thickness, cut.area))
    bridges = {f"bridge {bridge.name}": bridge for bridge in body.bridges}
    for number, stations in enumerate(discrete.stations):
        at = discrete.evaluated(stations.points_mm)
        of_stiffener = own_functions(discrete.space, number, stations, stations.run_mm)
        evaluated.append(_rows(at.nodes, at.values[:, 0], nodes))
        own.append(_rows(of_stiffener.nodes, of_stiffener.functions[:, 0], nodes))
        panel_mm = discrete.thickness(discrete.frame.inside(stations.points_mm))
        tangent = discrete.frame.inside(stations.tangents)
        mass.append(_beam(stations, bridges.get(stations.name), panel_mm, tangent))
    return MassPoints(
        evaluated=csr_array(vstack(evaluated)),
        own=csr_array(vstack(own)),
        mass=np.concatenate(mass),
    )


def _rows(nodes: Ints, functions: Floats, size: int) -> csr_array:
    """Rows that sum functions (points, m) of nodes (points, m), a matrix (points, size)."""
    from scipy.sparse import csr_array

    start = np.arange(len(nodes) + 1) * nodes.shape[1]
    return csr_array((functions.ravel(), nodes.ravel(), start), shape=(len(nodes), size))


def _plate(density: float, thickness: Floats, weight: Floats) -> Floats:
    mass = np.zeros((len(thickness), SIZE, SIZE))
    for field in (U, V, W):
        mass[:, field, field] = density * thickness * weight
    for field in (BX, BY):
        mass[:, field, field] = density * thickness**3 / 12.0 * weight
    return mass


def _beam(stations: Stations, bridge: Bridge | None, panel_mm: Floats, tangent: Floats) -> Floats:
    """Mass of a stiffener at its stations.

    A point of it, ζ over the glue line and a aside, moves by u + zβ + ζ (ψ t + ω n) and lifts by λ − aω.
    """
    width = stations.section.width_mm
    if bridge is None:
        layers = [(stations.glue_wood.density_kg_m3, stations.section.height.mm)]
    else:
        _, root, cap, notch = bridge.sizes_at(stations.run_mm)
        layers = [(bridge.root_wood.density_kg_m3, root), (bridge.cap_wood.density_kg_m3, cap - notch / 2.0)]
    total, first, second, base = (np.zeros(len(width)) for _ in range(4))
    for density, height in layers:
        line = density * 1e-12 * width * height * stations.weights_mm
        total, first = total + line, first + line * (base + height / 2.0)
        second = second + line * ((base + height / 2.0) ** 2 + height**2 / 12.0)
        base = base + height
    # movement in the plane (2) = moved + ζ turned, each a row of the eight
    moved, turned = (np.zeros((len(width), 2, SIZE)) for _ in range(2))
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    for axis, (move, turn) in enumerate(((U, BX), (V, BY))):
        moved[:, axis, move], moved[:, axis, turn] = 1.0, stations.side * panel_mm / 2.0
        turned[:, axis, FIELDS + OWN.index(TURN)] = tangent[:, axis]
        turned[:, axis, FIELDS + OWN.index(ROLL)] = normal[:, axis]
    cross = np.einsum("p,pai,paj->pij", stations.side * first, moved, turned)
    mass = np.einsum("p,pai,paj->pij", total, moved, moved) + cross + cross.transpose(0, 2, 1)
    mass += np.einsum("p,pai,paj->pij", second, turned, turned)
    lift, roll = (FIELDS + OWN.index(field) for field in (LIFT, ROLL))
    mass[:, lift, lift] += total
    mass[:, roll, roll] += total * width**2 / 12.0
    return np.asarray(mass)
