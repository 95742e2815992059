"""A plot's curves lie where their axis says, whatever their range; names of curves stand apart and inside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellywork.sheets.drawing import Polyline, Text
from bellywork.sheets.plot import HEIGHT_MM, NEAR_MM, Curve, plotted, ticks

X = np.arange(1.0, 11.0)
AXES = {"x_words": "note", "y_words": "net, degrees", "width_mm": 200.0}


def lines(*curves: Curve) -> list[Polyline]:
    return [item for item in plotted(curves, **AXES).items if isinstance(item, Polyline) and not item.closed]


def texts(*curves: Curve) -> list[Text]:
    return [item for item in plotted(curves, **AXES).items if isinstance(item, Text)]


def test_a_curve_lies_where_the_axis_says() -> None:
    curve = Curve(name="a", x=X, y=X**2)
    (line,) = lines(curve)
    labels = {float(text.text): text.at for text in texts(curve)[:-3] if text.anchor.value == "right"}
    heights = np.array(line.points)[:, 1]
    values, places = np.array(sorted((v, at[1] + 0.8) for v, at in labels.items())).T
    assert np.interp(heights, places, values)[:9] == pytest.approx(X[:9] ** 2)  # the last is above the last label


def test_a_curve_breaks_where_it_is_not_known() -> None:
    y = X.copy()
    y[4] = np.nan
    assert [len(line.points) for line in lines(Curve(name="a", x=X, y=y))] == [4, 5]
    assert lines(Curve(name="a", x=X, y=np.full(10, np.nan))) == []


@given(st.lists(st.floats(-50.0, 50.0), min_size=1, max_size=8))
def test_names_stand_apart_and_under_the_top(ends: list[float]) -> None:
    curves = [Curve(name=f"curve {k}", x=X, y=np.linspace(0.0, end, 10)) for k, end in enumerate(ends)]
    heights = sorted(text.at[1] for text in texts(*curves) if text.text.startswith("curve"))
    assert len(heights) == len(ends)
    assert np.all(np.diff(heights) >= NEAR_MM - 1e-9)
    assert heights[-1] <= HEIGHT_MM - 6.0


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_ticks_are_round_and_inside(low: float, span: float) -> None:
    found = np.array(ticks(low, low + span))
    assert 2 <= len(found) <= 7
    assert found.min() >= low - 1e-6 * span
    assert found.max() <= low + span * (1.0 + 1e-6)
