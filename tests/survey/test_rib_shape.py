"""The shape of one rib in a word and in numbers. Kinds of expected numbers: common practice, no source (the trade's
chord-rise table); closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.survey.rib_shape import SHARES, RibShape, Shape, bent, radius_of, shape_of

FOOT = 304.8
# rise over a chord in mm, by span in mm and radius in feet: common practice, no source
TABLE = {
    (500, 25): 4.1, (500, 50): 2.1, (500, 60): 1.7, (700, 60): 3.3, (900, 45): 7.4, (1100, 60): 8.3, (1300, 100): 6.9,
}  # fmt: skip
XI = 2.0 * SHARES - 1.0
BOW = 1.0 - XI**2


@pytest.mark.parametrize(("span", "feet"), TABLE)
def test_the_chord_rise_table_of_the_trade(span: float, feet: float) -> None:
    assert radius_of(TABLE[span, feet], span) / FOOT == pytest.approx(feet, rel=0.03)


def test_reversed_flat_and_s_ribs_are_told_apart() -> None:
    profiles = (
        -1.0 * BOW,
        0.1 * BOW,
        0.8 * BOW + 3.0 * BOW * XI,
        0.8 * BOW - 3.0 * BOW * XI,
        3.0 * BOW,
        3.0 * BOW + BOW * XI,
    )
    told = [shape_of(profile, 0.25, 0.6) for profile in profiles]
    assert told == [Shape.REVERSED, Shape.FLAT, Shape.S, Shape.S, Shape.CROWNED, Shape.CROWNED]
    assert shape_of(0.1 * BOW + 0.5 * BOW * XI, 0.25, 0.6) is Shape.FLAT  # an odd part within its doubt


def shape(rise: float) -> RibShape:
    return RibShape(
        span_mm=500.0, rise_mm=rise, rise_uncertainty_mm=0.25, shape=Shape.CROWNED, profile_mm=rise * BOW, bent_mm=0.0,
        bent_at_mm=0.0, position_mm=np.zeros(0), outliers=np.zeros(0, int), residual_mm=np.zeros(0),
        uncertainty_mm=np.zeros(0),
    )  # fmt: skip


def test_a_flat_rib_has_no_radius_and_a_reversed_one_a_negative() -> None:
    assert shape(0.2).radius_mm == np.inf
    assert shape(-1.7).radius_mm == pytest.approx(-(500.0**2 / 8.0 / 1.7 + 0.85))
    assert shape(1.7).height_mm([0.0, 125.0, 250.0]) == pytest.approx([0.0, 0.75 * 1.7, 1.7])


def test_where_a_rib_is_bent_locally_is_told_with_its_sign_and_place() -> None:
    lost = np.exp(-(((SHARES - 0.25) / 0.05) ** 2))  # a millimetre more is lost at a quarter
    assert bent(lost, np.full(len(SHARES), 0.1)) == (pytest.approx(-1.0), 0.25)
    assert bent(-lost, np.full(len(SHARES), 0.1)) == (pytest.approx(1.0), 0.25)
    assert bent(lost, np.full(len(SHARES), 0.4)) == (0.0, 0.0)
    assert bent(0.4 * lost, np.full(len(SHARES), 0.1)) == (0.0, 0.0)


@pytest.mark.parametrize(("rise", "low", "high"), [(2.0, 1.5, 2.5), (-2.0, -1.5, -2.5)])
def test_a_radius_is_as_sure_as_its_rise(rise: float, low: float, high: float) -> None:
    """The chord's own formula at both ends of the rise; the greater rise has the smaller radius."""
    shape = shaped(rise, 0.5)
    near, far = (800.0**2 / (8.0 * each) + each / 2.0 for each in (high, low))
    assert shape.radius_range_mm == pytest.approx(tuple(sorted((near, far))))
    assert shape.radius_range_mm[0] < shape.radius_mm < shape.radius_range_mm[1]


def test_a_flat_rib_has_no_radius() -> None:
    assert np.isinf(shaped(0.4, 0.5).radius_mm)
    assert np.isnan(shaped(0.4, 0.5).radius_range_mm).all()


def shaped(rise: float, wide: float) -> RibShape:
    return replace(shape(rise), span_mm=800.0, rise_uncertainty_mm=wide)
