"""The scene's arrays against the core's numbers. Kind of every expected number: invariant (the same, to the bit)."""

import json
from dataclasses import replace

import numpy as np
import pytest
from bellywork_viewer.coloured import COLOURS
from bellywork_viewer.palette import NEUTRAL, RIB, SPRUCE
from bellywork_viewer.relief import contour_step_mm, contours, rib_colours
from bellywork_viewer.scene import STRING_RADIUS_MM, Stage
from bellywork_viewer.situation import Desk, Setting, Shown
from bellywork_viewer.words import worst_notes
from stages import SAMPLES, board, stage

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.board.state import State
from bellywork.cli.main import main
from bellywork.conventions import note_name
from bellywork.errors import MissingLayer
from bellywork.instrument import prepared
from bellywork.measures import Units
from bellywork.mechanics.masses import masses

STRUNG, PLANED, BARE = Setting(), Setting(shown=Shown.PLANED), Setting(shown=Shown.BARE)
NOTES = stage().line.note


def per_note(scene, name="strings"):
    surface = scene.surfaces[name]
    return {note: surface.value[surface.note == note] for note in NOTES.tolist()}


def test_a_strings_value_is_the_deviation_that_the_command_prints(capsys):
    main(["bearing", str(SAMPLES / "seven_foot_grand"), "--state", "strung", "--json"])
    printed = {row["note"]: row["deviation_deg"] for row in json.loads(capsys.readouterr().out)["notes"]}
    drawn = per_note(stage().scene(STRUNG))
    assert {note: set(values) for note, values in drawn.items()} == {note: {value} for note, value in printed.items()}


def test_height_to_plane_and_the_planed_board_are_those_of_the_schedule():
    schedule, now = plane(board()), stage().desk.situation(STRUNG)
    situation = stage().desk.situation(PLANED)
    np.testing.assert_array_equal(now.plane_front_mm, schedule.plane_front_mm)
    np.testing.assert_array_equal(now.plane_rear_mm, schedule.plane_rear_mm)
    assert not np.any(situation.plane_mm)  # nothing is left to plane, and nothing was short
    np.testing.assert_array_equal(situation.deviation_deg, schedule.planed.deviation_deg)
    # the depth to cut is a fair line within the tolerance of the exact depth that the viewer works with
    assert np.all(np.abs(situation.cap_left_mm - schedule.cap_left_mm) <= board().rules.fair_tolerance_mm + 1e-9)


def test_forces_and_sink_are_those_of_the_table():
    table, situation = bearing(board(), state=State.STRUNG), stage().desk.situation(STRUNG)
    np.testing.assert_allclose(situation.force_N, table.downforce_N, rtol=1e-12)
    np.testing.assert_allclose(situation.sink_mm, table.sink_mm, atol=1e-12)
    np.testing.assert_array_equal(situation.string_deflection_mm, table.string_deflection_mm)


def test_the_panel_sinks_under_the_pins_as_the_bridge_does():
    desk = Desk(ready=prepared(board()), panel_mm=stage().plan.front_pin_mm)
    for setting in (STRUNG, Setting(shown=Shown.PRELOADED), PLANED):
        situation = desk.situation(setting)
        np.testing.assert_allclose(situation.panel_sink_mm, situation.sink_front_mm, rtol=1e-7)


def test_every_string_is_its_broken_line_over_the_pins():
    situation = stage().desk.situation(STRUNG)
    paths, line, plan = stage().string_paths_mm(situation), situation.line, stage().plan
    np.testing.assert_array_equal(paths[:, 0, :2], plan.front_mm)
    np.testing.assert_array_equal(paths[:, 2, :2], plan.rear_pin_mm)
    np.testing.assert_array_equal(paths[:, 1, 2], line.bridge_front_mm)
    strings = stage().scene(STRUNG).surfaces["strings"]
    middle = strings.vertices_mm.reshape(len(NOTES), 4, -1, 3).mean(axis=2)
    np.testing.assert_allclose(middle, paths, atol=1e-9)
    off = strings.vertices_mm.reshape(len(NOTES), 4, -1, 3) - paths[:, :, None]
    np.testing.assert_allclose(np.linalg.norm(off, axis=-1), STRING_RADIUS_MM, rtol=1e-9)


def test_bands_carry_the_same_numbers_and_touch_at_the_notes():
    scene = stage().scene(STRUNG)
    strings, long = per_note(scene), scene.surfaces["band long"]
    for note in np.unique(long.note).tolist():
        assert set(long.value[long.note == note]) == set(strings[note])
    quads = long.vertices_mm.reshape(-1, 4, 3)
    np.testing.assert_array_equal(quads[:-1, [3, 2]], quads[1:, [0, 1]])


def test_what_is_drawn_of_wood_is_closed_and_weighs_what_its_sections_say():
    solids, weighed = stage().solids, masses(stage().board.body)
    assert all(solid.mesh().is_watertight for solid in solids.all)
    assert solids.mass_kg == pytest.approx(weighed.total_kg, rel=5e-4)  # the panel's taper on a coarser plan
    for solid in solids.ribs:
        drawn = stage().scene(STRUNG).surfaces[f"rib {solid.name}"]
        np.testing.assert_array_equal(drawn.faces, solid.faces)


def test_crown_and_thickness_are_true_and_heights_are_said_when_they_are_not():
    bare, tall = stage().scene(BARE, colour="crown"), stage().scene(BARE, colour="crown", heights=5.0)
    solid = stage().solids.panel
    np.testing.assert_allclose(bare.surfaces["panel"].vertices_mm, solid.vertices_mm)
    n = len(solid.plan.points_mm)
    np.testing.assert_array_equal(bare.surfaces["panel"].value[:n], solid.vertices_mm[:n, 2])
    np.testing.assert_allclose(tall.surfaces["panel"].vertices_mm[:, 2], 5.0 * solid.vertices_mm[:, 2])
    assert "heights drawn 5 times" in tall.title[1]
    assert "heights" not in bare.title[1]


@pytest.mark.parametrize("colour", [name for name in COLOURS if name != "band"])  # of a learned board: test_band.py
def test_every_quantity_draws_with_words_and_unit(colour):
    scene = stage().scene(STRUNG, colour=colour)
    where = "panel" if scene.coloured.on_panel else "strings"
    assert np.isfinite(scene.surfaces[where].value).all()
    heading = scene.coloured.heading(scene.units)
    assert heading.split(", ") == [scene.coloured.quantity.label, scene.coloured.quantity.unit()]
    assert scene.surfaces[where].rgb.shape == (len(scene.surfaces[where].vertices_mm), 3)
    np.testing.assert_array_equal(scene.surfaces[where].rgb, scene.palette.colours(scene.surfaces[where].value))


def test_worst_notes_and_octaves_are_labelled():
    scene = stage().scene(STRUNG)
    octaves = [label.text for label in scene.labels if label.kind == "octave"]
    assert octaves == [f"C{k}" for k in range(1, 9)]
    worst = [label.text for label in scene.labels if label.kind == "worst"]
    situation = stage().desk.situation(STRUNG)
    assert worst[0].startswith(f"C8  {situation.deviation_deg[situation.worst]:+.2f}°")
    assert scene.title[2] == f"farthest from target: note 88 (C8), {situation.deviation_deg[87]:+.2f}°"
    planed = stage().scene(PLANED)
    assert not [label for label in planed.labels if label.kind == "worst"]
    assert planed.title[2] == "every note within 0.1° of its target"


def test_labelled_notes_stand_apart():
    places = np.column_stack([np.arange(0.0, 1000.0, 100.0), np.zeros(10), np.zeros(10)])
    assert worst_notes(np.array([0, 1, 2, 3, 9, 8, 7, 0, np.nan, 5.0]), places) == [4, 9, 1]
    assert worst_notes(np.zeros(10), places) == []


def test_short_wood_and_lifted_strings_have_shapes_of_their_own():
    high = Setting(plate_up_mm=4.0)
    scene, situation = stage().scene(high), stage().desk.situation(high)
    assert situation.short.any()
    assert situation.lifted.any()
    for kind, at, corners in (("short", situation.short, 4), ("lifted", situation.lifted, 6)):
        assert len(scene.surfaces[f"mark {kind}"].vertices_mm) == corners * at.sum()
    short, lifted = int(situation.short.sum()), int(situation.lifted.sum())
    assert scene.marked[:2] == (
        f"cone: wood is short, {short} notes",
        f"diamond: no bearing, the strings lift, {lifted} notes",
    )
    # where a note has both, one stands clear over the other
    tops = [scene.surfaces[f"mark {kind}"].vertices_mm for kind in ("short", "lifted")]
    both = np.flatnonzero(situation.short & situation.lifted)[0]
    cone = tops[0].reshape(-1, 4, 3)[np.flatnonzero(situation.short).tolist().index(both)]
    diamond = tops[1].reshape(-1, 6, 3)[np.flatnonzero(situation.lifted).tolist().index(both)]
    assert diamond[:, 2].min() > cone[:, 2].max()
    assert not stage().scene(PLANED).marked


def test_raising_the_plate_raises_its_terminations_and_struts_and_sinks_the_bearing():
    up = replace(STRUNG, plate_up_mm=0.5, tilt_x_mm_per_m=0.4)
    before, after = stage().desk.situation(STRUNG), stage().desk.situation(up)
    lift = 0.5 + 0.4e-3 * stage().plan.front_mm[:, 0]
    np.testing.assert_allclose(after.line.front_height_mm - before.line.front_height_mm, lift)
    assert (after.net_deg < before.net_deg).all()
    struts = [stage().scene(each).surfaces["strut 1"].vertices_mm[0, 2] for each in (STRUNG, up)]
    assert struts[1] > struts[0] + 0.5


def test_a_shift_of_the_targets_moves_each_of_them_and_the_depths_with_it():
    before, after = stage().desk.situation(STRUNG), stage().desk.situation(replace(STRUNG, target_shift_deg=0.2))
    np.testing.assert_array_equal(after.net_deg, before.net_deg)
    np.testing.assert_allclose(after.target_deg, before.target_deg + 0.2)
    assert np.ptp(before.target_deg) > 0.3  # sections keep what sets them apart
    assert (after.plane_mm < before.plane_mm).all()  # more bearing wanted: less to plane
    planed = stage().desk.situation(replace(PLANED, target_shift_deg=-0.2))
    np.testing.assert_allclose(planed.net_deg, before.target_deg - 0.2, atol=1e-6)


def test_wood_is_marked_short_only_where_it_is_worth_more_than_the_tolerance():
    marked = 0
    for up in np.linspace(0.5, 3.0, 6):
        situation = stage().desk.situation(Setting(plate_up_mm=up))
        lacking = -np.minimum(situation.plane_front_mm, situation.plane_rear_mm)
        assert not situation.short[lacking < 0.02].any()  # mm: no note here loses 5 degrees for a millimetre
        assert situation.short[lacking > 0.5].all()  # mm: none loses less than 0.2 degrees
        marked += situation.short.sum()
    assert marked > 20


def test_a_sections_sum_carries_the_sections_name():
    situation, scene = stage().desk.situation(STRUNG), stage().scene(STRUNG, colour="force")
    sums = {name: situation.force_N[here].sum() for name, here in situation.line.sections.items()}
    labels = [label.text for label in scene.labels if label.kind == "worst"]
    assert labels == [f"{name}  {total:.1f} N" for name, total in sums.items()]


def test_the_picked_string_stands_between_two_dark_lines_and_has_its_name():
    situation = stage().desk.situation(STRUNG)
    scene, path = stage().drawn(situation, picked=39), stage().string_paths_mm(situation)[39]
    sides = [scene.surfaces[f"picked {k}"].vertices_mm for k in (0, 1)]
    way = (path[3] - path[0])[:2]
    cross = [way[0] * (side[:, 1] - path[0, 1]) - way[1] * (side[:, 0] - path[0, 0]) for side in sides]
    away = [each / np.hypot(*way) for each in cross]
    aside = path[1] - path[0]
    kinked = abs(way[0] * aside[1] - way[1] * aside[0]) / np.hypot(*way)  # how far pins stand off the straight line
    assert away[0].max() < kinked
    assert away[1].min() > -kinked
    assert min(-away[0].mean(), away[1].mean()) > STRING_RADIUS_MM
    words = [label.text for label in scene.labels if label.kind == "picked"]
    assert words == [f"C4  {situation.deviation_deg[39]:+.2f}°"]
    farthest = f"C8  {situation.deviation_deg[87]:+.2f}°"
    for at, kind in ((39, "worst"), (87, "picked")):  # a note that is picked and among the worst is named once
        labels = stage().drawn(situation, picked=at).labels
        assert [label.kind for label in labels if label.text == farthest] == [kind]
    assert not [label for label in stage().drawn(situation).labels if label.kind == "picked"]


def test_contour_lines_lie_at_whole_steps_of_height_on_both_faces():
    panel = stage().solids.panel
    n = len(panel.plan.points_mm)
    heights = panel.plan.points_mm @ [0.004, -0.002] + 1.3  # a tilted plane: its contours are straight lines
    step = contour_step_mm(heights, Units())
    lines = contours(panel, panel.vertices_mm, heights, step)
    quads = lines.vertices_mm.reshape(-1, 4, 3)
    middle = (quads[:, :2, :2] + quads[:, 3:1:-1, :2]) / 2.0  # the two ends of each piece
    at = middle @ [0.004, -0.002] + 1.3
    np.testing.assert_allclose(at / step, np.round(at / step), atol=1e-9)
    assert 4 <= len(np.unique(np.round(at / step))) <= 10
    below, above = np.split(lines.vertices_mm[:, 2], 2)
    assert below.max() < panel.vertices_mm[n:, 2].max()
    assert (above > below).all()
    assert contours(panel, panel.vertices_mm, np.zeros(n), 1.0) is None
    inch = contour_step_mm(heights, Units(length="in")) / 25.4
    assert f"{inch:.6g}" in ("0.02", "0.025", "0.03", "0.04")  # round in the user's unit


def test_a_rib_is_palest_where_it_is_feathered():
    rib = stage().solids.ribs[7]
    n = len(rib.plan.points_mm)
    height = rib.vertices_mm[n:, 2] - rib.vertices_mm[:n, 2]
    shown = rib_colours(rib)[:n].astype(int)
    assert height.min() < 0.5 * height.max()
    assert shown[np.argmax(height)].tolist() == list(RIB)
    order = np.argsort(height)
    assert (np.diff(shown[order].sum(axis=1)) <= 0).all()
    assert (shown[order[0]] - RIB).sum() > 0.4 * (np.array(SPRUCE) - RIB).sum()


def test_neutral_strings_stand_out_from_the_panel():
    """Contrast as WCAG 2.1 defines it: (L1 + 0.05) / (L2 + 0.05) of relative luminances."""

    def luminance(rgb):
        share = np.array(rgb) / 255.0
        linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
        return float(linear @ [0.2126, 0.7152, 0.0722])

    assert luminance([255, 255, 255]) == pytest.approx(1.0)
    assert (luminance(SPRUCE) + 0.05) / (luminance(NEUTRAL) + 0.05) >= 1.9


def test_damp_lifts_the_panel_and_raises_the_bearing():
    here, damp = stage().desk.situation(STRUNG), stage().desk.situation(replace(STRUNG, rh_percent=55.0))
    assert damp.panel_rise_mm.max() > 0.5
    assert damp.net_deg.mean() > here.net_deg.mean()


def test_one_note_is_told_in_words():
    told = stage().desk.situation(STRUNG).told(87)
    assert told[0] == "Note 88, C8, top, strung"
    assert all(
        word in " ".join(told) for word in ("front", "rear", "net", "deflection", "downforce", "sink", "cap left")
    )


def test_without_a_body_the_layer_is_named():
    with pytest.raises(MissingLayer, match=r"^The three-dimensional view needs the strings' points in plan, in"):
        Stage(board("string_line_inches"))


def test_words_and_scale_are_in_the_users_units_and_colours_stay():
    """1 in = 25.4 mm exactly; the scale's ends are round in the user's unit, its neutral middle is the same."""
    inch = Units(length="in", force="lb")
    situation, first = stage().desk.situation(STRUNG), stage()
    metric = first.drawn(situation, colour="plane")
    first.units = inch
    try:
        scene = first.drawn(situation, colour="plane")
    finally:
        first.units = Units()
    assert scene.coloured.heading(scene.units) == "to plane, in"
    assert float(scene.coloured.scale(2.54, scene.units)) == 0.1
    assert scene.palette.high / 25.4 == pytest.approx(round(scene.palette.high / 25.4, 2))
    assert scene.palette.neutral == metric.palette.neutral
    same = first.drawn(situation, colour="plane", palette=metric.palette)
    np.testing.assert_array_equal(same.surfaces["strings"].rgb, metric.surfaces["strings"].rgb)
    depths = {label.text.split("  ")[0]: label.text.split("  ")[1] for label in scene.labels if label.kind == "worst"}
    for name, words in depths.items():
        note = next(k for k in range(88) if note_name(k + 1) == name)
        assert words == f"{situation.plane_mm[note] / 25.4:+.3f} in"
    assert f"sink {situation.sink_mm[39] / 25.4:.3f} in" in situation.told(39, inch)
