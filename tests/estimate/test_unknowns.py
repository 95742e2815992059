"""What is unknown of a board, and the boards that it makes."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Body, Bridge, Outline, Panel, Rib, RimSupport
from bellywork.board.rims import rim_support
from bellywork.board.woods import wood
from bellywork.estimate.sensitivity import compliance, sensitivity
from bellywork.estimate.unknowns import changed, scatter, unknowns_of, waves_at
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.mechanics.model import assembled

SPRUCE = wood("sitka_spruce")
ROOT = Path(__file__).resolve().parents[2]


def strip(rim: RimSupport) -> Body:
    """A narrow strip over 900 mm with one rib under its middle, held at its two ends only."""
    free = rim_support("free")
    return Body(
        outline=Outline(points_mm=[[0, 0], [900, 0], [900, 60], [0, 60]], support=(free, rim, free, rim)),
        panel=Panel(wood=SPRUCE, grain_deg=0.0, thickness_points_mm=[[0.0, 0.0, 8.0]]),
        ribs=(Rib(name="1", wood=SPRUCE, start_mm=[0, 30], end_mm=[900, 30], width_mm=25.0, height_mm=24.0,
                  end_height_mm=(24.0, 24.0), feather_mm=(0.0, 0.0)),),
    )  # fmt: skip


ROLLER = RimSupport(name="roller", vertical_N_mm2=np.inf, inplane_N_mm2=0.01, rotation_N=0.0)


def shares(body: Body) -> dict[str, float]:
    """Share by which the middle sinks less for each 1 % that an unknown is stiffer, or mm that the panel is thicker."""
    unknowns, middle = unknowns_of(body), np.array([[450.0, 30.0]])
    here = compliance(body, middle)[0, 0]
    out = {}
    for k, unknown in enumerate(unknowns):
        step = 0.01 * np.eye(len(unknowns))[k]
        there = compliance(changed(body, unknowns, step), middle)[0, 0]
        out[unknown.key + unknown.rib] = -(there / here - 1.0) / 0.01
    return out


def test_one_rib_by_hand() -> None:
    """A composite section by hand: what panel, rib and thickness each give to the stiffness of the strip.

    EI = E_p (b h³/12 + b h e²) + E_r (w t³/12 + w t f²), e and f from the common neutral axis; the sink goes as 1/EI,
    but for shear (span over depth is 28, a few per cent). Of one wood, so that E cancels.
    """
    b, h, w, t = 60.0, 8.0, 25.0, 24.0
    axis = (b * h * h / 2.0 + w * t * (h + t / 2.0)) / (b * h + w * t)  # below the panel's upper face
    panel = b * h**3 / 12.0 + b * h * (axis - h / 2.0) ** 2
    rib = w * t**3 / 12.0 + w * t * (h + t / 2.0 - axis) ** 2

    def whole(h: float) -> float:
        axis = (b * h * h / 2.0 + w * t * (h + t / 2.0)) / (b * h + w * t)
        of_rib = w * t**3 / 12.0 + w * t * (h + t / 2.0 - axis) ** 2
        return b * h**3 / 12.0 + b * h * (axis - h / 2.0) ** 2 + of_rib

    found = shares(strip(ROLLER))
    # a small change of one modulus moves the neutral axis too, but to first order EI does not feel that
    assert found["panel_along"] == pytest.approx(panel / (panel + rib), abs=0.03)
    assert found["ribs"] == pytest.approx(rib / (panel + rib), abs=0.04)
    assert found["rib1"] == pytest.approx(found["ribs"], abs=1e-6)
    assert found["thickness"] == pytest.approx((whole(h + 0.01) / whole(h) - 1.0) / 0.01, abs=0.01)
    assert found["model"] == pytest.approx(1.0, abs=0.01)
    assert abs(found["panel_across"]) < 0.02


def test_moduli_share_the_whole_compliance() -> None:
    """By virtual work: making everything stiffer by a share makes it sink by that share less, whatever the board."""
    body = read_board(ROOT / "sample_boards" / "press_trial").board.needed_body("test")
    body = replace(body, outline=body.outline.supported(rim_support("glued")))
    found = shares(body)
    parts = ("panel_along", "panel_across", "panel_shear", "ribs", "rim_rotation", "rim_in_plane", "rim_vertical")
    # Poisson's coupling is tied to E_L and E_R, and each ratio is kept, so nothing is left over
    assert sum(found[part] for part in parts) == pytest.approx(found["model"], abs=0.01)


def test_a_rim_held_fast_or_free_scatters_in_nothing() -> None:
    keys = {unknown.key for unknown in unknowns_of(strip(ROLLER))}
    assert "rim_in_plane" in keys
    assert not {"rim_rotation", "rim_vertical"} & keys
    body = strip(ROLLER)
    unknowns = unknowns_of(body)
    there = changed(body, unknowns, np.ones(len(unknowns)))
    assert there.outline.support[1].vertical_N_mm2 == np.inf
    assert there.outline.support[1].rotation_N == 0.0
    assert there.outline.support[1].inplane_N_mm2 == pytest.approx(0.01 * np.e**2)  # its own, and the whole board's


def test_every_factor_goes_to_its_own_part() -> None:
    body = strip(ROLLER)
    maple = wood("sugar_maple")
    bridge = Bridge(name="b", root_wood=maple, cap_wood=maple, line_mm=[[100, 30], [400, 31], [800, 30]],
                    width_mm=[30.0] * 3, root_mm=[20.0] * 3, cap_mm=[10.0] * 3, notch_mm=[2.0] * 3)  # fmt: skip
    body = replace(body, bridges=(bridge,))
    unknowns = unknowns_of(body)
    values = {"panel_along": 0.1, "panel_across": 0.2, "panel_shear": 0.3, "ribs": 0.4, "rib": 0.05, "bridges": 0.6,
              "thickness": 0.7}  # fmt: skip
    there = changed(body, unknowns, np.array([values.get(unknown.key, 0.0) for unknown in unknowns]))
    was, now = body.panel.wood, there.panel.wood
    assert (now.E_L, now.E_R, now.E_T) == pytest.approx(
        (was.E_L * np.exp(0.1), was.E_R * np.exp(0.2), was.E_T * np.exp(0.2))
    )
    assert now.G_LR == pytest.approx(was.G_LR * np.exp(0.3))
    assert there.ribs[0].wood.E_L == pytest.approx(was.E_L * np.exp(0.45))
    assert there.bridges[0].root_wood.E_L == pytest.approx(maple.E_L * np.exp(0.6))
    assert there.bridges[0].cap_wood.G_LR == pytest.approx(maple.G_LR * np.exp(0.6))
    assert there.panel.thickness_points_mm[0, 2] == pytest.approx(8.7)
    assert now.density_kg_m3 == was.density_kg_m3


def test_the_grid_hardly_changes_the_shares(tmp_path: Path) -> None:
    """60 mm cells against 25 mm ones with another step: the shares of a compliance, not the compliance itself."""
    ready = prepared(read_board(ROOT / "sample_boards" / "lopsided_board").board)
    body, places = ready.board.needed_body("test"), ready.board.needed_plan("test").middle_mm[::4]
    unknowns = unknowns_of(body)
    found = sensitivity(ready, unknowns, places)
    whole = np.einsum("kii->ki", found.slope_mm_N) / np.diag(found.compliance_mm_N)
    fine = np.diag(assembled(body, cell_mm=25.0).compliance(places))
    doubt = np.zeros(len(places))
    for k, unknown in enumerate(unknowns):
        if unknown.waves or unknown.rib or unknown.key == "model":
            continue
        step = (unknown.sigma if unknown.key.startswith("rim") else 0.05) * np.eye(len(unknowns))[k]
        more, less = (
            np.diag(assembled(changed(body, unknowns, way * step), cell_mm=25.0).compliance(places)) for way in (1, -1)
        )
        there = (more - less) / (2.0 * step[k]) / fine * unknown.sigma
        doubt += (whole[k] * unknown.sigma - there) ** 2
    # against a doubt of 9 to 28 % in all, from its parts
    assert np.sqrt(doubt).max() < 0.02


def test_errors_of_the_computation_scatter_by_what_the_data_say() -> None:
    body = strip(ROLLER)
    random = np.random.default_rng(2)
    points = random.uniform([0, 0], [900, 60], (4000, 2))
    var = sum((unknown.sigma * waves_at(body, unknown, points)) ** 2 for unknown in unknowns_of(body) if unknown.waves)
    assert np.sqrt(var.mean()) == pytest.approx(scatter()["model_here"], rel=0.05)


def test_what_the_wood_alone_does_stands_while_heights_are_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    board = read_board(ROOT / "sample_boards" / "lopsided_board").board
    ready, points = prepared(board), np.array([[300.0, 300.0], [400.0, 350.0]])
    unknowns = unknowns_of(ready.board.needed_body("test"))
    first = sensitivity(ready, unknowns, points)
    line = ready.board.needed_strings("test")
    typed = replace(ready.board, strings=replace(line, bridge_front_mm=line.bridge_front_mm + 0.1))
    thicker = replace(ready.board.body.panel, thickness_points_mm=ready.board.body.panel.thickness_points_mm + 0.1)
    other = replace(ready.board, body=replace(ready.board.body, panel=thicker))
    monkeypatch.setattr("bellywork.estimate.sensitivity.compliance", lambda *_: 1 / 0)
    again = sensitivity(replace(ready, board=typed, _kept={}), unknowns, points)
    assert np.array_equal(again.slope_mm_N, first.slope_mm_N)
    with pytest.raises(ZeroDivisionError):
        sensitivity(replace(ready, board=other, _kept={}), unknowns, points)
