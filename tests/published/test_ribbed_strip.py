"""A strip with ribs that was wetted and dried: a field case, and the same strip computed apart from this project.

Technicians' list, March and April 2003 (read): panel 48 × 4 × 3/8 in of spruce, its grain across the strip, on two ribs
3/8 in high and 3/4 in wide, all dried to 4–5 % and glued flat. Crown over 48 in: 2–3 in at 45 % RH, 6–8 in after three
days at 85–89 % RH, "only about ONE INCH" after a week back at 45 %. Hand instruments, no error bars: ±30 %.
"""

import numpy as np
import pytest
from ribbed_strip import Layer, curvatures, sagitta_mm

from bellywork.board.woods import wood
from bellywork.mechanics.moisture import free_strain
from bellywork.seasons.history import History
from bellywork.seasons.rheology import Chain, Law
from bellywork.seasons.spruce import creep_chain, spruce_laws

INCH = 25.4
DRY, ROOM, WET = 4.5, 8.4, 17.0
LAG_DAYS = 1.25


def wetted_and_dried() -> tuple[History, list[int]]:
    """A week at 45 % RH, three days at 87 %, a week at 45 %; the stops at their ends."""
    day, moisture, ends = [0.0], [DRY], []
    for goal, days in ((ROOM, 7.0), (WET, 3.0), (ROOM, 7.0)):
        after = np.geomspace(1.0 / 48.0, days, 40)
        begin, came = day[-1], moisture[-1]
        day += (begin + after).tolist()
        moisture += (goal + (came - goal) * np.exp(-after / LAG_DAYS)).tolist()
        ends.append(len(day) - 1)
    past = History(
        day=np.array(day),
        rh_percent=np.full(len(day), np.nan),
        moisture_percent=np.array(moisture),
        stops=np.arange(len(day)),
    )
    return past, ends


def crowns_in(*, creep: float, across: float, along: float, sets: bool) -> list[float]:
    """Crown over 48 in after each of the three states, inches, with so many times the published creep and swing."""
    laws, past_ends = spruce_laws(), wetted_and_dried()
    panel = Law(
        creep=creep_chain("month", "cR_65").scaled(creep),
        shift=laws.across.shift,
        swing=laws.across.swing.scaled(across),
        yields=laws.across.yields if sets else None,
    )
    rib = Law(
        creep=creep_chain("month", "cL_65").scaled(creep), shift=laws.along.shift, swing=laws.along.swing.scaled(along)
    )
    high = 0.375 * INCH
    layers = [
        Layer(law=panel, modulus_MPa=950.0, width_mm=4.0 * INCH, bottom_mm=0.0, top_mm=high, growth=0.0016),
        Layer(law=rib, modulus_MPa=11000.0, width_mm=1.5 * INCH, bottom_mm=-high, top_mm=0.0, growth=0.00005),
    ]
    past, ends = past_ends
    bent = curvatures(layers, past, flat_percent=DRY)[ends]
    return [sagitta_mm(float(each), 48.0 * INCH) / INCH for each in bent]


@pytest.fixture(scope="module")
def published() -> list[float]:
    return crowns_in(creep=1.0, across=1.0, along=1.0, sets=True)


@pytest.fixture(scope="module")
def tripled() -> list[float]:
    return crowns_in(creep=1.0, across=3.0, along=1.0, sets=True)


def test_first_and_second_state_of_the_field_case(published: list[float], tripled: list[float]) -> None:
    """Field, ±30 %."""
    for crowns in (published, tripled):
        assert 0.7 * 2.0 < crowns[0] < 1.3 * 3.0
        assert 0.7 * 6.0 < crowns[1] < 1.3 * 8.0


def test_band_of_the_third_state_holds_the_field_case(published: list[float], tripled: list[float]) -> None:
    """One inch lies between the published laws and those whose creep with moisture is tripled across the grain: that is
    the prior, set down before this was computed; nothing is tuned on it. An elastic strip comes back to where it was.
    """
    assert tripled[2] < 1.0 < published[2]
    elastic = crowns_in(creep=0.0, across=0.0, along=0.0, sets=False)
    assert elastic[2] == pytest.approx(elastic[0], rel=0.02)


COMPUTED_APART = {
    "elastic": (dict(creep=0.0, across=0.0, along=0.0, sets=False), (3.1, 8.8, 3.1)),
    "creep": (dict(creep=1.0, across=0.0, along=0.0, sets=False), (2.7, 7.9, 2.6)),
    "all": (dict(creep=1.0, across=1.0, along=1.0, sets=True), (2.7, 7.5, 2.1)),
    "tripled": (dict(creep=1.0, across=3.0, along=1.0, sets=True), (2.5, 6.2, 1.0)),
}


@pytest.mark.parametrize("case", COMPUTED_APART)
def test_strip_computed_apart(case: str) -> None:
    """The same strip by another hand, as fibres; moistures and steps were not told to a tenth: 0.25 in."""
    varied, crowns = COMPUTED_APART[case]
    assert crowns_in(**varied) == pytest.approx(crowns, abs=0.25)


def test_elastic_strip_is_timoshenkos_bimetal() -> None:
    """Timoshenko 1925, κ = 6 Δε (1+m)² / {h [3(1+m)² + (1+mn)(m² + 1/(mn))]}, E b for E; 0.2 % for the fibres."""
    past, ends = wetted_and_dried()
    none = Chain(span=np.array([1.0]), share=np.array([0.0]))
    law = Law(creep=none, shift=spruce_laws().along.shift, swing=none)
    thick, high = 9.0, 25.0
    layers = [
        Layer(law=law, modulus_MPa=650.0, width_mm=120.0, bottom_mm=0.0, top_mm=thick, growth=0.001),
        Layer(law=law, modulus_MPa=11000.0, width_mm=25.0, bottom_mm=-high, top_mm=0.0, growth=0.0),
    ]
    bent = curvatures(layers, past, flat_percent=past.moisture_percent[ends[0]] - 4.0)[ends[0]]
    m, n, h = thick / high, 650.0 * 120.0 / (11000.0 * 25.0), thick + high
    exact = 6.0 * 0.004 * (1 + m) ** 2 / (h * (3 * (1 + m) ** 2 + (1 + m * n) * (m * m + 1 / (m * n))))
    assert bent == pytest.approx(exact, rel=2e-3)
    assert 1.0 / exact == pytest.approx(12626.0, rel=1e-3)  # a worked value, computed apart


def test_free_panel_wants_most_of_an_inch() -> None:
    """A panel from 4.5 to 16 % moisture wants 0.8 in on 48 (technicians' list 2003, one figure): 10 %."""
    grown = free_strain(wood("sitka_spruce"), from_percent=4.5, to_percent=16.0).R
    assert 48.0 * grown == pytest.approx(0.8, rel=0.1)
