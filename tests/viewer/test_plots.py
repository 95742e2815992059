"""Plots: what is drawn is what was computed."""

import matplotlib.pyplot as plt
import numpy as np
import pytest
from bellywork_viewer.figure import figure, saved
from bellywork_viewer.plots import plots, string_line, written
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


def test_bridge_profiles_now_and_after_the_cut_are_as_far_apart_as_is_to_cut():
    schedule = plane(board(), sink=SINK)
    axes = next(each for each in FIGURES["bridge"].axes if "long" in each.get_title())
    by_label = {line.get_label(): line for line in axes.get_lines()}
    now, then = (by_label[f"front pins, {word}"] for word in ("now", "cut"))
    here = [name == "long" for name in schedule.now.line.bridge]
    np.testing.assert_allclose(now.get_ydata() - then.get_ydata(), schedule.faired_front_mm[here], atol=1e-9)


def test_plots_speak_the_users_units():
    """1 lb = 4.4482216 N, 1 in = 25.4 mm."""
    inch = plots(TABLE, plane(board(), sink=SINK), board().rules, board().name, Units(length="in", force="lb"))
    bars = [bar.get_height() for bar in inch["downforce"].axes[0].patches]
    np.testing.assert_allclose(bars, TABLE.downforce_N / 4.4482216152605)
    assert inch["downforce"].axes[0].get_ylabel() == "downforce, lb"
    metric, tops = (figures["bridge"].axes[0].get_lines()[0].get_ydata() for figures in (FIGURES, inch))
    np.testing.assert_allclose(tops, np.array(metric) / 25.4)
    assert inch["bridge"].axes[0].get_ylabel().startswith("in over the line")


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
