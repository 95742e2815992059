"""A free strip on a rib, wetted and dried: the board's own balance through time against fibres that know no board.

Two roads of this project that share only the laws of the wood: section strains, Newton's method in a basis and large
deflection on a grid here, plane sections of 24 fibres there (`ribbed_strip`).
"""

from dataclasses import replace

import numpy as np
import pytest
from plates import plate, rectangle
from ribbed_strip import Layer, curvatures

from bellywork.board import CrownMethod, Making, Rib, RimSupport, Wood
from bellywork.mechanics.making import made
from bellywork.mechanics.moisture import free_strain
from bellywork.seasons.history import History
from bellywork.seasons.rheology import Laws, Stride
from bellywork.seasons.service import in_time
from bellywork.seasons.spruce import spruce_laws

LENGTH, WIDTH, THICK, HIGH, RIB_WIDTH = 600.0, 100.0, 9.0, 12.0, 40.0
E_PANEL, E_RIB = 900.0, 11000.0
BENCH = RimSupport(name="bench", vertical_N_mm2=1e-5, inplane_N_mm2=1e-5, rotation_N=0.0)


def layer(E_L: float, E_R: float) -> Wood:
    """A wood that does not contract sideways and hardly shears, as plane sections; it grows as spruce."""
    stiff = 3e5
    return Wood(
        name=f"{E_L:g}",
        E_L=E_L,
        E_R=E_R,
        E_T=E_R,
        G_LR=stiff,
        G_LT=stiff,
        G_RT=stiff,
        nu_LR=0.0,
        nu_LT=0.0,
        nu_RT=0.0,
        density_kg_m3=400.0,
        moisture_percent=8.0,
        shrinkage_R_percent=4.8,
        shrinkage_T_percent=7.5,
    )


def wetted_and_dried(wettest: float) -> tuple[History, list[int]]:
    """Ten days to the wettest, three weeks there, ten days back, two weeks; the stops at the four ends."""
    day = np.concatenate(
        [np.linspace(0, 10, 21), np.linspace(10, 31, 22)[1:], np.linspace(31, 41, 21)[1:], np.linspace(41, 55, 15)[1:]]
    )
    moisture = np.interp(day, [0.0, 10.0, 31.0, 41.0, 55.0], [6.5, wettest, wettest, 6.5, 6.5])
    past = History(day=day, rh_percent=np.full(len(day), np.nan), moisture_percent=moisture, stops=np.arange(len(day)))
    return past, [20, 41, 61, 75]


@pytest.fixture(scope="module")
def strip():
    rib = Rib(
        name="1",
        wood=layer(E_RIB, E_RIB),
        start_mm=(0.0, WIDTH / 2.0),
        end_mm=(LENGTH, WIDTH / 2.0),
        width_mm=RIB_WIDTH,
        height_mm=HIGH,
        end_height_mm=(HIGH, HIGH),
        feather_mm=(0.0, 0.0),
    )
    body = plate(rectangle(LENGTH, WIDTH), BENCH, layer(E_RIB, E_PANEL), THICK, grain_deg=90.0, ribs=(rib,))
    making = Making(method=CrownMethod.RIB, panel_moisture_percent=6.5, glued_in_moisture_percent=6.5)
    return made(body, making, cell_mm=25.0)


def on_the_board(strip, laws: Laws, past: History, ends: list[int]) -> list[float]:
    """Curvature over the middle of the strip at the ends asked for, 1/mm, crown up positive."""
    x = np.linspace(0.2, 0.8, 13) * LENGTH
    places = np.column_stack([x, np.full(13, WIDTH / 2.0)])
    board = in_time(strip, places, laws)
    moment, found = board.begun(6.5), []
    aged = {name: past.aged_days(law.shift) for name, law in laws.named().items()}
    for k, moisture in enumerate(past.stop_moisture_percent[1:]):
        strides = {
            name: Stride(law, aged_days=aged[name][k], travelled=past.travelled[k])
            for name, law in laws.named().items()
        }
        moment = board.stepped(moment, strides=strides, moisture_percent=float(moisture), load=None)
        if k + 1 in ends:
            found.append(-2.0 * float(np.polyfit(x, moment.moves_mm, 2)[0]))
    return found


def as_fibres(laws: Laws, past: History, ends: list[int]) -> np.ndarray:
    def growth(wood: Wood, way: str) -> float:
        return getattr(free_strain(wood, from_percent=6.5, to_percent=9.5), way) / 3.0

    panel, rib = layer(E_RIB, E_PANEL), layer(E_RIB, E_RIB)
    layers = [
        Layer(
            law=laws.across, modulus_MPa=E_PANEL, width_mm=WIDTH, bottom_mm=0.0, top_mm=THICK, growth=growth(panel, "R")
        ),
        Layer(
            law=laws.along, modulus_MPa=E_RIB, width_mm=RIB_WIDTH, bottom_mm=-HIGH, top_mm=0.0, growth=growth(rib, "L")
        ),
    ]
    return curvatures(layers, past, flat_percent=6.5)[ends]


@pytest.mark.parametrize(("wettest", "sets"), [(9.5, False), (9.5, True), (13.0, True)])
def test_board_and_fibres(strip, monkeypatch: pytest.MonkeyPatch, wettest: float, sets: bool) -> None:
    """Another path of this project; 3 % of the greatest curvature, for free ends and set in two layers or 24."""
    monkeypatch.setattr("bellywork.seasons.part_in_time.modulus_share", lambda *_: 1.0)
    laws = spruce_laws()
    if not sets:
        laws = replace(laws, across=replace(laws.across, yields=None))
    past, ends = wetted_and_dried(wettest)
    fibres = as_fibres(laws, past, ends)
    board = on_the_board(strip, laws, past, ends)
    assert board == pytest.approx(fibres, abs=0.03 * np.abs(fibres).max())
