"""Keys, sliders and clicks on a plotter that only collects its calls."""

from unittest.mock import MagicMock

import numpy as np
import pytest
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.shot import Pane
from bellywork_viewer.situation import Setting, Shown
from bellywork_viewer.window import Window
from bellywork_viewer.window_keys import KEYS, help_text
from bellywork_viewer.window_sliders import SLIDERS, Row
from stages import stage

from bellywork.measures import Units


def opened(*settings):
    plotter = MagicMock()
    window = Window(plotter, [Pane(stage=stage(), setting=setting) for setting in settings or (Setting(),)])
    keys = {call.args[0]: call.args[1] for call in plotter.add_key_event.call_args_list}
    sliders = {row.slider.what: row.let_go for row in window.rows}
    return window, plotter, keys, sliders


def words(plotter, name):
    said = [call.args[0] for call in plotter.add_text.call_args_list if call.kwargs.get("name") == f"words {name}"]
    return said[-1] if said else ""


def test_every_key_of_the_table_is_bound_and_told():
    window, plotter, keys, _ = opened()
    assert list(keys) == [key.key for key in KEYS]
    assert len(set(keys)) == len(KEYS)
    for key in KEYS:
        assert callable(getattr(window, key.method))
        assert f"{key.shown}  {key.words}" in help_text()
    assert words(plotter, "help") == "x  the keys"
    keys["x"]()
    assert words(plotter, "note") == help_text()
    assert words(plotter, "help") == "x  the keys"


def test_colour_keys_name_every_quantity():
    assert {key.value for key in KEYS if key.method == "colour_by"} == set(COLOURS)
    for key in KEYS:
        if key.method == "colour_by":
            assert COLOURS[key.value].quantity.label in key.words


@pytest.mark.parametrize(("key", "shown"), [("F1", Shown.BARE), ("F2", Shown.PRELOADED), ("F4", Shown.PLANED)])
def test_a_state_key_redraws_with_that_state(key, shown):
    window, plotter, keys, _ = opened()
    plotter.render.reset_mock()
    keys[key]()
    assert window.setting.shown is shown
    strings = window.drawn[0].meshes["strings"]
    wanted = stage().scene(Setting(shown=shown)).surfaces["strings"]
    np.testing.assert_array_equal(strings.point_data["rgb"], wanted.rgb)
    np.testing.assert_allclose(strings.points, wanted.vertices_mm, atol=1e-3)
    plotter.render.assert_called_once()  # or the picture stays the old one


def test_the_plate_slider_moves_plate_and_strings_in_steps():
    window, _, _, sliders = opened()
    sliders["plate_up_mm"](0.512)
    assert window.setting.plate_up_mm == pytest.approx(0.5)
    shown = window.rows[-1].widget.GetRepresentation()
    assert shown.SetTitleText.call_args.args == ("plate up  +0.50 mm",)
    before = window.situation
    sliders["plate_up_mm"](0.508)  # within the step: nothing to do
    assert window.situation is before
    assert window.situation.net_deg.mean() < stage().desk.situation(Setting()).net_deg.mean()


def test_target_and_tilt_sliders_and_the_way_back():
    window, _, keys, sliders = opened()
    sliders["target_shift_deg"](0.31)
    sliders["tilt_y_mm_per_m"](-0.3)
    assert window.setting.target_shift_deg == pytest.approx(0.3)
    assert window.setting.tilt_y_mm_per_m == pytest.approx(-0.3)
    keys["BackSpace"]()
    assert window.setting == Setting()


def test_the_humidity_slider_starts_at_the_boards_own_and_comes_back_to_it():
    window, _, _, sliders = opened()
    row = window.rows[1]
    assert row.slider.what == "rh_percent"
    assert row.at == row.home == stage().desk.ready.rh_percent == 42.0
    row.dragged(53.0)
    assert window.setting.rh_percent is None  # a new humidity is dear: it counts when the slider is let go
    sliders["rh_percent"](53.0)
    assert window.setting.rh_percent == 52.0
    assert "52 % RH" in window.scenes[0].title[1]
    sliders["rh_percent"](43.0)
    assert window.setting.rh_percent is None


def test_a_drag_leaves_out_what_the_picture_cannot_follow_and_ends_where_it_ends():
    now, taken, plotter = [0.0], [], MagicMock()

    def changed(value):
        taken.append(round(value, 6))
        now[0] += 1.0  # a picture takes a second

    row = Row(plotter, SLIDERS[-1], 0, home=0.0, at=0.0, units=Units(), changed=changed, clock=lambda: now[0])
    for k in range(1, 41):
        row.dragged(0.05 * k)
        now[0] += 0.01
    assert taken == [0.05]  # one second for the picture, then as long for the hand
    now[0] += 1.0
    row.dragged(2.05)
    row.widget.GetRepresentation().GetValue.return_value = 2.1
    row._held(False)
    assert taken == [0.05, 2.05, 2.1]
    assert row.widget.GetRepresentation().SetValue.call_args.args == (pytest.approx(2.1),)
    held = [call[0] for call in plotter.iren.interactor.method_calls]
    assert held[-1] == "EnableRenderOn"
    row._held(True)
    assert plotter.iren.interactor.method_calls[-1][0] == "EnableRenderOff"


def test_steps_are_round_in_the_users_unit_and_counted_from_home():
    inch = Units(length="in", force="lb")
    assert SLIDERS[-1].stepped(0.33, 0.0, inch) / 25.4 == pytest.approx(0.012)  # 0.002 in = 0.0508 mm
    assert SLIDERS[-1].title(0.508, inch) == "plate up  +0.020 in"
    assert SLIDERS[1].stepped(50.0, 43.0, Units()) == 48.0


def test_a_click_near_a_string_tells_the_note_and_no_other_click_does(monkeypatch):
    window, plotter, keys, _ = opened()
    monkeypatch.setattr(window.drawn[0], "on_screen_px", lambda points: points[..., :2])
    place = (0.6 * stage().plan.front_mm[39] + 0.4 * stage().plan.front_pin_mm[39]).tolist()

    def click(start, end):
        window.pressed(start)
        window.released(end)

    click(place, (place[0] + 30.0, place[1]))  # a drag turns the board
    click((place[0], place[1] - 4000.0), (place[0], place[1] - 4000.0))  # blank paper
    assert window.picked == -1
    click(place, (place[0] + 2.0, place[1]))
    assert window.picked == 39
    assert "picked 0" in window.drawn[0].meshes
    assert words(plotter, "note").startswith("Note 40, C4, tenor, strung\nfront ")
    keys["Right"]()
    assert words(plotter, "note").startswith("Note 41, ")
    keys["g"]()
    assert window.picked == window.situation.worst


def test_one_scale_of_colours_as_long_as_the_window_is_open():
    window, _, keys, sliders = opened()
    start = window.scenes[0].palette
    for key in ("F1", "F2", "F4"):
        keys[key]()
        assert window.scenes[0].palette == start
    sliders["plate_up_mm"](2.0)
    assert window.scenes[0].palette == start
    keys["h"]()
    assert window.scenes[0].palette != start
    keys["d"]()
    assert window.scenes[0].palette == start


def test_from_below_the_panel_is_coloured_and_heights_bring_the_camera_back(monkeypatch):
    window, _, keys, _ = opened()
    keys["F8"]()
    assert window.colour == "crown"
    keys["i"]()
    keys["F8"]()
    assert window.colour == "sink"  # a colour of the panel stays
    looked = MagicMock()
    monkeypatch.setattr(window.drawn[0], "look_from", looked)
    keys["m"]()
    assert looked.call_args.args[0] == "underside"
    assert window.scenes[0].title[1].endswith("heights drawn 5 times")


def test_no_key_is_left_to_the_toolkit():
    _, plotter, _, _ = opened()
    plotter.iren.clear_key_event_callbacks.assert_called_once()
    event, swallow, priority = plotter.iren.interactor.AddObserver.call_args.args
    assert event == "CharEvent"
    assert priority > 1.0  # before the toolkit's own widgets and styles
    swallow()
    plotter.iren.interactor.GetCommand.return_value.SetAbortFlag.assert_called_once_with(1)


def test_a_colour_that_is_not_known_is_said_and_the_colour_stays():
    window, plotter, keys, _ = opened()
    keys["b"]()
    assert words(plotter, "note").startswith("The band of the net bearing is not known here")
    assert window.colour == "deviation"
    keys["F4"]()
    assert window.setting.shown is Shown.PLANED
    assert "not known" not in words(plotter, "note")


def test_what_cannot_be_is_said_and_changes_nothing(monkeypatch):
    from bellywork.errors import SolveError

    window, plotter, keys, _ = opened()
    monkeypatch.setattr(type(stage().desk), "situation", MagicMock(side_effect=SolveError("No balance was found.")))
    keys["F1"]()
    assert window.setting.shown is Shown.STRUNG
    assert words(plotter, "note").startswith("No balance was found.")


def test_two_panes_share_their_camera_and_their_colours():
    window, plotter, keys, _ = opened(Setting(), Setting(shown=Shown.PLANED))
    plotter.link_views.assert_called_once()
    assert window.scenes[0].palette == window.scenes[1].palette
    keys["h"]()
    assert [scene.coloured.quantity.label for scene in window.scenes] == ["to plane"] * 2
    assert window.panes[1].setting.shown is Shown.PLANED


def test_marks_come_and_go():
    window, plotter, _, sliders = opened()
    assert "mark short" not in window.drawn[0].meshes
    sliders["plate_up_mm"](3.0)
    assert "mark short" in window.drawn[0].meshes
    sliders["plate_up_mm"](0.0)
    assert "mark short" not in window.drawn[0].meshes
    assert any(call.args == ("mark short",) for call in plotter.remove_actor.call_args_list)
