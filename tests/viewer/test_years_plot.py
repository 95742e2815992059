"""The picture of the years: what is drawn is what the outlook holds, at its days and in the user's units."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from bellywork_viewer import years_plot
from matplotlib.figure import Figure
from stages import board

from bellywork.measures import METRIC, Units
from bellywork.seasons.history import sine_air
from bellywork.seasons.life import Life
from bellywork.seasons.outlook import TOLD, Outlook
from bellywork.seasons.service import Service

NOTES, RIBS = 3, 2
BEFORE = 10.0  # days from the gluing in to the stringing
DAYS = np.array([0.0, 1.0, 7.0])


def lopsided() -> Outlook:
    """Numbers of no board, each of them its own, so that a wrong row, sign or factor is seen. Invented."""
    draw = np.random.default_rng(31)
    day = BEFORE + np.array([-10.0, 0.0, 0.0, 1.0, 3.0, 7.0])
    strung = (False, False, True, True, True, True)
    shapes = {name: {"rib_rise_mm": (RIBS,)}.get(name, (NOTES,)) for name in ("net_deg", "height_mm", "rib_rise_mm")}
    each = {name: draw.uniform(1.0, 9.0, (len(day), *shapes.get(name, ()))) for name in TOLD}
    each["across_MPa"] *= -1.0
    line = board().needed_strings("A test")
    asked = {name: values[[2, 3, 5]] for name, values in each.items()}
    pulls, lines = np.full((len(day), 3, NOTES), 700.0), (line,) * len(day)
    return Outlook(
        day=DAYS,
        note=(4, 40, 64),
        reference=np.array([True, False, True]),
        rib=("1", "2"),
        span_mm=np.array([400.0, 900.0]),
        middle=asked,
        low={name: values - draw.uniform(0.1, 0.9, values.shape) for name, values in asked.items()},
        high={name: values + draw.uniform(0.1, 0.9, values.shape) for name, values in asked.items()},
        service=Service(day=day, moisture_percent=day, strung=strung, line=lines, pull_N=pulls, missed_mm=0.0, **each),
        life=Life(air=sine_air(low_percent=30.0, high_percent=65.0), start_day=121.0, before_days=BEFORE),
        limit_MPa=np.full(len(day), 4.0),
    )


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Figure]:
    def draw(years: Outlook, units: Units = METRIC, **how: object) -> Figure:
        kept = []
        monkeypatch.setattr(years_plot, "saved", lambda figure, path: kept.append(figure))
        years_plot.drawn(years, "A board", Path("years.png"), units, **how)
        return kept[0]

    return draw


def ends(axes) -> list[np.ndarray]:
    """Upper and lower end of the bars of each thing drawn: (times, 2), beside their days."""
    return [np.array([segment[:, 1] for segment in bars.get_segments()]) for bars in axes.collections]


def days(axes) -> list[np.ndarray]:
    return [np.array([segment[0, 0] for segment in bars.get_segments()]) for bars in axes.collections]


HOUR = 1.0 / 24.0  # where the axis begins: what is just strung stands there
SINCE = [HOUR, 1.0, 3.0, 7.0]


def test_bearing_of_the_reference_notes(drawn) -> None:
    years = lopsided()
    axes = drawn(years).axes[0]
    lines = [line for line in axes.get_lines() if len(line.get_xdata()) == len(SINCE)]
    assert [line.get_label() for line in lines] == ["C1", "C6"]
    for line, bars, at, place in zip(lines, ends(axes), days(axes), (0, 2), strict=True):
        np.testing.assert_allclose(line.get_xdata(), SINCE)
        np.testing.assert_array_equal(line.get_ydata(), years.service.net_deg[2:, place])
        np.testing.assert_allclose(at, [HOUR, 1.0, 7.0])
        np.testing.assert_array_equal(
            bars, np.transpose([years.low["net_deg"][:, place], years.high["net_deg"][:, place]])
        )


@pytest.mark.parametrize(("units", "mm"), [(METRIC, 1.0), (Units(length="in"), 25.4)])
def test_crown_of_ribs(drawn, units: Units, mm: float) -> None:
    """1 in = 25.4 mm."""
    years = lopsided()
    axes = drawn(years, units).axes[1]
    assert [line.get_label() for line in axes.get_lines()] == ["rib 1", "rib 2"]
    for rib, (line, bars) in enumerate(zip(axes.get_lines(), ends(axes), strict=True)):
        np.testing.assert_allclose(line.get_ydata(), years.service.rib_rise_mm[2:, rib] / mm)
        told = np.transpose([part["rib_rise_mm"][:, rib] for part in (years.low, years.high)])
        np.testing.assert_allclose(bars, told / mm)


def test_pressure_across_the_grain_and_its_set(drawn) -> None:
    years = lopsided()
    figure = drawn(years)
    pressed, crushed = figure.axes[2], figure.axes[3]
    np.testing.assert_array_equal(pressed.get_lines()[0].get_ydata(), years.service.across_MPa[2:])
    told = np.transpose([part["across_MPa"] for part in (years.low, years.high)])
    np.testing.assert_array_equal(ends(pressed)[0], told)
    np.testing.assert_allclose(crushed.get_lines()[0].get_ydata(), 1000.0 * years.service.set_strain[2:])
    assert (pressed.get_ylabel(), crushed.get_ylabel()[-1]) != ("", "")


def test_ticks_are_those_that_were_reached(drawn) -> None:
    shared = drawn(lopsided()).axes[2]
    assert [text.get_text() for text in shared.get_xticklabels()] == ["1 h", "1 d", "1 w"]
    late = lopsided()
    late = replace(late, service=replace(late.service, day=late.service.day * np.array([1, 1, 1, 1, 1, 3.0])))
    assert [text.get_text() for text in drawn(late).axes[2].get_xticklabels()] == ["1 h", "1 d", "1 w", "1 m"]


def test_another_boards_bearing_is_dashed_in_the_same_colours(drawn: Callable[..., Figure]) -> None:
    """Of its two notes one is a reference note of the first board, and only that is drawn."""
    years = lopsided()
    service = replace(years.service, net_deg=0.5 * years.service.net_deg[:, 1:])
    other = replace(years, note=(40, 64), service=service)
    bearing = drawn(years, against=("another board", other)).axes[0]
    dashed = [line for line in bearing.get_lines() if line.get_linestyle() == "--"]
    assert len(dashed) == 1
    own = next(line for line in bearing.get_lines() if line.get_label() == "C6")
    assert dashed[0].get_color() is not None
    assert list(dashed[0].get_color()) == list(own.get_color())
    np.testing.assert_allclose(dashed[0].get_ydata(), 0.5 * own.get_ydata())
    np.testing.assert_allclose(dashed[0].get_xdata(), own.get_xdata())
    assert "dashed: another board" in bearing.get_title()
