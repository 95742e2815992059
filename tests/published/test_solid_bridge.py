"""A ribbed panel with a bridge on it, solved as a solid by scikit-fem in the test itself."""

from __future__ import annotations

from functools import cache

import numpy as np
import skfem
from cases import Case, Source, agrees, check
from plates import CLAMPED, plate, rectangle
from scipy.sparse.linalg import splu
from skfem.helpers import sym_grad
from test_solid_reference import elasticity

from bellywork.board import Bridge, Rib, Wood
from bellywork.board.woods import wood
from bellywork.mechanics.model import assembled

LENGTH, WIDTH, THICKNESS = 600.0, 400.0, 8.0  # grain along the length
RIB_WIDTH, RIB_HEIGHT, RIB_AT = 25.0, 22.0, (150.0, 300.0, 450.0)
BRIDGE_WIDTH, BRIDGE_HEIGHT = 32.0, 34.0  # along the grain, over the middle, from edge to edge
PANEL_WOOD, RIB_WOOD, BRIDGE_WOOD = wood("sitka_spruce"), wood("sitka_spruce"), wood("sugar_maple")
FORCE = 100.0  # N, on the bridge top over the middle rib's width
READ = [(225.0, 200.0), (150.0, 200.0), (75.0, 200.0), (300.0, 100.0), (225.0, 100.0), (150.0, 100.0)]


def parts(at: np.ndarray) -> dict[str, np.ndarray]:
    """Which points lie in panel, ribs and bridge; z = 0 in the panel's middle."""
    rib = np.zeros(at.shape[1], dtype=bool)
    for x in RIB_AT:
        rib |= np.abs(at[0] - x) < RIB_WIDTH / 2.0
    inside = np.abs(at[2]) < THICKNESS / 2.0
    on = (at[2] > THICKNESS / 2.0) & (np.abs(at[1] - WIDTH / 2.0) < BRIDGE_WIDTH / 2.0)
    return {"panel": inside, "rib": (at[2] < -THICKNESS / 2.0) & rib, "bridge": on}


def quarter_mesh() -> skfem.MeshHex:
    """A quarter of the panel, up to both its middle lines."""
    half = RIB_WIDTH / 2.0
    x = np.unique(np.concatenate([
        np.linspace(0.0, RIB_AT[0] - half, 9), np.linspace(RIB_AT[0] - half, RIB_AT[0] + half, 3),
        np.linspace(RIB_AT[0] + half, RIB_AT[1] - half, 9), np.linspace(RIB_AT[1] - half, RIB_AT[1], 2),
    ]))  # fmt: skip
    edge = (WIDTH - BRIDGE_WIDTH) / 2.0
    y = np.unique(np.concatenate([np.linspace(0.0, edge, 13), np.linspace(edge, WIDTH / 2.0, 4)]))
    top = THICKNESS / 2.0
    z = np.unique(np.concatenate([
        np.linspace(-top - RIB_HEIGHT, -top, 4), np.linspace(-top, top, 3), np.linspace(top, top + BRIDGE_HEIGHT, 4),
    ]))  # fmt: skip
    box = skfem.MeshHex.init_tensor(x, y, z)
    wooden = np.any(list(parts(box.p[:, box.t].mean(axis=1)).values()), axis=0)
    return box.remove_elements(np.flatnonzero(~wooden))


@cache
def solid_sinks() -> np.ndarray:
    """Sink of the panel's middle plane at READ, by solids."""
    mesh = quarter_mesh()
    element = skfem.ElementVector(skfem.ElementHexS2())
    whole = skfem.Basis(mesh, element, intorder=4)
    lies: dict[str, tuple[Wood, dict[str, int]]] = {
        "panel": (PANEL_WOOD, {"L": 0, "R": 1, "T": 2}),
        "rib": (RIB_WOOD, {"L": 1, "R": 0, "T": 2}),
        "bridge": (BRIDGE_WOOD, {"L": 0, "R": 1, "T": 2}),
    }
    stiffness = 0
    for part, inside in parts(mesh.p[:, mesh.t].mean(axis=1)).items():
        material = elasticity(*lies[part])

        @skfem.BilinearForm
        def energy(u, v, _, material=material):
            return np.einsum("ijkl,kl...,ij...->...", material, sym_grad(u), sym_grad(v), optimize=True)

        stiffness = stiffness + energy.assemble(skfem.Basis(mesh, element, intorder=4, elements=np.flatnonzero(inside)))
    top = THICKNESS / 2.0 + BRIDGE_HEIGHT
    pressed = mesh.facets_satisfying(lambda p: np.isclose(p[2], top) & (p[0] > RIB_AT[1] - RIB_WIDTH / 2.0))

    @skfem.LinearForm
    def down(v, _):
        return -v[2]

    load = down.assemble(skfem.FacetBasis(mesh, element, facets=pressed))
    load *= FORCE / 4.0 / abs(load.sum())
    held = whole.get_dofs(lambda p: np.isclose(p[0], 0.0) | np.isclose(p[1], 0.0)).all()
    mirrored = [
        whole.get_dofs(lambda p, axis=axis, end=end: np.isclose(p[axis], end)).all(f"u^{axis + 1}")
        for axis, end in ((0, LENGTH / 2.0), (1, WIDTH / 2.0))
    ]
    free = whole.complement_dofs(np.unique(np.concatenate([held, *mirrored])))
    moved = np.zeros(whole.N)
    moved[free] = splu(
        stiffness[free][:, free].tocsc(), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}
    ).solve(load[free])
    middle = np.array([LENGTH, WIDTH, 0.0]) / 2.0 - 1e-9
    places = np.minimum(np.column_stack([READ, np.zeros(len(READ))]).T, middle[:, None])
    return -(whole.probes(places) @ moved)[-len(READ) :]


@cache
def board_sinks() -> np.ndarray:
    """The same by bellywork's board, the force spread over the same part of the bridge."""
    ribs = tuple(
        Rib(
            name=str(i), wood=RIB_WOOD, start_mm=(x, 0.0), end_mm=(x, WIDTH), width_mm=RIB_WIDTH, height_mm=RIB_HEIGHT,
            end_height_mm=(RIB_HEIGHT, RIB_HEIGHT), feather_mm=(0.0, 0.0),
        )
        for i, x in enumerate(RIB_AT)
    )  # fmt: skip
    bridge = Bridge(
        name="long", root_wood=BRIDGE_WOOD, cap_wood=BRIDGE_WOOD, line_mm=[(0.0, WIDTH / 2.0), (LENGTH, WIDTH / 2.0)],
        width_mm=[BRIDGE_WIDTH] * 2, root_mm=[22.0] * 2, cap_mm=[BRIDGE_HEIGHT - 22.0] * 2, notch_mm=[0.0] * 2,
    )  # fmt: skip
    body = plate(rectangle(LENGTH, WIDTH), CLAMPED, PANEL_WOOD, THICKNESS, ribs=ribs, bridges=(bridge,))
    at, weight = np.polynomial.legendre.leggauss(5)
    along, across = np.meshgrid(at * RIB_WIDTH / 2.0, at * BRIDGE_WIDTH / 2.0, indexing="ij")
    places = np.column_stack([LENGTH / 2.0 + along.ravel(), WIDTH / 2.0 + across.ravel()])
    return assembled(body).pressed(places, FORCE * np.outer(weight, weight).ravel() / 4.0).sink_mm(np.array(READ))


SOURCE = Source(
    title="Ribbed panel with a bridge as a solid, by scikit-fem",
    cite="scikit-fem, a general-purpose finite element library: 20-node bricks, run in the test itself",
    about="Panel 600 × 400 × 8 mm and three ribs 25 × 22 mm of Sitka spruce, on top along the grain a maple bridge "
    "32 × 34 mm, edges held, 100 N on the bridge over the middle rib.",
    why="3 %: first-order shear deformation against solids. The bridge had no part in the choice of the panel's width "
    "that works with a stiffener in shear.",
    cases=tuple(
        Case(
            f"sink at ({x:g}, {y:g})", "mm", lambda i=i: solid_sinks()[i], "computed", lambda i=i: board_sinks()[i], 3.0
        )
        for i, (x, y) in enumerate(READ)
    ),
)


@check(SOURCE)
def test_board_with_a_bridge_agrees_with_solids(case):
    agrees(case)
