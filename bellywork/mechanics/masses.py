"""Mass of every part of the board."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.body import Body
from bellywork.mechanics.discrete import Discrete, discretised

CELL_MM = 40.0


@dataclass(frozen=True, kw_only=True)
class Masses:
    """Masses in kg: the panel inside the rim's glue line, each rib and each bridge by its name, and all together."""

    panel_kg: float
    ribs_kg: dict[str, float]
    bridges_kg: dict[str, float]

    @property
    def total_kg(self) -> float:
        """All parts together."""
        return self.panel_kg + sum(self.ribs_kg.values()) + sum(self.bridges_kg.values())


def masses(body: Body, discrete: Discrete | None = None) -> Masses:
    """Mass of panel (by its taper), ribs (by their feathers, inside the rim) and bridges (root and cap, less notches).

    discrete   the body's own, where it is at hand

    >>> from bellywork.board import Body, Outline, Panel
    >>> from bellywork.board.rims import rim_support
    >>> from bellywork.board.woods import wood
    >>> plain = Body(
    ...     outline=Outline(points_mm=[[0, 0], [1000, 0], [1000, 500], [0, 500]], support=(rim_support("glued"),) * 4),
    ...     panel=Panel(wood=wood("sitka_spruce"), grain_deg=0, thickness_points_mm=[[0, 0, 8]]))
    >>> round(masses(plain).total_kg, 3)  # 0.004 m³ of 448 kg/m³
    1.792
    """
    discrete = discretised(body, CELL_MM) if discrete is None else discrete
    whole, area = discrete.whole, discrete.grid.x.step * discrete.grid.y.step
    gauss = np.outer(*[np.polynomial.legendre.leggauss(4)[1] / 2.0] * 2).ravel()
    volume = float(np.sum(whole.thickness * gauss) * area)
    for cut in discrete.cut:
        volume += float(np.sum(cut.thickness * cut.area))
    ribs, bridges = {}, {}
    woods = {f"rib {rib.name}": rib.wood for rib in body.ribs}
    for stations in discrete.stations:
        section, length = stations.section, stations.weights_mm
        if stations.side < 0:
            solid = float(np.sum(section.width_mm * section.height.mm * length))
            ribs[stations.name.removeprefix("rib ")] = solid * woods[stations.name].density_kg_m3 * 1e-9
    for bridge in body.bridges:
        run = np.append(0.0, np.cumsum(np.hypot(*np.diff(bridge.line_mm, axis=0).T)))
        root = np.trapezoid(bridge.width_mm * bridge.root_mm, run)
        cap = np.trapezoid(bridge.width_mm * np.maximum(bridge.cap_mm - bridge.notch_mm / 2.0, 0.0), run)
        grams = root * bridge.root_wood.density_kg_m3 + cap * bridge.cap_wood.density_kg_m3
        bridges[bridge.name] = float(grams) * 1e-9
    return Masses(panel_kg=volume * body.panel.wood.density_kg_m3 * 1e-9, ribs_kg=ribs, bridges_kg=bridges)
