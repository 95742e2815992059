"""Ten invented ribbed boards, lopsided: uneven spacing, uneven feathers, bridges off the middle, slanted grain.

They were drawn, and divided into those for choosing a theory and those held back, before any of them had been
compared with the project's answer.
"""

from __future__ import annotations

from math import degrees

from shapes import BEECH, PINE, SOFT_SPRUCE, SPRUCE, Bar, Beam, Patch, TestBoard


def on(beam: Beam, name: str, along: float, long: float = 24.0) -> Patch:
    """A load on a bridge, over most of its breadth."""
    return Patch(name, *beam.at(along), long, 0.8 * beam.width, beam.turn)


def beside(*beams: Beam, alongs: tuple[float, ...], asides: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Read points along beams (shares of their length) and beside them (mm)."""
    return tuple(beam.at(share * beam.length, aside) for beam in beams for aside in asides for share in alongs)


ALONG = (0.0, 0.14, 0.29, 0.43, 0.57, 0.71, 0.86, 1.0)


def _grid(xs: tuple[float, ...], ys: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x in xs for y in ys)


def _flat() -> TestBoard:
    B = 340.0
    ribs = tuple(Bar(x, 24.0, h, (0.0, B)) for x, h in ((88.0, 21.0), (172.0, 23.0), (282.0, 22.0), (371.0, 19.0)))
    loads = (
        Patch("between ribs", 228.0, 150.0, 36.0, 36.0),
        Patch("on a rib", 172.0, 195.0, 24.0, 36.0),
        Patch("near a corner", 326.0, 260.0, 36.0, 36.0),
    )
    reads = _grid((130.0, 172.0, 228.0, 282.0, 330.0), (90.0, 150.0, 205.0, 262.0))
    return TestBoard("flat ribs", 470.0, B, (8.0, 8.0), ribs, (), loads, reads)


def _feathered() -> TestBoard:
    B = 360.0
    made = (
        (80.0, 22.0, 20.0, (6.0, 8.0), (70.0, 110.0)),
        (186.0, 24.0, 24.0, (6.0, 6.0), (110.0, 85.0)),
        (275.0, 24.0, 23.0, (9.0, 6.0), (60.0, 120.0)),
        (389.0, 20.0, 19.0, (7.0, 7.0), (95.0, 95.0)),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers) for x, w, h, ends, feathers in made)
    loads = (
        Patch("between ribs", 232.0, 190.0, 36.0, 36.0),
        Patch("on a rib", 186.0, 170.0, 24.0, 36.0),
        Patch("over feathers", 334.0, 76.0, 36.0, 36.0),
    )
    reads = _grid((132.0, 186.0, 232.0, 275.0, 330.0), (75.0, 140.0, 190.0, 265.0))
    return TestBoard("feathered ribs", 480.0, B, (7.5, 7.5), ribs, (), loads, reads, wood=SOFT_SPRUCE)


def _normal() -> TestBoard:
    B = 360.0
    made = (
        (84.0, 22.0, 21.0, (6.0, 8.0), (70.0, 105.0)),
        (192.0, 24.0, 24.0, (6.0, 6.0), (110.0, 80.0)),
        (281.0, 24.0, 22.0, (8.0, 6.0), (85.0, 100.0)),
        (392.0, 22.0, 20.0, (7.0, 7.0), (90.0, 75.0)),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers) for x, w, h, ends, feathers in made)
    beam = Beam((57.0, 208.0), (443.0, 208.0), 30.0, 22.0, 9.0)
    loads = (on(beam, "an end", 16.0), on(beam, "over a rib", 135.0), on(beam, "between ribs", 276.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 40.0, -45.0)) + _grid((140.0, 236.0, 336.0), (110.0,))
    name, strings = "bridge along the ribs' normal", (10, 18.0, 39.0, 18.0)
    return TestBoard(name, 500.0, B, (8.0, 8.0), ribs, (beam,), loads, reads, strings=strings)


def _oblique(
    name: str, length: float, breadth: float, made, beam: Beam, grain_deg: float, thickness: float, strings
) -> TestBoard:
    ribs = tuple(Bar(x, w, h, (0.0, breadth), ends, feathers) for x, w, h, ends, feathers in made)
    far = beam.length
    loads = (on(beam, "an end", 16.0), on(beam, "the middle", 0.52 * far), on(beam, "the other end", far - 14.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 42.0, -42.0))
    return TestBoard(
        name, length, breadth, (thickness,) * 2, ribs, (beam,), loads, reads, grain_deg=grain_deg, strings=strings
    )


def _two() -> TestBoard:
    B = 420.0
    made = (
        (78.0, 22.0, 21.0, (7.0, 6.0), (65.0, 60.0)),
        (178.0, 24.0, 23.0, (6.0, 6.0), (75.0, 55.0)),
        (294.0, 24.0, 23.0, (6.0, 9.0), (60.0, 70.0)),
        (386.0, 20.0, 20.0, (6.0, 6.0), (70.0, 65.0)),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers) for x, w, h, ends, feathers in made)
    first = Beam((50.0, 272.0), (428.0, 272.0), 30.0, 22.0, 8.0, cap_wood=BEECH)
    second = Beam((124.0, 140.0), (344.0, 140.0), 34.0, 28.0, 8.0, root_wood=BEECH)
    loads = (on(first, "the long one's end", 16.0), on(first, "the long one", 244.0), on(second, "the short one", 60.0))
    reads = beside(first, second, alongs=ALONG, asides=(0.0,)) + _grid((130.0, 234.0, 336.0), (208.0, 330.0))
    return TestBoard("two bridges", 470.0, B, (8.5, 8.5), ribs, (first, second), loads, reads)


def _crowned() -> TestBoard:
    B = 380.0
    made = (
        (92.0, 22.0, 20.0, (6.0, 7.0), (90.0, 70.0)),
        (181.0, 24.0, 22.0, (6.0, 6.0), (100.0, 80.0)),
        (296.0, 24.0, 23.0, (8.0, 6.0), (75.0, 95.0)),
        (382.0, 22.0, 19.0, (6.0, 6.0), (85.0, 85.0)),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers, PINE) for x, w, h, ends, feathers in made)
    beam = Beam((60.0, 166.0), (424.0, 166.0), 28.0, 21.0, 8.0, root_wood=BEECH)
    loads = (on(beam, "an end", 14.0), on(beam, "over a rib", 121.0), on(beam, "between ribs", 178.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 45.0, -40.0)) + _grid((140.0, 240.0, 338.0), (280.0,))
    return TestBoard("crowned", 480.0, B, (8.0, 8.0), ribs, (beam,), loads, reads, rise=4.5)


def _unequal() -> TestBoard:
    B = 370.0
    made = (
        (70.0, 18.0, 16.0, (6.0, 6.0), (60.0, 90.0), PINE),
        (158.0, 26.0, 26.0, (7.0, 6.0), (95.0, 70.0), SPRUCE),
        (268.0, 22.0, 18.0, (5.0, 8.0), (80.0, 85.0), PINE),
        (390.0, 28.0, 24.0, (8.0, 6.0), (70.0, 100.0), SPRUCE),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers, wood) for x, w, h, ends, feathers, wood in made)
    beam = Beam((38.0, 214.0), (437.0, 214.0), 32.0, 23.0, 10.0, cap_wood=BEECH)
    loads = (on(beam, "an end", 16.0), on(beam, "over the tall rib", 120.0), on(beam, "between ribs", 290.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 46.0, -44.0)) + _grid((114.0, 214.0, 330.0), (115.0,))
    return TestBoard(
        "bridge over unequal ribs, grain and panel slant", 490.0, B, (9.0, 6.8), ribs, (beam,), loads, reads,
        grain_deg=14.0, strings=(9, 24.0, 43.0, 18.0),
    )  # fmt: skip


def _notched() -> TestBoard:
    B = 340.0
    made = (
        (91.0, 22.0, 19.0, (6.0, 7.0), (70.0, 60.0)),
        (171.0, 22.0, 22.0, (6.0, 6.0), (80.0, 90.0)),
        (267.0, 22.0, 21.0, (8.0, 6.0), (90.0, 65.0)),
    )
    ribs = tuple(Bar(x, w, h, (0.0, B), ends, feathers) for x, w, h, ends, feathers in made)
    beam = Beam((54.0, 190.0), (314.0, 190.0), 30.0, 20.0, 10.0, 7.0, (6.0, 16.0, 10.0))
    loads = (on(beam, "an end", 14.0), on(beam, "over a rib", 117.0), on(beam, "between ribs", 165.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 40.0, -40.0))
    return TestBoard("bridge with a notched cap", 370.0, B, (7.5, 7.5), ribs, (beam,), loads, reads)


def _cut_ribs() -> TestBoard:
    B = 400.0
    made = (
        (84.0, 22.0, 20.0, (42.0, 352.0), (20.0, 9.0), (0.0, 60.0)),
        (170.0, 24.0, 22.0, (58.0, 366.0), (8.0, 22.0), (70.0, 0.0)),
        (276.0, 24.0, 22.0, (35.0, 340.0), (22.0, 22.0), (0.0, 0.0)),
        (372.0, 20.0, 19.0, (50.0, 371.0), (7.0, 7.0), (60.0, 80.0)),
    )
    ribs = tuple(Bar(x, w, h, span, ends, feathers) for x, w, h, span, ends, feathers in made)
    beam = Beam((52.0, 226.0), (412.0, 226.0), 30.0, 22.0, 8.0)
    loads = (on(beam, "an end", 16.0), on(beam, "over a rib", 118.0), Patch("at a rib's end", 276.0, 60.0, 24.0, 30.0))
    reads = beside(beam, alongs=ALONG, asides=(0.0, 44.0)) + _grid((84.0, 170.0, 276.0, 330.0), (40.0, 105.0, 345.0))
    return TestBoard("ribs that end inside the panel", 460.0, B, (8.0, 8.0), ribs, (beam,), loads, reads)


OBLIQUE = _oblique(
    "oblique bridge, 35 degrees from the ribs' normal", 480.0, 420.0,
    (
        (78.0, 22.0, 20.0, (6.0, 7.0), (55.0, 70.0)),
        (182.0, 24.0, 23.0, (6.0, 6.0), (60.0, 50.0)),
        (270.0, 24.0, 22.0, (8.0, 6.0), (65.0, 55.0)),
        (380.0, 20.0, 20.0, (6.0, 6.0), (75.0, 45.0)),
    ),
    Beam((118.0, 112.0), (426.0, 327.67), 30.0, 22.0, 8.0), 0.0, 8.0, None,
)  # fmt: skip
STEEP = _oblique(
    "oblique bridge, 52 degrees from the ribs' normal, slanted grain", 440.0, 480.0,
    (
        (90.0, 24.0, 22.0, None, (0.0, 0.0)),
        (176.0, 24.0, 24.0, None, (0.0, 0.0)),
        (281.0, 26.0, 23.0, None, (0.0, 0.0)),
        (366.0, 22.0, 20.0, None, (0.0, 0.0)),
    ),
    Beam((134.0, 110.0), (324.0, 353.19), 28.0, 21.0, 9.0, cap_wood=BEECH), -11.0, 7.8, None,
)  # fmt: skip

CHOOSING = (_flat(), _feathered(), _normal(), OBLIQUE, _crowned())  # a theory may be chosen on these
HELD_BACK = (_two(), _unequal(), _notched(), STEEP, _cut_ribs())  # and on none of these
BOARDS = {board.name: board for board in CHOOSING + HELD_BACK}
UNDER_STRINGS = tuple(board for board in BOARDS.values() if board.strings)


def described(board: TestBoard) -> str:
    """A line about a board."""
    turns = ", ".join(f"{degrees(beam.turn):.0f}°" for beam in board.bridges)
    plain = f"{board.length:g} × {board.breadth:g} mm, {len(board.ribs)} ribs"
    return f"{plain}, bridges at {turns}" if turns else plain
