"""A stiffener that ends inside the panel is as long as it is, wherever in a cell it ends and at whatever angle.

A strip on rollers with a bridge or a rib over its full width that ends some way from each roller. References: the same
layers solved in one dimension without any grid (layered_strip.py), bending theory where shear is made stiff, and
plane elements of scikit-fem.
"""

from __future__ import annotations

import numpy as np
import pytest
import skfem
from layered_strip import Strip, sink
from scipy.sparse.linalg import splu
from skfem.helpers import sym_grad

from bellywork.board import Body, Bridge, Outline, Panel, Rib, RimSupport, Wood
from bellywork.mechanics.model import DEFAULT_CELL_MM, assembled
from bellywork.mechanics.stiffeners import FOOT

SPAN, WIDTH, THICK, HIGH = 700.0, 30.0, 8.5, 30.0
BRIDGE_E, BRIDGE_G, BRIDGE_ET = 12600.0, 720.0, 900.0
ENDS = (80.0, 84.0, 87.0, 90.0, 95.0, 99.0)  # six places in a cell, of 20 and of 30 mm
PANELS = {"along the grain": (11000.0, 720.0), "across the grain": (850.0, 35.0)}


def stuff(E: float, G: float, E_T: float) -> Wood:
    """Without contraction: the strip is a beam."""
    return Wood(
        name="stuff",
        E_L=E,
        E_R=E,
        E_T=E_T,
        G_LR=G,
        G_LT=G,
        G_RT=G,
        nu_LR=0.0,
        nu_LT=0.0,
        nu_RT=0.0,
        density_kg_m3=400.0,
    )


def body(kind: str, bare: float, panel: tuple[float, float], stiff: float, turned_deg: float) -> Body:
    """The strip; a rib far beside it lays the grid at an angle."""
    roller = RimSupport(name="roller", vertical_N_mm2=np.inf, inplane_N_mm2=1e-3, rotation_N=0.0)
    free = RimSupport(name="free", vertical_N_mm2=0.0, inplane_N_mm2=0.0, rotation_N=0.0)
    wood, turn = stuff(BRIDGE_E, stiff * BRIDGE_G, BRIDGE_ET), np.radians(turned_deg)

    def rib(name: str, start: tuple[float, float], end: tuple[float, float]) -> Rib:
        return Rib(
            name=name, wood=wood, start_mm=start, end_mm=end, width_mm=WIDTH, height_mm=HIGH,
            end_height_mm=(HIGH, HIGH), feather_mm=(0.0, 0.0),
        )  # fmt: skip

    away = rib("away", (9e3, 0.0), (9e3 + 6e4 * float(np.cos(turn)), 6e4 * float(np.sin(turn))))
    line = np.array([[bare, WIDTH / 2.0], [SPAN / 2.0, WIDTH / 2.0], [SPAN - bare, WIDTH / 2.0]])
    bridge = Bridge(
        name="b", root_wood=wood, cap_wood=wood, line_mm=line, width_mm=[WIDTH] * 3, root_mm=[20.0] * 3,
        cap_mm=[HIGH - 20.0] * 3, notch_mm=[0.0] * 3,
    )  # fmt: skip
    return Body(
        outline=Outline(points_mm=[[0, 0], [SPAN, 0], [SPAN, WIDTH], [0, WIDTH]], support=(free, roller, free, roller)),
        panel=Panel(
            wood=stuff(panel[0], stiff * panel[1], panel[0] / 14.0), grain_deg=0.0, thickness_points_mm=[[0, 0, THICK]]
        ),
        ribs=(away, rib("r", tuple(line[0]), tuple(line[-1]))) if kind == "rib" else (away,),
        bridges=(bridge,) if kind == "bridge" else (),
    )


def ours(kind: str, bare: float, panel: tuple[float, float], stiff: float, turned_deg: float, cell: float) -> float:
    middle = [[SPAN / 2.0, WIDTH / 2.0]]
    model = assembled(body(kind, bare, panel, stiff, turned_deg), cell_mm=cell)
    return float(model.pressed(middle, [1.0]).sink_mm(middle)[0])


def layered(bare: float, panel: tuple[float, float], stiff: float, E_T: float = BRIDGE_ET, kind: str = "rib") -> float:
    strip = Strip(
        span=SPAN,
        bare=bare,
        panel=(panel[0], stiff * panel[1], THICK),
        stiffener=(BRIDGE_E, stiff * BRIDGE_G, HIGH),
        foot=E_T / (FOOT * HIGH),
        on_top=kind == "bridge",
    )
    return sink(strip) / WIDTH


def bending(bare: float, E: float) -> float:
    """½ [a³/3EI₁ + ((L/2)³ − a³)/3EI₂]: exact for a stepped beam that does not shear."""
    arm, EI = (HIGH + THICK) / 2.0, E * THICK**3 / 12.0
    both = EI + BRIDGE_E * HIGH**3 / 12.0 + E * THICK * BRIDGE_E * HIGH * arm**2 / (E * THICK + BRIDGE_E * HIGH)
    return 0.5 * (bare**3 / (3.0 * EI) + ((SPAN / 2.0) ** 3 - bare**3) / (3.0 * both)) / WIDTH


@pytest.mark.parametrize("panel", PANELS.values(), ids=PANELS)
@pytest.mark.parametrize("stiff", [1.0, 10.0])
@pytest.mark.parametrize(("kind", "turned_deg"), [("bridge", 0.0), ("bridge", 35.0), ("rib", 0.0)])
def test_a_free_end_anywhere_in_its_cell(kind, turned_deg, stiff, panel) -> None:
    """Computed apart: the same layers in one dimension; 3 % at the default cell."""
    for bare in ENDS:
        expected = layered(bare, panel, stiff, kind=kind)
        assert ours(kind, bare, panel, stiff, turned_deg, DEFAULT_CELL_MM) == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("cell", [10.0, 5.0, 3.0, 2.0])
def test_down_to_two_millimetres(cell: float) -> None:
    """Computed apart: 2 % at 10 mm and below. Stations too far apart for the cells would leave holes in the bridge."""
    panel = PANELS["across the grain"]
    for bare in (80.0, 87.0):
        assert ours("bridge", bare, panel, 10.0, 0.0, cell) == pytest.approx(
            layered(bare, panel, 10.0, kind="bridge"), rel=0.02
        )


@pytest.mark.parametrize("panel", PANELS.values(), ids=PANELS)
def test_the_layers_without_shear_are_a_stepped_beam(panel) -> None:
    """Exact: as shear and foot stiffen the layered strip tends to bending theory, each time nearer."""
    off = [
        layered(80.0, panel, stiff, stiff**2 * BRIDGE_ET) / bending(80.0, panel[0]) - 1.0
        for stiff in (1.0, 10.0, 100.0, 1000.0)
    ]
    assert off[0] > off[1] > off[2] > off[3] > 0.0
    assert off[3] < 0.01


@pytest.mark.parametrize("panel", PANELS.values(), ids=PANELS)
def test_the_layers_against_plane_elements(panel) -> None:
    """Computed by scikit-fem: with wood's shear the strip sinks a quarter to two fifths more than by bending alone."""
    assert layered(80.0, panel, 1.0, BRIDGE_E) == pytest.approx(plane_elements(80.0, panel), rel=0.04)
    assert plane_elements(80.0, panel) > 1.2 * bending(80.0, panel[0])


def plane_elements(bare: float, panel: tuple[float, float]) -> float:
    """The strip in plane stress, quadratic quadrilaterals, the force spread over the depth of its middle section."""
    x = np.concatenate(
        [np.linspace(0, bare - 20, 13)[:-1], np.linspace(bare - 20, bare + 20, 17)[:-1],
         np.linspace(bare + 20, SPAN / 2, 31)]
    )  # fmt: skip
    z = np.concatenate([np.linspace(0, THICK, 5)[:-1], np.linspace(THICK, THICK + HIGH, 9)])
    mesh = skfem.MeshQuad.init_tensor(x, z)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((middle[1] > THICK) & (middle[0] < bare)))
    in_panel = mesh.p[1, mesh.t].mean(axis=0) < THICK
    element, stiffness = skfem.ElementVector(skfem.ElementQuad2()), 0
    for inside, (E, G) in ((in_panel, panel), (~in_panel, (BRIDGE_E, BRIDGE_G))):

        @skfem.BilinearForm
        def energy(u, v, _, E=E, G=G):
            a, b = sym_grad(u), sym_grad(v)
            return E * (a[0, 0] * b[0, 0] + a[1, 1] * b[1, 1]) + 4.0 * G * a[0, 1] * b[0, 1]

        stiffness = stiffness + energy.assemble(skfem.Basis(mesh, element, elements=np.flatnonzero(inside)))
    basis = skfem.Basis(mesh, element)
    cut = skfem.FacetBasis(mesh, element, facets=mesh.facets_satisfying(lambda p: np.isclose(p[0], SPAN / 2.0)))

    @skfem.LinearForm
    def down(v, _):
        return v[1]

    load = down.assemble(cut)
    held = [
        basis.get_dofs(lambda p, at=at: np.isclose(p[0], at)).all(name)
        for at, name in ((0.0, "u^2"), (SPAN / 2.0, "u^1"))
    ]
    free = basis.complement_dofs(np.unique(np.concatenate(held)))
    moved = np.zeros(basis.N)
    moved[free] = splu(stiffness[free][:, free].tocsc()).solve(0.5 * load[free] / load.sum())
    return float((basis.probes(np.array([[SPAN / 2.0 - 1e-9], [THICK / 2.0]])) @ moved)[1]) / WIDTH
