"""A stiffener's foot: what presses on it squeezes it, and it has its own lift and roll.

The share `FOOT` is held against plane elasticity, solved here by linear elements through the height of a strip: E along
the strip and through its height, shear and ν of invented woods of the size of handbook ones.
"""

from __future__ import annotations

import numpy as np
import pytest

from bellywork.board import Body, Bridge, Outline, Panel
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood as named_wood
from bellywork.mechanics.energy import SQUEEZE
from bellywork.mechanics.model import assembled
from bellywork.mechanics.stiffeners import FOOT

WAVE_MM = 60.0  # twice a stiffener's width
SPRUCE, MAPLE = (11_400.0, 500.0, 710.0, 0.45), (13_600.0, 900.0, 880.0, 0.45)


def pressed_face_mm(wood: tuple[float, float, float, float], height: float, wave_mm: float, layers: int) -> float:
    """How far the face of a strip moves under a pressure cos kx of 1 N/mm² on it, other face free.

    u = U(z) sin kx, w = W(z) cos kx: the mean over a wave of the strain energy leaves one dimension, z.
    """
    along, through, shear, nu = wood
    C = np.linalg.inv([[1.0 / along, -nu / along], [-nu / along, 1.0 / through]])
    k, step = 2.0 * np.pi / wave_mm, height / layers
    K = np.zeros((2 * layers + 2, 2 * layers + 2))
    for place in (-1.0, 1.0) / np.sqrt(3.0):
        N, slope = np.array([1.0 - place, 1.0 + place]) / 2.0, np.array([-1.0, 1.0]) / step
        normal, sliding = np.zeros((2, 4)), np.zeros((1, 4))
        normal[0, 0::2], normal[1, 1::2] = k * N, slope
        sliding[0, 0::2], sliding[0, 1::2] = slope, -k * N
        for layer in range(layers):
            at = slice(2 * layer, 2 * layer + 4)
            K[at, at] += (normal.T @ C @ normal + shear * sliding.T @ sliding) * step / 2.0
    load = np.zeros(len(K))
    load[1] = 1.0
    return float(np.linalg.solve(K, load)[1])


def beam_mm(wood: tuple[float, float, float, float], height: float, wave_mm: float) -> float:
    """The same of a beam that bends and shears (Timoshenko)."""
    along, _, shear, _ = wood
    k = 2.0 * np.pi / wave_mm
    return 12.0 / (along * height**3 * k**4) + 1.0 / (5.0 / 6.0 * shear * height * k**2)


@pytest.mark.parametrize(
    ("wood", "height", "share"), [(SPRUCE, 12.0, 0.312), (SPRUCE, 22.0, 0.281), (MAPLE, 31.0, 0.253)]
)
def test_share_of_the_height_by_plane_elasticity(wood, height, share) -> None:
    squeezed = pressed_face_mm(wood, height, WAVE_MM, 200) - beam_mm(wood, height, WAVE_MM)
    assert squeezed * wood[1] / height == pytest.approx(share, abs=0.003)
    assert pytest.approx(share, abs=0.035) == FOOT


def test_one_layer_of_elements_is_a_long_wave_s_beam() -> None:
    """The strip itself: under a long wave it is the beam."""
    assert pressed_face_mm(SPRUCE, 12.0, 800.0, 200) == pytest.approx(beam_mm(SPRUCE, 12.0, 800.0), rel=0.01)


@pytest.mark.parametrize("place", [(250.0, 180.0), (330.0, 196.0), (170.0, 168.0)])
def test_a_free_bridge_presses_on_the_panel_what_presses_on_it(place) -> None:
    """Upright balance of a bridge by itself: the pressure in its foot, over its length and width, is the load."""
    bridge = Bridge(
        name="short",
        root_wood=named_wood("sitka_spruce"),
        cap_wood=named_wood("sitka_spruce"),
        line_mm=[(150.0, 160.0), (350.0, 200.0)],
        width_mm=[30.0, 24.0],
        root_mm=[20.0, 14.0],
        cap_mm=[8.0, 8.0],
        notch_mm=[0.0, 0.0],
    )
    body = Body(
        outline=Outline(points_mm=[[0, 0], [500, 0], [460, 380], [0, 340]], support=(rim_support("glued"),) * 4),
        panel=Panel(wood=named_wood("sitka_spruce"), grain_deg=25.0, thickness_points_mm=[[0, 0, 8.0]]),
        bridges=(bridge,),
    )
    solution = assembled(body, cell_mm=20.0).pressed([place], [7.0])
    pressed = 0.0  # upwards on the bridge
    for each in solution.discrete.strips:
        strains = np.einsum("prq,pq->pr", each.strains, each.values(solution.fields))
        pressed += float(np.sum(each.stiffness[:, SQUEEZE, SQUEEZE] * strains[:, SQUEEZE]))
    assert pressed == pytest.approx(7.0, rel=1e-6)
