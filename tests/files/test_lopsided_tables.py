"""The lopsided sample as it is read. Kind of every expected number: worked out by hand from its typed tables."""

import csv
from dataclasses import replace
from pathlib import Path
from shutil import copytree

import numpy as np

from bellywork.files.read import read_board
from bellywork.files.scheme_files import read_scheme
from bellywork.review.board_review import reviewed

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
LOPSIDED, GRAND = SAMPLES / "lopsided_board", SAMPLES / "seven_foot_grand"


def test_each_end_of_a_rib_keeps_its_own_height_and_feather() -> None:
    """Rib a: 5 mm left over a feather of 60 mm at its start (300, 0), 9 mm over 180 mm at its end (0, 400)."""
    rib = read_board(LOPSIDED).board.needed_body("test").ribs[0]
    assert (rib.start_mm.tolist(), rib.end_mm.tolist()) == ([300.0, 0.0], [0.0, 400.0])
    assert (rib.end_height_mm, rib.feather_mm) == ((5.0, 9.0), (60.0, 180.0))
    # 30 mm from either end: 5 + 13 · 30/60 = 11.5 and 9 + 9 · 30/180 = 10.5 mm; 18 mm between the feathers
    heights = rib.height_at(np.array([0.0, 30.0, 60.0, 320.0, 470.0, 500.0]))
    np.testing.assert_allclose(heights, [5.0, 11.5, 18.0, 18.0, 10.5, 9.0])
    assert rib.knees_mm == (60.0, 320.0)


def test_a_clockwise_outline_keeps_each_support_on_its_own_side() -> None:
    """The last row typed, (960, 0), says hinged: it runs from there to the first corner (0, 0), the belly rail."""
    outline = read_board(LOPSIDED).board.needed_body("test").outline
    corners = [tuple(point) for point in outline.points_mm.tolist()]
    sides = {frozenset(pair): held.name for *pair, held in zip(corners, corners[1:] + corners[:1], outline.support)}
    assert {tuple(sorted(side)) for side, name in sides.items() if name == "hinged"} == {((0.0, 0.0), (960.0, 0.0))}
    assert set(sides.values()) == {"hinged", "glued"}
    assert outline.polygon.area == 614400.0 - 9600.0 - 27200.0  # the rectangle, less a cut corner and the bay


def test_every_side_of_a_clockwise_outline_can_be_held_in_its_own_way(tmp_path: Path) -> None:
    """Four kinds on four sides, typed clockwise from (0, 0): left, top, right, bottom."""
    (tmp_path / "board.toml").write_text(
        'format = "bellywork-board/1"\nname = "t"\n[panel]\nwood = "sitka_spruce"\ngrain_deg = 33\nthickness_mm = 8\n'
    )
    rows = ("0,0,glued", "0,300,free", "500,300,clamped", "500,0,hinged")
    (tmp_path / "outline.csv").write_text("\n".join(("x_mm,y_mm,support", *rows)))
    outline = read_board(tmp_path).board.needed_body("test").outline
    middles = (outline.points_mm + np.roll(outline.points_mm, -1, axis=0)) / 2.0
    held = {tuple(middle): support.name for middle, support in zip(middles.tolist(), outline.support)}
    assert held == {(0, 150): "glued", (250, 300): "free", (500, 150): "clamped", (250, 0): "hinged"}


def test_bounds_of_a_search_come_in_mm_whatever_their_unit(tmp_path: Path) -> None:
    """12 m to 20 m are 12 000 to 20 000 mm; a height in mm stays as it is."""
    text = (GRAND / "schemes" / "search.toml").read_text(encoding="utf-8")
    head = text[: text.index("[search.bounds]")]
    bounds = "[search.bounds]\ntreble_radius_m = [12, 20]\nbass_radius_m = [10, 11]\ntreble_height_mm = [18, 30]\n"
    (tmp_path / "s.toml").write_text(head + bounds, encoding="utf-8")
    wish = read_scheme(tmp_path / "s.toml", GRAND).wish
    assert wish is not None
    assert wish.bounds == {
        "treble_radius_mm": (12000.0, 20000.0),
        "bass_radius_mm": (10000.0, 11000.0),
        "treble_height_mm": (18.0, 30.0),
    }


def test_pins_and_tops_a_few_millimetres_off_their_bridge_are_named() -> None:
    """By hand: at 52 the pin rows lie 14 mm apart and 4.2 mm either side of the bridge's centre line, its half width is
    15 mm. Moved 15 mm square to it, pins stand 4.2 mm beside the bridge, more than 3; moved 12 mm, 1.2. Bridge tops 5
    mm too high are more than 3 mm off what the parts add up to."""
    board = read_board(LOPSIDED).board
    plan, line = board.needed_plan("test"), board.needed_strings("test")
    for far, codes in ((15.0, {"pins-off-bridge"}), (12.0, set())):
        move = far * np.array([-0.6, 0.8])
        moved = {name: getattr(plan, name) + move for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm")}
        assert {each.code for each in reviewed(replace(board, plan=replace(plan, **moved)))} == codes
    heights = ("front_height_mm", "bridge_front_mm", "bridge_rear_mm", "rear_height_mm")
    higher = replace(line, **{name: getattr(line, name) + 5.0 for name in heights})
    assert {each.code for each in reviewed(replace(board, strings=higher))} == {"bridge-height-disagrees"}


def test_a_place_may_be_named_by_a_note_between_those_measured(tmp_path: Path) -> None:
    """`press --where` advises such notes. By hand: note 65 lies a share of (65 − below)/(above − below) of the way
    between the pins of its neighbours in string_plan.csv.
    """
    folder = Path(copytree(SAMPLES / "lopsided_board", tmp_path / "board"))
    with (folder / "string_plan.csv").open(encoding="utf-8") as file:
        plan = {int(row["note"]): row for row in csv.DictReader(file)}
    below, above = max(note for note in plan if note < 65), min(note for note in plan if note > 65)
    share = (65 - below) / (above - below)
    middles = [
        np.mean([[float(plan[note][f"{pin}_{axis}_mm"]) for axis in "xy"] for pin in ("front_pin", "rear_pin")], axis=0)
        for note in (below, above)
    ]
    assert 65 not in plan
    (folder / "trials.csv").write_text("trial,at,force_N,read,sink_mm\n1,65,250,C♯6,0.4\n", encoding="utf-8")
    (folder / "preload.csv").write_text("note,force_N\n65,120\n", encoding="utf-8")
    board = read_board(folder).board
    for place in (board.trials[0].places_mm[0], board.trials[0].read_mm[0], board.preload[0].place_mm):
        np.testing.assert_allclose(place, (1.0 - share) * middles[0] + share * middles[1], atol=1e-9)
