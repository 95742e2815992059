"""Laws of wood through time: what must hold whatever the numbers are."""

import numpy as np
import pytest

from bellywork.errors import BoardError
from bellywork.seasons.history import history as followed
from bellywork.seasons.history import sine_air, still_air
from bellywork.seasons.rheology import Chain, Memory, Stride, held, loaded
from bellywork.seasons.sorption import Sorption
from bellywork.seasons.spruce import creep_chain, spruce_laws

ACROSS = spruce_laws().across
E = 900.0
AT_9 = {"modulus_MPa": E, "moisture_percent": 9.0}


def test_no_load_and_no_moisture_no_change() -> None:
    """Invariant, also of wood that carries a memory of set only."""
    memory = Memory.fresh(ACROSS, (5,))
    for days in (0.0, 1.0, 1e4):
        memory = loaded(Stride(ACROSS, aged_days=days, travelled=0.0), memory, stress_MPa=np.zeros(5), **AT_9)
    assert np.all(memory.remembered == 0.0)
    assert np.all(memory.elastic == 0.0)


def test_constant_stress_is_the_closed_form_in_any_steps() -> None:
    """Invariant: one stride or many, of any lengths, give Σ share (1 − e^(−t/τ)) + Σ m (1 − e^(−W/μ))."""
    stress = np.array([-1.0, 0.5, 2.0])
    for strides in ([(400.0, 0.3)], [(1.0, 0.1), (0.0, 0.0), (99.0, 0.0), (0.0, 0.05), (300.0, 0.15)]):
        memory = Stride(ACROSS, aged_days=0.0, travelled=0.0).after(Memory.fresh(ACROSS, (3,)), stress / E)
        for days, travelled in strides:
            memory = loaded(Stride(ACROSS, aged_days=days, travelled=travelled), memory, stress_MPa=stress, **AT_9)
        grown = float(ACROSS.creep.crept(400.0) + ACROSS.swing.crept(0.3))
        assert memory.remembered == pytest.approx(stress / E * grown, rel=1e-12)


def test_stress_that_rises_evenly_is_exact_too() -> None:
    """Invariant: the convolution of a ramp, Σ share (1 − (1 − e^(−x))/x), in one stride or in seven."""
    end = np.asarray(1e-3)
    x = 30.0 / ACROSS.creep.span
    exact = 1e-3 * float(ACROSS.creep.share @ (1.0 - (1.0 - np.exp(-x)) / x))
    for count in (1, 7):
        memory = Memory.fresh(ACROSS)
        for k in range(count):
            memory = Stride(ACROSS, aged_days=30.0 / count, travelled=0.0).after(memory, end * (k + 1) / count)
        assert float(memory.remembered) == pytest.approx(exact, rel=1e-12)


def test_a_long_stride_is_as_soft_as_the_chain_can_be() -> None:
    """Invariant: A goes from 0 to the sum of the shares."""
    assert Stride(ACROSS, aged_days=0.0, travelled=0.0).looser == 0.0
    assert Stride(ACROSS, aged_days=1e9, travelled=1e6).looser == pytest.approx(
        ACROSS.creep.share.sum() + ACROSS.swing.share.sum(), rel=1e-4
    )
    tiny = Stride(ACROSS, aged_days=1e-9, travelled=0.0)
    assert 0.0 < tiny.looser < 1e-6


def test_held_wood_keeps_its_strain() -> None:
    """Invariant: elastic + remembered = strain, also where it is crushed, and set only grows."""
    memory, sets = Memory.fresh(ACROSS, (2,)), []
    for strain in (-0.002, -0.012, -0.004, 0.001, -0.012, -0.013):
        strains = np.array([strain, strain / 10.0])
        memory = held(Stride(ACROSS, aged_days=0.0, travelled=0.0), memory, strain=strains, **AT_9)
        assert memory.elastic + memory.remembered == pytest.approx(strains, abs=1e-12)
        sets.append(memory.set)
    assert np.all(np.diff(sets, axis=0) >= 0.0)
    assert sets[1][0] == pytest.approx(0.012 - 4.73 / E, rel=0.05)  # nearly plastic at some 4.7 N/mm²
    assert sets[3][0] == sets[1][0]
    assert np.all(np.array(sets)[:, 1] == 0.0)


def test_held_and_loaded_are_each_others_inverse() -> None:
    """Invariant: the stress of held wood, put on, gives its strain again, set and all."""
    stride = Stride(ACROSS, aged_days=12.0, travelled=0.02)
    start = held(
        Stride(ACROSS, aged_days=0.0, travelled=0.0),
        Memory.fresh(ACROSS, (3,)),
        strain=np.array([-0.005, -0.001, 0.002]),
        **AT_9,
    )
    by_strain = held(stride, start, strain=np.array([-0.02, -0.003, 0.001]), **AT_9)
    by_stress = loaded(stride, start, stress_MPa=E * by_strain.elastic, **AT_9)
    for name in ("crept", "elastic", "set"):
        assert getattr(by_stress, name) == pytest.approx(getattr(by_strain, name), rel=1e-7, abs=1e-15)


def test_equal_cycles_settle() -> None:
    """Invariant: after some years the yearly stress of held wood returns, and which season came first is forgotten.

    0.05 N/mm² of a swing of 3: what creeps over decades with moisture is not yet done after 38 years.
    """
    months = np.arange(0.0, 365.0, 30.4375)
    years = []
    for start_day, before in ((0.0, 0.0), (182.625, 182.625)):
        past = followed(
            sine_air(low_percent=30.0, high_percent=65.0).since(start_day),
            Sorption(lag_days=10.0, single=1.0),
            days=40 * 365.25,
            start_percent=9.0,
            longest_days=15.0,
        )
        day, stress = stress_of(past)
        years.append([np.interp(365.25 * n - before + months, day, stress) for n in (4, 20, 38, 39)])
    assert years[0][3] == pytest.approx(years[1][3], abs=0.05)
    assert years[0][3] == pytest.approx(years[0][2], abs=0.02)
    assert np.abs(years[0][1] - years[0][0]).max() < 0.15
    assert np.ptp(years[0][3]) > 1.5


def stress_of(past):
    """Day and stress across the grain of wood held through a history."""
    memory, stress = Memory.fresh(ACROSS), [0.0]
    aged, travelled, moisture = past.aged_days(ACROSS.shift), past.travelled, past.stop_moisture_percent
    for k in range(len(aged)):
        strain = np.asarray(-0.18 * (moisture[k + 1] - moisture[0]) / 100.0)
        stride = Stride(ACROSS, aged_days=aged[k], travelled=travelled[k])
        memory = held(stride, memory, strain=strain, modulus_MPa=E, moisture_percent=float(moisture[k + 1]))
        stress.append(E * float(memory.elastic))
    return past.stop_day, np.array(stress)


def test_half_the_steps_change_less_than_one_percent() -> None:
    """Convergence: ten years of held wood, of the greatest stress; and a season's steps of 60 days are enough."""
    out = {}
    for finer in (1.0, 2.0, 4.0):
        past = followed(
            sine_air(low_percent=30.0, high_percent=65.0).at,
            Sorption(lag_days=10.0),
            days=3652.5,
            start_percent=8.0,
            finer=finer,
            asked=[3400.0, 3500.0, 3600.0],
        )
        day, stress = stress_of(past)
        out[finer] = (
            np.array([np.interp(d, day, stress) for d in (3400.0, 3500.0, 3600.0, 3652.5)]),
            np.abs(stress).max(),
        )
    greatest = out[4.0][1]
    assert np.abs(out[1.0][0] - out[2.0][0]).max() < 0.01 * greatest
    assert np.abs(out[2.0][0] - out[4.0][0]).max() < np.abs(out[1.0][0] - out[4.0][0]).max()


@pytest.mark.parametrize("single", [0.0, 0.5, 1.0])
def test_half_the_steps_change_what_is_left_by_less_than_one_percent(single: float) -> None:
    """Convergence: held wood that dried and swelled through ten years, on the day of the year on which it was strung,
    when the stress is a fifth of a year's greatest: 1 % of that small rest, half a hundredth of N/mm² at least.
    """
    days = 30.0 + 365.25 * np.array([1.0, 3.0, 10.0])
    out = {}
    for finer in (1.0, 2.0):
        past = followed(
            sine_air(low_percent=30.0, high_percent=65.0).since(93.0),
            Sorption(lag_days=10.0, single=single),
            days=float(days[-1]),
            start_percent=7.5,
            finer=finer,
            asked=days.tolist(),
        )
        day, stress = stress_of(past)
        out[finer] = np.interp(days, day, stress)
    assert out[1.0] == pytest.approx(out[2.0], rel=0.01, abs=0.005)
    assert np.abs(out[2.0]).max() > 0.1


def test_still_air_ages_as_days_pass() -> None:
    """Invariant: at constant moisture below 13 % days are days."""
    past = followed(still_air(42.0).at, Sorption(lag_days=3.0), days=100.0, start_percent=7.9)
    assert past.aged_days(ACROSS.shift).sum() == pytest.approx(100.0, rel=0.03)
    assert past.travelled.sum() < 0.002


def test_varied_laws() -> None:
    """Invariant: only what was asked for is so many times as large."""
    varied = spruce_laws().varied(creep=1.5, swing_across=0.5, swing_along=3.0)
    assert varied.across.creep.share == pytest.approx(1.5 * ACROSS.creep.share)
    assert varied.rolling.swing.share == pytest.approx(3.0 * spruce_laws().rolling.swing.share)
    assert varied.across.swing.share == pytest.approx(0.5 * ACROSS.swing.share)
    assert varied.across.yields is ACROSS.yields
    assert np.all(varied.along.creep.span == spruce_laws().along.creep.span)


def test_wrong_calls() -> None:
    with pytest.raises(BoardError, match=r"^A Kelvin chain needs spans above 0 and shares of 0 or more\.$"):
        Chain(span=np.array([0.0]), share=np.array([1.0]))
    with pytest.raises(BoardError, match=r"^No creep of spruce is called 'cQ'\."):
        creep_chain("month", "cQ")


@pytest.mark.parametrize("before", [0.0, 2e-5])
def test_wood_begins_to_be_crushed_without_a_jump(before: float) -> None:
    """Invariant: the pressure of wood that is shortened goes on without a jump where its crushing begins, else a
    balance that lies just there is never found: fifty years of the sample grand once ended so.
    """
    law = ACROSS.yields
    assert law is not None
    first = float(law.pressure(before, 9.0)[0])
    onset, step = first / E + before, 1e-11
    shortening = onset + step * np.arange(-40.0, 41.0)
    crushed = law.settled(shortening, np.asarray(E), np.full(len(shortening), before), 9.0)
    pressure = E * (shortening - crushed)
    assert np.all(crushed[:40] == before)
    assert crushed[-1] > before
    assert np.all(np.diff(pressure) <= E * step * (1.0 + 1e-3))
    assert np.all(np.diff(pressure) > -1e-12)
    assert pressure[40] == pytest.approx(first, abs=1e-7)
    rate = (law.pressure(before + 1e-9, 9.0)[0] - first) / 1e-9
    assert law.pressure(before, 9.0)[1] == pytest.approx(rate, rel=0.01)
