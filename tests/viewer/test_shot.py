"""Pictures read back. Kind of every expected number: invariant (the colour that the map gives)."""

import numpy as np
import pytest
from bellywork_viewer import gl
from bellywork_viewer import palette as colours
from bellywork_viewer.cameras import BOTTOM, LEFT, PRESETS, RIGHT, TOP, Camera, camera
from bellywork_viewer.draw import Drawn
from bellywork_viewer.scene import STRING_RADIUS_MM
from bellywork_viewer.shot import Pane, checked, picture, png, written
from bellywork_viewer.situation import Setting, Shown
from stages import stage

from bellywork.errors import OutputError

try:
    gl.made_ready()
except OutputError as error:  # a machine without any GL; the project's own checks install it
    pytest.skip(str(error), allow_module_level=True)

NOW = Pane(stage=stage(), setting=Setting())
AFTER = Pane(stage=stage(), setting=Setting(shown=Shown.PLANED))


def close_up(scene, place, half_mm=30.0):
    """A picture straight down on a place, and the colour in its middle."""
    import pyvista as pv

    plotter = pv.Plotter(off_screen=True, window_size=(121, 121))
    drawn = Drawn(plotter)
    drawn.show(scene)
    x, y, z = place
    drawn.look(Camera(place_mm=(x, y, z + 500.0), at_mm=(x, y, z), up=(0.0, 1.0, 0.0), half_height_mm=half_mm))
    plotter.render()
    image = plotter.screenshot(return_img=True)
    return plotter, drawn, image[60, 60]


def test_the_pixel_at_the_worst_notes_string_has_the_colour_of_its_value():
    situation = stage().desk.situation(Setting())
    k = situation.worst
    path = stage().string_paths_mm(situation)[k]
    place = path[0] * 0.6 + path[1] * 0.4 + [0.0, 0.0, STRING_RADIUS_MM]
    scene = stage().drawn(situation)
    plotter, drawn, seen = close_up(scene, place, half_mm=8.0)
    assert seen.tolist() == scene.palette.colours(situation.deviation_deg[k]).tolist()
    # after planing the same string is neutral: what changes is drawn anew
    drawn.show(stage().scene(Setting(shown=Shown.PLANED)))
    plotter.render()
    assert plotter.screenshot(return_img=True)[60, 60].tolist() == list(colours.NEUTRAL)
    plotter.close()


def test_the_pixel_between_the_pins_has_the_colour_of_the_note():
    situation = stage().desk.situation(Setting())
    scene = stage().drawn(situation, colour="plane")
    paths = stage().string_paths_mm(situation)
    k = 70
    place = (paths[k, 1] + paths[k, 2] + paths[k + 1, 1] + paths[k + 1, 2]) / 4.0
    beside = place * 0.75 + paths[k, 1:3].mean(axis=0) * 0.25  # between two strings, still of the first
    plotter, _, seen = close_up(scene, beside, half_mm=3.0)
    plotter.close()
    assert seen.tolist() == scene.palette.colours(situation.plane_mm[k]).tolist()


@pytest.mark.parametrize("preset", PRESETS)
def test_every_preset_shows_the_board(preset):
    image = picture([NOW], preset=preset, size=(320, 200))
    assert image.shape == (200, 320, 3)
    paper = (np.abs(image.astype(int) - colours.PAPER).max(axis=2) <= 1).mean()
    assert 0.1 < paper < 0.9


def test_the_same_board_gives_the_same_bytes():
    assert png(picture([NOW], size=(200, 140))) == png(picture([NOW], size=(200, 140)))


def test_side_by_side_one_colour_means_one_value():
    image = picture([NOW, AFTER], preset="top", size=(640, 300))
    left, right = np.split(image, 2, axis=1)
    neutral = [(np.abs(half.astype(int) - colours.NEUTRAL).max(axis=2) <= 2).sum() for half in (left, right)]
    assert neutral[1] > neutral[0] + 100


def test_a_picture_is_written_whole_and_never_over_a_file_of_the_users(tmp_path):
    image = picture([NOW], size=(64, 64))
    path = tmp_path / "v.png"
    written(image, path)
    written(image, path)  # its own result may be replaced
    assert path.read_bytes() == png(image)
    photo = tmp_path / "photo.png"
    photo.write_bytes(b"\x89PNG of the user's")
    with pytest.raises(OutputError, match="is there already and is no result of bellywork; give another name"):
        written(image, photo)
    assert photo.read_bytes() == b"\x89PNG of the user's"


@pytest.mark.parametrize("preset", ["top", "underside"])
@pytest.mark.parametrize(("size", "aspect"), [((1390.0, 930.0), 1.78), ((1400.0, 1600.0), 1.6), ((3000.0, 500.0), 1.0)])
def test_from_above_and_below_the_board_stands_free_of_title_and_scale(preset, size, aspect):
    """By projection: what is to be seen fills the free part of the picture in one direction and stays in it in both."""
    bounds = np.array([[0.0, 0.0, 0.0], [*size, 100.0]])
    line, plan = stage().line, stage().plan
    seen = camera(preset, bounds_mm=bounds, labels_mm=np.zeros((0, 3)), line=line, plan=plan, aspect=aspect)
    side = 1.0 if preset == "top" else -1.0  # x runs to the left from below
    across = side * (bounds[:, 0] - seen.at_mm[0]) / (2.0 * seen.half_height_mm * aspect) + 0.5
    up = (bounds[:, 1] - seen.at_mm[1]) / (2.0 * seen.half_height_mm) + 0.5
    gaps = [across.min() - LEFT, 1.0 - RIGHT - across.max(), up.min() - BOTTOM, 1.0 - TOP - up.max()]
    assert min(gaps) == pytest.approx(0.0, abs=1e-9)
    assert gaps[0] == pytest.approx(gaps[1], abs=1e-9)
    assert gaps[2] == pytest.approx(gaps[3], abs=1e-9)


def test_an_unknown_camera_is_named():
    with pytest.raises(
        OutputError, match=r"^Found the camera 'attic', expected one of top, keyboard, bridge, underside\.$"
    ):
        picture([NOW], preset="attic")


def test_a_picture_of_one_colour_is_refused():
    image = np.full((50, 80, 3), 7, np.uint8)
    with pytest.raises(
        OutputError,
        match=r"^Found a picture of 80x50 in one single colour, expected a board; give a smaller --size\.$",
    ):
        checked(image)
    image[20, 30] += 1
    assert checked(image) is image


def test_a_picture_larger_than_can_be_drawn_is_refused_before_it_is_begun():
    with pytest.raises(
        OutputError,
        match=r"^Found a picture of 8000x5000, expected no more than 24 million pixels, such as 6000x4000; give a "
        r"smaller --size\.$",
    ):
        picture([NOW], size=(8000, 5000))
