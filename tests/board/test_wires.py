"""Wire data: every number has a source; gauges, strengths and densities behave."""

from __future__ import annotations

import numpy as np
import pytest

from bellywork.board.wires import (
    gauge_sizes_mm,
    spring_wire_strength_MPa,
    steel_density_kg_m3,
    tensile_strength_MPa,
    wire_table,
    wrap_density_kg_m3,
)
from bellywork.errors import BoardError


def test_no_number_without_a_source():
    table = wire_table()
    keys = [table["gauges"][system]["source"] for system in table["gauges"]] + [table["strength"]["sm"]["source"]]
    for part in (table["steel"], table["strength"]["a228"], table["wraps"]):
        for name, pair in part.items():
            assert len(pair) == 2, name
            keys.append(pair[1])
    assert set(keys) == set(table["sources"])
    assert {source["how"] for source in table["sources"].values()} <= {"read", "second-hand copy", "from memory"}


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_a_higher_number_is_a_thicker_wire(system):
    sizes = gauge_sizes_mm(system)
    assert np.all(np.diff([sizes[number] for number in sorted(sizes)]) > 0.0)


def test_metric_sizes_keep_their_rule():
    sizes = gauge_sizes_mm("metric")
    for number, size in sizes.items():
        if number <= 22:
            assert size == pytest.approx(0.725 + 0.05 * (number - 12))
    assert sizes[23] == 1.3


def test_between_table_sizes_strength_runs_straight():
    assert spring_wire_strength_MPa(1.05) == pytest.approx((1965.0, 2220.0))


def test_thinner_wire_is_stronger_per_area():
    sizes = np.linspace(0.7, 1.7, 21)
    assert np.all(np.diff([tensile_strength_MPa(size) for size in sizes]) < 0.0)


def test_densities_in_their_order():
    assert steel_density_kg_m3() == 7850.0
    assert wrap_density_kg_m3("copper") > wrap_density_kg_m3("brass") > wrap_density_kg_m3("iron")


def test_refusals_say_what_is_held():
    with pytest.raises(BoardError, match=r"^No wire gauge is called 'shop'; there are inch and metric\.$"):
        gauge_sizes_mm("shop")
    with pytest.raises(BoardError, match=r"^A wire of 9 mm is outside this strength table, 0\.1 to 6\.5 mm\.$"):
        tensile_strength_MPa(9.0)
    with pytest.raises(BoardError, match=r"^A wire of 0\.7 mm is outside this strength table, 0\.8 to 1\.6 mm\.$"):
        spring_wire_strength_MPa(0.7)
    with pytest.raises(BoardError, match=r"^No wrap is called 'tin'; held are copper, iron, brass\.$"):
        wrap_density_kg_m3("tin")
