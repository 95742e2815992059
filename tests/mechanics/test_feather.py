"""A feather by itself, held at its thick end with 1 N over its thin one: what its tapered section gives.

Computed apart from this project by plane elements of scikit-fem (quadratic quadrilaterals 120 × 12; straight grain
along the flat side, E 12 000, across 470, G 720 N/mm², ν 0.44, 1 mm wide); the beam's figures are closed form.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bellywork.board import Outline, Rib
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.mechanics.stiffeners import rib_stations

WOOD = replace(wood("sitka_spruce"), E_L=12_000.0, G_LT=720.0)
OUTLINE = Outline(points_mm=[[0, 0], [900, 0], [900, 60], [0, 60]], support=(rim_support("clamped"),) * 4)


def tip_mm(thin: float, thick: float, over: float, turned: bool) -> float:
    """∫ f · slack f over the feather, f the forces in the section: shear 1 N, moment 1 N times the way from the tip."""
    ends, feathers = ((thick, thin), (0.0, over)) if turned else ((thin, thick), (over, 0.0))
    rib = Rib(
        name="r",
        wood=WOOD,
        start_mm=(0.0, 30.0),
        end_mm=(900.0, 30.0),
        width_mm=1.0,
        height_mm=thick,
        end_height_mm=ends,
        feather_mm=feathers,
    )
    stations = rib_stations(rib, OUTLINE, 10.0)
    from_tip = 900.0 - stations.run_mm if turned else stations.run_mm
    slack = np.linalg.inv(stations.section.stiffness(-1)[:, :4, :4])
    forces = np.zeros((len(from_tip), 4))
    forces[:, 1], forces[:, 2] = from_tip, -1.0 if turned else 1.0
    gives = np.einsum("pi,pij,pj->p", forces, slack, forces) * stations.weights_mm
    return float(gives[from_tip < over].sum())


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("thin", "thick", "over", "plane_elements", "shear_flow", "off_percent"),
    [
        (6.0, 20.0, 90.0, 0.085856, 0.087402, 2.0),
        (6.0, 22.0, 110.0, 0.12052, 0.12237, 2.0),
        (6.0, 20.0, 400.0, 6.1186, 6.1229, 0.5),
        (20.0, 20.0, 90.0, 0.037823, 0.037875, 0.5),
    ],
)
def test_a_feather_gives_by_its_shear_flow(thin, thick, over, plane_elements, shear_flow, off_percent, turned) -> None:
    found = tip_mm(thin, thick, over, turned)
    assert found == pytest.approx(shear_flow, rel=2e-3)
    assert abs(found / plane_elements - 1.0) < off_percent / 100.0


def test_a_beam_without_it_is_too_stiff() -> None:
    """Bending and shear of each section as if it were level: 4.7 % too stiff on the second (closed form)."""
    assert tip_mm(6.0, 22.0, 110.0, False) > 1.05 * 0.11483
