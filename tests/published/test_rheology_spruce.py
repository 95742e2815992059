"""Creep, moisture creep and set of spruce against the published data and statements.

Data: Maas & Wittel 2026, "From Elasticity to Creep: Orthotropic moisture-dependent Rheology of Norway Spruce",
Holzforschung (in press), data under CC BY 4.0. The columns of creep over elastic strain were computed from that data
apart from this project, so they check the reading and the closed form, to the digits printed; values that the program
could have been tuned on are said to be so.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from bellywork.seasons.rheology import Chain, Law, Memory, Shift, Stride, held, loaded
from bellywork.seasons.spruce import creep_chain, rheology_table, spruce_laws, yielding

DAYS_OF_MONTH = (1.0 / 24.0, 1.0, 10.0, 30.0, 100.0)
MONTH = {
    "cR_35": (0.10, 0.47, 0.91, 1.16, 1.40),
    "cR_65": (0.12, 0.50, 0.91, 1.20, 1.60),
    "cR_90": (0.20, 0.91, 2.00, 2.45, 2.49),
    "cT_35": (0.20, 1.04, 1.72, 2.02, 2.33),
    "cT_65": (0.18, 0.66, 1.15, 1.48, 1.89),
    "cL_35": (0.01, 0.09, 0.19, 0.27, 0.42),
    "cL_65": (0.03, 0.15, 0.27, 0.33, 0.40),
    "cL_90": (0.04, 0.21, 0.35, 0.39, 0.40),
    "tR_35": (0.07, 0.26, 0.35, 0.47, 0.73),
    "tR_65": (0.13, 0.47, 0.73, 0.87, 1.01),
    "tT_65": (0.25, 0.86, 1.22, 1.45, 1.74),
    "tL_35": (0.00, 0.08, 0.18, 0.23, 0.27),
    "tL_65": (0.00, 0.05, 0.08, 0.11, 0.16),
    "sLR_35": (0.05, 0.22, 0.41, 0.52, 0.63),
    "sLR_65": (0.09, 0.28, 0.36, 0.44, 0.57),
    "sLT_35": (0.05, 0.22, 0.41, 0.52, 0.67),
    "sLT_65": (0.10, 0.31, 0.41, 0.54, 0.81),
    "sRT_35": (0.07, 0.27, 0.39, 0.45, 0.52),
    "sRT_65": (0.10, 0.30, 0.38, 0.45, 0.56),
}
DAYS_OF_YEARS = (1.0, 10.0, 30.0, 100.0, 365.0, 3650.0)
MASTER = {
    "cRR": (0.42, 0.87, 1.18, 1.78, 2.58, 2.73),
    "tRR": (0.30, 0.50, 0.68, 0.89, 1.27, 2.33),
    "cTT": (0.72, 1.37, 1.82, 2.27, 2.98, 4.4),
    "cLL": (0.15, 0.25, 0.31, 0.37, 0.38, 0.38),
    "tLL": (0.09, 0.11, 0.15, 0.20, 0.22, 0.22),
    "avgLL": (0.10, 0.16, 0.21, 0.27, 0.35, 0.39),
    "G_avgRL": (0.26, 0.41, 0.51, 0.68, 0.90, 1.5),
    "G_avgTL": (0.26, 0.40, 0.51, 0.69, 0.94, 1.33),
    "G_avgRT": (0.26, 0.35, 0.45, 0.54, 0.61, 0.95),
}


@pytest.mark.parametrize("name", MONTH)
def test_creep_of_a_month(name: str) -> None:
    """Published data by direction and humidity; half of the last digit printed, and a little for two that were rounded
    twice (0.2945 is printed 0.30)."""
    assert creep_chain("month", name).crept(DAYS_OF_MONTH) == pytest.approx(MONTH[name], abs=0.0056)


@pytest.mark.parametrize("name", MASTER)
def test_creep_of_years(name: str) -> None:
    """Published master curves, with the terms beyond the tests; half of the last digit printed."""
    crept = creep_chain("master", name, beyond_tests=True).crept(DAYS_OF_YEARS)
    assert crept[:5] == pytest.approx(MASTER[name][:5], abs=0.0051)
    assert crept[5] == pytest.approx(MASTER[name][5], abs=0.051 if MASTER[name][5] in (4.4, 1.5) else 0.0051)


def test_the_average_of_pressed_and_pulled_lies_between_them() -> None:
    """Published apart from them, with spans of its own: to 10 % their mean from a day to a year."""
    days = [1.0, 10.0, 30.0, 100.0, 365.0]
    pressed, pulled, average = (creep_chain("master", name).crept(days) for name in ("cRR", "tRR", "avgRR"))
    assert average == pytest.approx((pressed + pulled) / 2.0, rel=0.1)


def test_terms_beyond_the_tests_are_not_used() -> None:
    """Published: these have standard deviations as large as themselves, or spans of decades."""
    assert float(spruce_laws().shear.creep.crept(1e6)) == pytest.approx(0.67, abs=0.005)
    assert spruce_laws().rolling.creep.span.max() < 4000.0


def test_time_runs_faster_in_damp_wood() -> None:
    """Published shift, pressed across the grain; computed from it apart from this project: 0 0 0.2 1.1 1.8 2.7."""
    ln_a = np.log(spruce_laws().across.shift.speed([8.0, 13.0, 15.0, 17.0, 18.0, 20.0]))
    assert ln_a == pytest.approx([0.0, 0.0, 0.2, 1.1, 1.8, 2.7], abs=0.05)


def test_creep_with_moisture_travelled() -> None:
    """Fit to the published reference curve (across), from memory (along); values computed apart, three digits."""
    laws = spruce_laws()
    assert laws.across.swing.crept([0.02, 0.08, 0.2, 0.5, 1.0, 2.0]) == pytest.approx(
        [0.252, 0.799, 1.372, 1.935, 2.406, 2.857], abs=0.0006
    )
    assert float(laws.across.swing.crept(np.inf)) == pytest.approx(3.12)
    assert laws.along.swing.crept([0.08, 0.4, 0.8]) == pytest.approx([0.127, 0.442, 0.605], abs=0.0006)


def test_reference_curve_of_thin_slices() -> None:
    """Ferrara & Wittel 2025's reference curve, as published: 2 N/mm² across the grain, C₀ 2.0136e-3 mm²/N, moisture
    between 0.0901 and 0.19: 0.00722 after two cycles, 0.01128 after nine, 0.00446 after two more without load. The
    shares were fitted to these points; 1 %, for the cycle's lower end is read off the last row.
    """
    law, half = spruce_laws().across, 0.19 - 0.0901
    elastic = np.asarray(2.0 * 2.0136e-3)
    memory = Stride(law, aged_days=0.0, travelled=0.0).after(Memory.fresh(law), elastic)
    reached = []
    for _ in range(18):
        memory = Stride(law, aged_days=0.0, travelled=half).after(memory, elastic)
        reached.append(float(memory.remembered))
    assert [reached[3], reached[17]] == pytest.approx([0.00722, 0.01128], rel=0.01)
    memory = Stride(law, aged_days=0.0, travelled=0.0).after(memory, np.asarray(0.0))
    memory = Stride(law, aged_days=0.0, travelled=4 * half).after(memory, np.asarray(0.0))
    assert float(memory.remembered) == pytest.approx(0.00446, rel=0.01)


PUBLISHED_HELD = {
    "month": (0.67, 0.51, 0.42, 0.33, 0.26, 0.21, 0.19, 0.167),
    "master": (0.70, 0.51, 0.42, 0.29, 0.21, 0.18, 0.16, 0.146),
}


def across(table: str) -> Law:
    """Wood across the grain, of one of the two published creep tables, without set."""
    name = {"month": "cR_65", "master": "cRR"}[table]
    return Law(creep=creep_chain(table, name), shift=spruce_laws().across.shift, swing=spruce_laws().across.swing)


@pytest.mark.parametrize("table", PUBLISHED_HELD)
def test_strain_held_for_fifty_years(table: str) -> None:
    """J. Wood Sci. 65 (2019), s10086-019-1802-8: 15 % of the stress is left after 50 years, in the elastic region.

    0.08 of moisture travelled a year; the columns were computed apart from this project, with steps that were not told
    (at one day 0.67 is printed where the equations themselves give 0.657, see the next test): 0.015, 2 % at 50 years.
    """
    days = (1.0, 10.0, 30.0, 100.0, 365.25, 5 * 365.25, 10 * 365.25, 50 * 365.25)
    left = held_stress(across(table), days)
    assert left[:-1] == pytest.approx(PUBLISHED_HELD[table][:-1], abs=0.015)
    assert left[-1] == pytest.approx(PUBLISHED_HELD[table][-1], rel=0.02)
    assert left[-1] == pytest.approx(0.15, rel=0.15)  # the published number
    without = held_stress(Law(creep=across(table).creep, shift=across(table).shift, swing=NO_SWING), days)
    assert 0.26 < without[-1] < 0.36  # time alone stops there


def test_held_strain_against_an_ode_solver() -> None:
    """General-purpose library: the chain's own differential equations, held strain, by scipy's Radau."""
    law = across("month")
    span, share = law.creep.span, law.creep.share

    def rate(_: float, creep: np.ndarray) -> np.ndarray:
        return (share * (1.0 - creep.sum()) - creep) / span

    solved = solve_ivp(
        rate, (0.0, 100.0), np.zeros(4), method="Radau", rtol=1e-9, atol=1e-12, t_eval=[1.0, 10.0, 100.0]
    )
    still = Law(creep=law.creep, shift=law.shift, swing=NO_SWING)
    assert held_stress(still, (1.0, 10.0, 100.0)) == pytest.approx(1.0 - solved.y.sum(axis=0), rel=1e-3)


NO_SWING = Chain(span=np.array([1.0]), share=np.array([0.0]))


def held_stress(law: Law, days: tuple[float, ...]) -> np.ndarray:
    """Stress over first stress of wood held at one strain, at these days."""
    grid = np.union1d(np.geomspace(1e-4, days[-1], 400), days)
    memory = held(
        Stride(law, aged_days=0.0, travelled=0.0),
        Memory.fresh(law),
        strain=np.asarray(1e-4),
        modulus_MPa=900.0,
        moisture_percent=9.0,
    )
    first, before, out = float(memory.elastic), 0.0, {}
    for day in grid:
        stride = Stride(law, aged_days=day - before, travelled=0.08 * (day - before) / 365.25)
        memory = held(stride, memory, strain=np.asarray(1e-4), modulus_MPa=900.0, moisture_percent=9.0)
        out[float(day)], before = float(memory.elastic) / first, float(day)
    return np.array([out[day] for day in days])


SET = {
    8.6: (4.68, 4.84, 4.90, 5.03),
    9.3: (4.23, 4.50, 4.57, 4.78),
    17.6: (3.09, 3.51, 3.77, 4.34),
    21.5: (2.94, 3.10, 3.17, 3.28),
}


@pytest.mark.parametrize("moisture", SET)
def test_pressure_that_brings_a_set_along_R(moisture: float) -> None:
    """Medians of the published curves. K, n and each pressure are medians of their own, which do not quite agree: 6 %,
    less than the 7 to 9 % by which strength scatters."""
    strains = np.array([0.0002, 0.001, 0.002, 0.01])
    pressure, _ = yielding("R").pressure(strains, moisture)
    assert pressure == pytest.approx(SET[moisture], rel=0.06)
    assert yielding("R").set_at(pressure, moisture) == pytest.approx(strains, rel=1e-8)


def test_the_published_row_of_ramberg_and_osgood() -> None:
    """Published row: K 49.68, n 40.7, 41.57 N/mm² → 0.0007."""
    assert (41.57 / 49.68) ** 40.7 == pytest.approx(0.0007, abs=0.00005)
    assert yielding("T").pressure(0.001, 8.6)[0] == pytest.approx(5.5, rel=0.03)


def test_handbook_on_creep() -> None:
    """Wood Handbook, ch. "Creep and Relaxation" (read): after years creep "may approximately equal" the elastic strain,
    and is "likely to be greater" across the grain. EN 1995-1-1 k_def 0.6 indoors (second-hand).

    Indoors: 0.04 to 0.08 of moisture travelled a year, ten years, along the grain.
    """
    laws = spruce_laws()
    along = [float(laws.along.creep.crept(3652.5) + laws.along.swing.crept(w)) for w in (0.4, 0.8)]
    assert 0.6 < along[0] < along[1] < 1.2
    assert float(laws.across.creep.crept(3652.5)) > along[1]


def test_half_comes_back_when_the_load_is_taken_off() -> None:
    """Wood Handbook (read): about half of creep recovers. Time alone recovers, creep with moisture stays where the air
    is still: between 0.3 and 0.7 of what was crept in ten years is back after one.
    """
    law = spruce_laws().along
    kw = {"modulus_MPa": 11000.0, "moisture_percent": 9.0}
    memory = loaded(Stride(law, aged_days=0.0, travelled=0.0), Memory.fresh(law), stress_MPa=np.asarray(5.0), **kw)
    memory = loaded(Stride(law, aged_days=3652.5, travelled=0.6), memory, stress_MPa=np.asarray(5.0), **kw)
    crept = float(memory.remembered)
    memory = loaded(Stride(law, aged_days=0.0, travelled=0.0), memory, stress_MPa=np.asarray(0.0), **kw)
    memory = loaded(Stride(law, aged_days=365.0, travelled=0.0), memory, stress_MPa=np.asarray(0.0), **kw)
    assert 0.3 < 1.0 - float(memory.remembered) / crept < 0.7


def test_relaxation_along_the_grain() -> None:
    """Wood Handbook, from memory: to 60 to 70 % in a few months; computed from the month's data 0.75 to 0.86 after 100
    days without swings of moisture."""
    shift, swing = spruce_laws().along.shift, NO_SWING
    for name in ("cL_65", "tL_65"):
        law = Law(creep=creep_chain("month", name), shift=shift, swing=swing)
        assert 0.70 < float(held_stress(law, (100.0,))[0]) < 0.88


def test_sink_of_ribs_grows_as_computed_apart() -> None:
    """Ribs in bending and shear under strings at constant moisture: +14–16 % of the elastic sink in a day, +28–33 % in
    a month, +43–48 % in the first year, with 25 to 40 % of the compliance in shear; moisture, 0.08 a year, adds 13 %
    in year 1, 44 % by year 5, 61 % by year 10. Computed apart from this project.
    """
    laws = spruce_laws()
    for share in (0.25, 0.40):
        grown = [
            (1.0 - share) * float(laws.along.creep.crept(d)) + share * float(laws.shear.creep.crept(d))
            for d in (1.0, 30.0, 365.25)
        ]
        assert 0.135 < grown[0] < 0.165
        assert 0.275 < grown[1] < 0.335
        assert 0.425 < grown[2] < 0.485
    assert laws.along.swing.crept([0.08, 0.4, 0.8]) == pytest.approx([0.13, 0.44, 0.61], abs=0.006)


E_R, ALPHA_R = 1176.0, 0.1816  # of the same tree


def blocked_season(years: int, steps: int) -> np.ndarray:
    """Greatest and least stress across the grain in each year, N/mm², of wood that is wholly held, w = 8.5 ± 2.05 %.

    Creep between the published ones at 35 % RH (w 8.5 %) and at 65 % (10.5 %); no set.
    """
    dry, damp = creep_chain("month", "cR_35"), creep_chain("month", "cR_65")
    shift = Shift(p0=100.0, p1=0.0, y_r=0.0)
    swing = spruce_laws().across.swing
    day = np.linspace(0.0, 365.25 * years, years * steps + 1)
    w = 8.5 + 2.05 * np.sin(2.0 * np.pi * day / 365.25)
    memory, stress = Memory.fresh(Law(creep=dry, shift=shift, swing=swing)), [0.0]
    for k in range(1, len(day)):
        x = float(np.clip((w[k] + w[k - 1]) / 2.0 - 8.5, 0.0, 2.0)) / 2.0
        law = Law(creep=Chain(span=dry.span, share=(1 - x) * dry.share + x * damp.share), shift=shift, swing=swing)
        stride = Stride(law, aged_days=day[k] - day[k - 1], travelled=abs(w[k] - w[k - 1]) / 100.0)
        strain = np.asarray(-ALPHA_R * (w[k] - 8.5) / 100.0)
        memory = held(stride, memory, strain=strain, modulus_MPa=E_R, moisture_percent=9.0)
        stress.append(E_R * float(memory.elastic))
    by_year = np.array(stress[1:]).reshape(years, steps)
    return np.stack([by_year.min(axis=1), by_year.max(axis=1)])


def test_blocked_season() -> None:
    """Elastic ±4.39 N/mm²; years 1, 2, 5, 10, 20: −1.74/+1.97, −1.85/+1.95, −1.87/+1.93, −1.88/+1.93, −1.88/+1.93,
    computed apart from this project with the same published data; 3 % for what it did not say of its steps."""
    assert E_R * ALPHA_R * 0.0205 == pytest.approx(4.39, abs=0.02)
    low, high = blocked_season(20, 104)
    years = [0, 1, 4, 9, 19]
    assert low[years] == pytest.approx([-1.74, -1.85, -1.87, -1.88, -1.88], rel=0.03)
    assert high[years] == pytest.approx([1.97, 1.95, 1.93, 1.93, 1.93], rel=0.03)


def test_every_table_names_a_source() -> None:
    """House: no number without its source."""
    table = rheology_table()
    for group in ("month", "master", "swing", "yield", "prior"):
        for name, row in table[group].items():
            assert row["source"] in table["sources"], name
