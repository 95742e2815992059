"""The built-in woods: every number has its source, and every wood is one that can exist."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from bellywork.board import Wood, WoodStrength
from bellywork.board.woods import wood, wood_names, wood_table
from bellywork.errors import BoardError

NAMED = [(name, wood(name)) for name in wood_names()]
HOW = {"read", "second-hand copy", "from memory", "estimate"}


def pairs(table, path=""):
    """Every leaf of the data file that is not text, with its path."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from pairs(value, f"{path}.{key}")
        elif not isinstance(value, str):
            yield f"{path}.{key}", value


def test_no_number_without_a_source():
    table = wood_table()
    leaves = [leaf for part in ("general", "trend", "woods") for leaf in pairs(table[part], part)]
    assert len(leaves) > 150
    for path, leaf in leaves:
        assert isinstance(leaf, list), f"{path} has no source"
        assert len(leaf) == 2, f"{path} is not [value, source]"
        assert leaf[1] in table["sources"], f"{path} names an unknown source"


def test_every_source_is_used_and_says_how_it_was_come_by():
    table = wood_table()
    used = {leaf[1] for part in ("general", "trend", "woods") for _, leaf in pairs(table[part])}
    assert used == set(table["sources"])
    for source in table["sources"].values():
        assert source["how"] in HOW
        assert source["cite"]


@pytest.mark.parametrize(("name", "it"), NAMED)
def test_a_wood_names_all_its_sources(name, it):
    row = wood_table()["woods"][name]
    for _, (_, key) in pairs(row):
        assert wood_table()["sources"][key]["cite"] in it.source


@pytest.mark.parametrize(("name", "it"), NAMED)
def test_strain_energy_is_positive_whatever_the_stress(name, it):
    """Invariant: the compliance matrix of the three directions is positive definite, and so is that of the plane."""
    compliance = np.array(
        [
            [1 / it.E_L, -it.nu_LR / it.E_L, -it.nu_LT / it.E_L],
            [-it.nu_LR / it.E_L, 1 / it.E_R, -it.nu_RT / it.E_R],
            [-it.nu_LT / it.E_L, -it.nu_RT / it.E_R, 1 / it.E_T],
        ]
    )
    assert np.linalg.eigvalsh(compliance).min() > 0.0
    assert min(it.G_LR, it.G_LT, it.G_RT) > 0.0


@pytest.mark.parametrize(("name", "it"), NAMED)
def test_directions_stand_in_the_order_that_all_wood_shows(name, it):
    """Common knowledge of wood, no single source: stiffest along the grain, rolling shear the softest of the shears;
    tangential shrinkage about twice the radial; weaker green than dry."""
    assert it.E_L > 5 * it.E_R > 5 * it.E_T
    assert min(it.G_LR, it.G_LT) > it.G_RT
    assert 1.2 < it.shrinkage_T_percent / it.shrinkage_R_percent < 3.0
    for entry in fields(WoodStrength):
        dry, green = getattr(it.strength, entry.name), getattr(it.green, entry.name)
        if green is not None:
            assert green < dry
    if it.green_E_ratio is not None:
        assert 0.7 < it.green_E_ratio < 0.9


def test_species_without_printed_ratios_take_them_from_the_wood_they_name():
    american, european = wood("american_beech"), wood("european_beech")
    for name in ("E_R", "E_T", "G_LR", "G_LT", "G_RT"):
        assert getattr(american, name) / american.E_L == pytest.approx(getattr(european, name) / european.E_L)
    assert "borrowed from European beech" in american.source
    assert "Hearmon" in american.source


def test_maple_rolling_shear_is_marked_as_an_estimate_and_follows_its_own_rule():
    """The rule is checked on the two woods whose rolling shear is printed: within 3 % of 0.865."""
    for name in ("yellow_birch", "european_beech"):
        it = wood(name)
        assert it.G_RT / plane_isotropic(it) == pytest.approx(0.865, rel=0.03)
    maple = wood("sugar_maple")
    assert pytest.approx(0.865 * plane_isotropic(maple), rel=0.005) == maple.G_RT
    assert "(estimate)" in maple.source


def plane_isotropic(it: Wood) -> float:
    nu_TR = it.nu_RT * it.E_T / it.E_R
    return np.sqrt(it.E_R * it.E_T) / (2.0 + 2.0 * np.sqrt(it.nu_RT * nu_TR))


def test_a_wood_that_is_not_held_is_refused_with_the_list_of_those_that_are():
    with pytest.raises(BoardError, match=r"^No wood is called 'oak'\. Built in are: american_beech, .*yellow_birch\.$"):
        wood("oak")


def test_a_wood_is_read_once_and_cannot_be_changed():
    assert wood("sugar_pine") is wood("sugar_pine")
    assert replace(wood("sugar_pine"), E_L=1.0).E_L == 1.0
    with pytest.raises(AttributeError):
        wood("sugar_pine").E_L = 1.0


NINE = {"name": "one tree", "E_L": 14e3, "G_LR": 1300.0, "G_LT": 1500.0, "nu_LR": 0.4, "nu_LT": 0.45,
        "density_kg_m3": 430.0}  # fmt: skip

RINGS = {  # off quarter: E across over E_R, exact turning, in the brief of this project; the tree's and Sitka's ratios
    "tree": (Wood(**NINE, E_R=1176.0, E_T=650.0, G_RT=54.0, nu_RT=0.5), (1, 0.65, 0.46, 0.34, 0.22, 0.17, 0.20, 0.55)),
    "sitka": (wood("sitka_spruce"), (1, 0.59, 0.41, 0.29, 0.18, 0.14, 0.17, 0.55)),
}


@pytest.mark.parametrize("which", RINGS)
def test_a_panel_off_quarter_loses_its_stiffness_across(which):
    spruce, expected = RINGS[which]
    found = [spruce.with_rings_at(90.0 - off).E_R / spruce.E_R for off in (0, 10, 15, 20, 30, 45, 60, 90)]
    assert found == pytest.approx(expected, abs=0.007)  # two digits, Sitka from constants of other digits


def test_rings_turn_as_the_whole_matrix_of_compliances_does():
    """Another path: the 6 × 6 matrix turned about L through the fourth-order tensor it stands for."""
    spruce, off = RINGS["tree"][0], np.radians(27.0)
    S = np.zeros((6, 6))
    S[:3, :3] = [[1 / spruce.E_L, -spruce.nu_LR / spruce.E_L, -spruce.nu_LT / spruce.E_L],
                 [-spruce.nu_LR / spruce.E_L, 1 / spruce.E_R, -spruce.nu_RT / spruce.E_R],
                 [-spruce.nu_LT / spruce.E_L, -spruce.nu_RT / spruce.E_R, 1 / spruce.E_T]]  # fmt: skip
    S[3:, 3:] = np.diag([1 / spruce.G_RT, 1 / spruce.G_LT, 1 / spruce.G_LR])
    pairs = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
    tensor = np.zeros((3, 3, 3, 3))
    for i, (a, b) in enumerate(pairs):
        for j, (c, d) in enumerate(pairs):
            value = S[i, j] / ((1 if i < 3 else 2) * (1 if j < 3 else 2))
            tensor[a, b, c, d] = tensor[b, a, c, d] = tensor[a, b, d, c] = tensor[b, a, d, c] = value
    turn = np.array([[1, 0, 0], [0, np.cos(off), np.sin(off)], [0, -np.sin(off), np.cos(off)]])
    T = np.einsum("ai,bj,ck,dl,ijkl->abcd", turn, turn, turn, turn, tensor)
    cut = spruce.with_rings_at(63.0)
    assert 1 / T[1, 1, 1, 1] == pytest.approx(cut.E_R)
    assert 1 / T[2, 2, 2, 2] == pytest.approx(cut.E_T)
    assert 1 / (4 * T[0, 1, 0, 1]) == pytest.approx(cut.G_LR)
    assert 1 / (4 * T[0, 2, 0, 2]) == pytest.approx(cut.G_LT)
    assert 1 / (4 * T[1, 2, 1, 2]) == pytest.approx(cut.G_RT)
    assert [-T[0, 0, 1, 1] * cut.E_L, -T[0, 0, 2, 2] * cut.E_L] == pytest.approx([cut.nu_LR, cut.nu_LT])
    assert -T[1, 1, 2, 2] * cut.E_R == pytest.approx(cut.nu_RT)


def test_swelling_across_is_between_radial_and_tangential():
    """α = α_R cos² + α_T sin², 30° off quarter: 0.75 of one and 0.25 of the other."""
    cut, spruce = wood("sitka_spruce").with_rings_at(60.0), wood("sitka_spruce")
    assert cut.shrinkage_R_percent == pytest.approx(
        0.75 * spruce.shrinkage_R_percent + 0.25 * spruce.shrinkage_T_percent
    )
    assert cut.shrinkage_T_percent > cut.shrinkage_R_percent
