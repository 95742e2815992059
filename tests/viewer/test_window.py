"""Keys, sliders and clicks on a plotter that only collects its calls."""

from unittest.mock import MagicMock

import numpy as np
import pytest
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.shot import Pane
from bellywork_viewer.situation import Setting, Shown
from bellywork_viewer.window import SLIDERS, Window
from bellywork_viewer.window_keys import KEYS, help_text
from stages import stage


def opened(*settings):
    plotter = MagicMock()
    window = Window(plotter, [Pane(stage=stage(), setting=setting) for setting in settings or (Setting(),)])
    keys = {call.args[0]: call.args[1] for call in plotter.add_key_event.call_args_list}
    sliders = dict(
        zip((each.what for each in SLIDERS), (call.args[0] for call in plotter.add_slider_widget.call_args_list))
    )
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
    assert words(plotter, "help") == help_text()


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
    before = window.situation
    sliders["plate_up_mm"](0.508)  # within the step: nothing to do
    assert window.situation is before
    assert window.situation.net_deg.mean() < stage().desk.situation(Setting()).net_deg.mean()


def test_target_and_tilt_sliders_and_the_way_back():
    window, _, keys, sliders = opened()
    sliders["net_deg"](2.0)
    sliders["tilt_y_mm_per_m"](-0.3)
    assert window.setting.net_deg == pytest.approx(2.0)
    assert window.setting.tilt_y_mm_per_m == pytest.approx(-0.3)
    keys["BackSpace"]()
    assert window.setting == Setting()


def test_the_humidity_slider_answers_when_it_is_let_go():
    window, plotter, _, sliders = opened()
    when = {call.kwargs["title"]: call.kwargs["interaction_event"] for call in plotter.add_slider_widget.call_args_list}
    assert when["humidity, % RH"] == "end"
    sliders["rh_percent"](53.0)
    assert window.setting.rh_percent == 55.0
    assert "55 % RH" in window.scenes[0].title[1]


def test_a_click_tells_the_note():
    window, plotter, keys, _ = opened()
    click = plotter.track_click_position.call_args.args[0]
    click(None)
    assert window.picked == -1
    place = stage().plan.front_mm[39] * 0.5 + stage().plan.front_pin_mm[39] * 0.5
    click([*place, 0.0])
    assert window.picked == 39
    assert words(plotter, "note").startswith("Note 40, C4, tenor, strung\nfront ")
    keys["Right"]()
    assert words(plotter, "note").startswith("Note 41, ")
    keys["g"]()
    assert window.picked == window.situation.worst


def test_what_cannot_be_is_said_and_changes_nothing(monkeypatch):
    from bellywork.errors import SolveError

    window, plotter, keys, _ = opened()
    monkeypatch.setattr(stage().desk, "situation", MagicMock(side_effect=SolveError("No balance was found.")))
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
