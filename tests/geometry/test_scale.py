"""The scale. Kind of every expected number: invariant (worked out another way), unless said."""

import numpy as np
import pytest

from bellywork.board import Scale
from bellywork.errors import BoardError
from bellywork.geometry.one_string import one_string
from bellywork.geometry.scale import mass_per_length_kg_m, pull_N, strength_share, tension_N


def helix_mass_g_m(core: float, wires: tuple[float, ...], density: float) -> float:
    """Mass of wraps per metre of string from the length of their helices, the pitch being one wire."""
    mass, inner = 0.0, core
    for wire in wires:
        turns = 1000.0 / wire
        length = turns * np.hypot(np.pi * (inner + wire), wire)
        mass += density * 1e-6 * np.pi / 4.0 * wire**2 * length
        inner += 2.0 * wire
    return mass


@pytest.mark.parametrize(("core", "wires"), [(0.9, (0.3,)), (1.2, (0.9,)), (1.3, (0.5, 1.4))])
def test_a_close_wrap_weighs_what_its_helix_weighs(core, wires):
    outer = core + 2.0 * sum(wires)
    wrap = 1000.0 * (mass_per_length_kg_m(core, outer, "copper") - mass_per_length_kg_m(core, core, ""))
    assert wrap == pytest.approx(helix_mass_g_m(core, wires, 8960.0), rel=0.015)  # the slope of the helix is left out
    assert wrap < helix_mass_g_m(core, wires, 8960.0)


def scale_of(**parts):
    return Scale(**{"note": [40], "unisons": [3], "wire_mm": [1.0], "outer_mm": [1.0], "wrap": ("",), **parts})


def test_tension_grows_with_the_square_of_length_pitch_and_diameter():
    line = one_string(speaking=630.0, note=40)
    one = tension_N(scale_of(), line)[0]
    assert tension_N(scale_of(), one_string(speaking=693.0, note=40))[0] == pytest.approx(1.21 * one)
    assert tension_N(scale_of(pitch_Hz=444.4), line)[0] == pytest.approx(1.01**2 * one)
    assert tension_N(scale_of(wire_mm=[1.1], outer_mm=[1.1]), line)[0] == pytest.approx(1.21 * one)
    assert pull_N(scale_of(), line)[0] == pytest.approx(3.0 * one)


def test_single_strings_pull_what_the_trade_says():
    """Common practice, no source: a plain string of the middle pulls 150 to 160 lb (667 to 712 N)."""
    assert 667.0 <= tension_N(scale_of(), one_string(speaking=636.0, note=40))[0] <= 712.0


def test_share_of_the_breaking_load():
    breaking = 2211.0 * np.pi / 4.0
    assert strength_share(scale_of(), np.array([breaking]))[0] == pytest.approx(1.0)


def test_a_wound_string_is_borne_by_its_core_alone():
    """The same pull on a plain wire and on that wire under 1 mm of copper: the same share of the breaking load."""
    shares = [
        float(strength_share(Scale(note=[10], unisons=[1], wire_mm=[1.2], outer_mm=[outer], wrap=(wrap,)), 900.0)[0])
        for outer, wrap in ((1.2, ""), (3.2, "copper"))
    ]
    assert shares[0] == pytest.approx(shares[1], rel=1e-12)
    assert 0.3 < shares[0] < 0.6


def test_a_wrap_of_unknown_metal_is_named():
    with pytest.raises(BoardError, match=r"^No wrap is called 'tin'; held are copper, iron, brass\.$"):
        mass_per_length_kg_m(1.0, 2.0, "tin")
