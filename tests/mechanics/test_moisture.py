"""Moisture: air to wood and back, shrinkage, and properties moved from one moisture content to another."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellywork.board import Wood, WoodStrength
from bellywork.board.woods import wood, wood_names
from bellywork.errors import BoardError
from bellywork.mechanics.moisture import (
    at_moisture,
    equilibrium_moisture_percent,
    free_strain,
    relative_humidity_percent,
)

MODULI = ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT")


@given(rh=st.floats(0.0, 100.0), temperature=st.floats(-1.0, 100.0))
def test_humidity_to_moisture_and_back(rh, temperature):
    moisture = equilibrium_moisture_percent(rh, temperature)
    assert relative_humidity_percent(moisture, temperature) == pytest.approx(rh, abs=1e-4)


@pytest.mark.parametrize("temperature", [-1.0, 10.0, 21.1, 35.0, 60.0, 100.0])
def test_damper_air_makes_damper_wood(temperature):
    moisture = [equilibrium_moisture_percent(rh, temperature) for rh in range(101)]
    assert moisture[0] == 0.0
    assert np.all(np.diff(moisture) > 0.0)


@pytest.mark.parametrize("name", wood_names())
def test_strain_there_and_back_is_none(name):
    out = free_strain(wood(name), from_percent=6, to_percent=12)
    back = free_strain(wood(name), from_percent=12, to_percent=6)
    for direction in "LRT":
        assert (1 + getattr(out, direction)) * (1 + getattr(back, direction)) == pytest.approx(1.0, abs=1e-15)
    assert out.T > out.R > out.L > 0.0


def test_from_green_to_dry_the_whole_printed_shrinkage_is_lost():
    it = wood("sitka_spruce")
    whole = free_strain(it, from_percent=30, to_percent=0)
    assert pytest.approx((-0.043, -0.075), abs=1e-15) == (whole.R, whole.T)


@pytest.mark.parametrize("name", wood_names())
def test_properties_there_and_back_are_the_same(name):
    start = wood(name)
    there = at_moisture(at_moisture(start, 7.5), 12.0)
    for prop in (*MODULI, "density_kg_m3"):
        assert getattr(there, prop) == pytest.approx(getattr(start, prop), rel=1e-12)
    for entry in fields(WoodStrength):
        before, after = getattr(start.strength, entry.name), getattr(there.strength, entry.name)
        assert (after is None) if before is None else after == pytest.approx(before, rel=1e-12)


@pytest.mark.parametrize("name", wood_names())
def test_drier_wood_is_stiffer_in_every_direction_and_lighter(name):
    dry, damp = at_moisture(wood(name), 6.0), at_moisture(wood(name), 14.0)
    for prop in MODULI:
        assert getattr(dry, prop) > getattr(damp, prop)
    assert dry.density_kg_m3 < damp.density_kg_m3
    assert (dry.nu_LR, dry.nu_LT, dry.nu_RT) == (damp.nu_LR, damp.nu_LT, damp.nu_RT)


def test_density_holds_the_mass_of_wood_and_water():
    """Invariant: oven-dry mass per green volume is the same at every moisture content."""
    it = wood("sitka_spruce")
    basic = []
    for moisture in (0.0, 6.0, 12.0, 20.0):
        moved = at_moisture(it, moisture)
        size = free_strain(it, from_percent=30.0, to_percent=moisture)
        basic.append(moved.density_kg_m3 / (1 + moisture / 100) * (1 + size.L) * (1 + size.R) * (1 + size.T))
    assert basic == pytest.approx([basic[0]] * 4, rel=1e-12)
    assert basic[0] == pytest.approx(370.0, rel=0.02)  # specific gravity 0.37 green (Wood Handbook, Table 5-3a)


def test_wetter_than_the_intersection_the_green_value_holds():
    it = wood("engelmann_spruce")
    assert pytest.approx(1.10 * 7100, rel=1e-12) == at_moisture(it, 28.0).E_L
    assert at_moisture(it, 28.0).E_T == at_moisture(it, 25.0).E_T


def test_a_shop_wood_without_green_values_or_shrinkage_follows_the_middle_trends():
    """Wood Handbook, Table 5-14 (from memory): along the grain +9 % at 6 % and −13 % at 20 %, across +20 and −23."""
    it = Wood(
        name="shop", E_L=10_000, E_R=800, E_T=450, G_LR=700, G_LT=650, G_RT=40,
        nu_LR=0.37, nu_LT=0.45, nu_RT=0.45, density_kg_m3=420, strength=WoodStrength(bending=70.0),
    )  # fmt: skip
    assert pytest.approx(10_900) == at_moisture(it, 6).E_L
    assert pytest.approx(0.77 * 800) == at_moisture(it, 20).E_R
    assert pytest.approx(0.80 * 40) == at_moisture(it, 20).G_RT
    assert at_moisture(it, 6).strength == WoodStrength(bending=pytest.approx(91.0))
    assert at_moisture(it, 20).density_kg_m3 == pytest.approx(420 * 1.20 / 1.12)
    with pytest.raises(
        BoardError, match=r"^The shrinkage of shop is not known: give its shrinkage along R and T, in %\.$"
    ):
        free_strain(it, from_percent=6, to_percent=12)


def test_limits_are_named():
    with pytest.raises(BoardError, match=r"^A relative humidity of 101 is outside 0 to 100 %\.$"):
        equilibrium_moisture_percent(101, 20)
    with pytest.raises(BoardError, match=r"^A relative humidity of nan is outside 0 to 100 %\.$"):
        equilibrium_moisture_percent(float("nan"), 20)
    with pytest.raises(BoardError, match=r"^A temperature of -5 is outside -1 to 100 °C\.$"):
        equilibrium_moisture_percent(40, -5)
    with pytest.raises(
        BoardError, match=r"^A moisture content of 31 is outside 0 to 30 %, where the fibres are saturated\.$"
    ):
        at_moisture(wood("sitka_spruce"), 31)
    with pytest.raises(
        BoardError, match=r"^A moisture content in equilibrium with air of 29 is outside 0 to 28\.84 %\.$"
    ):
        relative_humidity_percent(29, 20)
    with pytest.raises(
        BoardError, match=r"^sitka_spruce is given at 28 % moisture, which is green; its dry values are not known\.$"
    ):
        at_moisture(replace(wood("sitka_spruce"), moisture_percent=28.0), 12)
