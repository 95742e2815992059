"""Plots: what is drawn is what was computed."""

from dataclasses import replace

import matplotlib.pyplot as plt
import numpy as np
import pytest
from bellywork_viewer.figure import figure, octaves, saved
from bellywork_viewer.plots import _seen, plots, string_line, written
from stages import board, stage

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import predicted_sink
from bellywork.board.state import State
from bellywork.errors import OutputError
from bellywork.measures import Units

SINK = predicted_sink(stage().desk.ready)
TABLE = bearing(board(), state=State.STRUNG, sink=SINK)
FIGURES = plots(TABLE, plane(board(), sink=SINK), board().rules, board().name)


def test_the_bearing_plot_draws_front_rear_and_net():
    lines = FIGURES["bearing"].axes[0].get_lines()
    solid = [line for line in lines if line.get_linestyle() == "-" and len(line.get_xdata()) > 2]
    net = np.concatenate([line.get_ydata() for line in solid])
    np.testing.assert_array_equal(net, TABLE.net_deg)
    assert [text.get_text() for text in FIGURES["bearing"].axes[0].get_legend().get_texts()] == [
        "target ± 0.1°", "front", "rear", "net",
    ]  # fmt: skip


def test_the_downforce_plot_draws_every_note():
    bars = FIGURES["downforce"].axes[0].patches
    np.testing.assert_array_equal([bar.get_height() for bar in bars], TABLE.downforce_N)


def test_the_bridge_plot_draws_the_depth_that_is_cut():
    schedule = plane(board(), sink=SINK)
    axes = next(each for each in FIGURES["bridge"].axes if "long" in each.get_title())
    by_label = {line.get_label(): line for line in axes.get_lines()}
    here = [name == "long" for name in schedule.now.line.bridge]
    for row, depth in (("front pins", schedule.faired_front_mm), ("rear pins", schedule.faired_rear_mm)):
        np.testing.assert_array_equal(by_label[row].get_xdata(), schedule.now.line.note[here])
        np.testing.assert_allclose(by_label[row].get_ydata(), depth[here], atol=1e-12)
    # the depths fill the plot: nothing else sets its scale
    low, high = axes.get_ylim()
    every = np.concatenate([schedule.faired_front_mm, schedule.faired_rear_mm, [0.0]])
    assert high - low < 1.3 * np.ptp(every)
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("note", "mm to cut")


def test_where_wood_is_short_the_bridge_plot_says_how_much():
    low = board()
    tops = replace(low.strings, bridge_front_mm=low.strings.bridge_front_mm - 3.0)
    schedule = plane(replace(low, strings=tops), sink=SINK)
    assert schedule.short.any()
    axes = plots(TABLE, schedule, low.rules, "b")["bridge"].axes
    marked = [line for each in axes for line in each.get_lines() if line.get_label() == "wood is short"]
    notes, depths = (np.concatenate([getattr(line, f"get_{k}data")() for line in marked]) for k in "xy")
    least = np.minimum(schedule.plane_front_mm, schedule.plane_rear_mm)[schedule.short]
    np.testing.assert_array_equal(np.sort(notes), np.sort(schedule.now.line.note[schedule.short]))
    np.testing.assert_allclose(np.sort(depths), np.sort(least))
    assert axes[0].get_ylim()[0] < least.min() < 0.0


def test_plots_speak_the_users_units():
    """1 lb = 4.4482216 N, 1 in = 25.4 mm."""
    inch = plots(TABLE, plane(board(), sink=SINK), board().rules, board().name, Units(length="in", force="lb"))
    bars = [bar.get_height() for bar in inch["downforce"].axes[0].patches]
    np.testing.assert_allclose(bars, TABLE.downforce_N / 4.4482216152605)
    assert inch["downforce"].axes[0].get_ylabel() == "downforce, lb"
    metric, depths = (
        next(line for line in figures["bridge"].axes[0].get_lines() if line.get_label() == "front pins").get_ydata()
        for figures in (FIGURES, inch)
    )
    np.testing.assert_allclose(depths, np.array(metric) / 25.4)
    assert inch["bridge"].axes[0].get_ylabel() == "in to cut"
    flat = string_line(bearing(board("string_line_inches")), board().rules, "b", Units(length="in", force="lb"))
    assert flat.axes[1].get_xlabel().startswith("in along the string")


def test_one_note_alone_is_a_point_with_a_name():
    drawing = figure(2, 2)
    axes = drawing.subplots()
    octaves(axes, [41])
    assert [text.get_text() for text in axes.get_xticklabels()] == ["C♯4"]
    assert _seen([41])["marker"] == "o"
    assert not _seen([41, 42])


def test_plots_are_written_into_a_new_folder_and_may_be_replaced(tmp_path):
    paths = written(FIGURES, tmp_path / "new" / "plots")
    assert [path.name for path in paths] == ["bearing.png", "bridge.png", "downforce.png"]
    before = [path.read_bytes() for path in paths]
    assert [path.read_bytes() for path in written(FIGURES, tmp_path / "new" / "plots")] == before


def test_a_folder_that_cannot_be_made_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be made"):
        written(FIGURES, tmp_path / "file" / "plots")


def test_a_string_line_alone_is_drawn_flat():
    table = bearing(board("string_line_inches"))
    drawn = string_line(table, board("string_line_inches").rules, "inches")
    words = [text.get_text() for text in drawn.axes[1].texts]
    assert len(words) == table.reference.sum()
    k = int(np.flatnonzero(table.reference)[0])
    assert words[0] == f"{table.name[k]}  {table.net_deg[k]:+.2f}°  ({table.deviation_deg[k]:+.2f}°)"


def test_a_picture_file_of_another_kind_is_refused(tmp_path):
    with pytest.raises(
        OutputError, match=r"^Found the picture file '.*x\.jpg', expected a name that ends in \.png or \.svg\.$"
    ):
        saved(figure(1, 1), tmp_path / "x.jpg")
    plt.close("all")


def test_bands_are_drawn_where_they_are_known_and_fit_into_the_plot():
    schedule = plane(board(), sink=SINK)
    half = {
        "net_deg": np.linspace(0.05, 0.3, 88),
        "faired_front_mm": np.linspace(0.1, 0.9, 88),
        "faired_rear_mm": np.linspace(0.2, 0.5, 88),
    }
    middle = {"net_deg": TABLE.net_deg, **{name: getattr(schedule, name) for name in half if name != "net_deg"}}
    bands = {name: (middle[name] - half[name], middle[name] + half[name]) for name in half}
    for units, mm in ((Units(), 1.0), (Units(length="in", force="lb"), 25.4)):
        drawn = plots(TABLE, schedule, board().rules, board().name, units, bands=bands)
        shown = filled(drawn["bearing"].axes[0], "net, 95 % band")
        section = [name == TABLE.section[0] for name in TABLE.section]
        assert shown == ends(TABLE.note[section], *(end[section] for end in bands["net_deg"]))
        for axes, (_, here) in zip(drawn["bridge"].axes, schedule.now.line.bridges.items()):
            for row, name in (("faired_front_mm", "front pins"), ("faired_rear_mm", "rear pins")):
                low, high = (end[here] / mm for end in bands[row])
                assert filled(axes, f"{name}, 95 % band") == ends(TABLE.note[here], low, high)
                assert axes.get_ylim()[0] < low.min()
                assert axes.get_ylim()[1] > high.max()
    assert not [each for each in FIGURES["bearing"].axes[0].collections if "95 %" in str(each.get_label())]


def filled(axes, label):
    """Corners of the area of that name."""
    (area,) = (each for each in axes.collections if each.get_label() == label)
    return {tuple(np.round(corner, 6)) for corner in area.get_paths()[0].vertices}


def ends(note, low, high):
    return {tuple(np.round(corner, 6)) for end in (low, high) for corner in zip(note, end)}


@pytest.mark.parametrize("at", [0, 87])
def test_the_words_at_the_worst_note_stay_inside_the_plot(at):
    off = TABLE.net_deg.copy()
    off[at] += 5.0
    table = replace(TABLE, net_deg=off, worst_note=int(TABLE.note[at]))
    drawn = plots(table, plane(board(), sink=SINK), board().rules, "b")["bearing"]
    drawn.draw_without_rendering()
    axes = drawn.axes[0]
    (words,) = (each for each in axes.texts if each.get_text().endswith("from target"))
    assert words.get_text().startswith(TABLE.name[at])
    box, room = words.get_window_extent(), axes.get_window_extent()
    assert room.x0 <= box.x0 < box.x1 <= room.x1
