"""The rib sheet: cut list, every rib in profile at full size, and caul strips for the radii of the crown."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from bellywork.answers.answer_table import AnswerColumn, AnswerTable, rows_of
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.body import Rib
from bellywork.errors import SheetError
from bellywork.geometry.crown_surface import chord_rise_mm
from bellywork.measures import METRIC, Units
from bellywork.sheets.drawing import Arc, Box, Drawing, Item, Line, Pen, Text, TextAnchor, path
from bellywork.sheets.flow import Block, Heading, Sentences, SheetGrid
from bellywork.sheets.frame import PLAIN_MM, SMALL_MM
from bellywork.sheets.grids import grid_of, told
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "Feathering and crowning: guard and push blocks in place; eye, ear and lung protection.",
    "Go-bars: tightening one loosens the next, and it can fall; the ceiling must bear the sum of all.",
)
STEP_MM = 5.0
DIMENSION_MM = 3.1  # from line to line of a dimension
CROWDED_MM = 60.0  # nearer to the knee, the middle's dimension stands above the knee's
NEAR_END_MM = 32.0  # so near to its end a caul has no room for a label
LETTER_MM = 0.65 * PLAIN_MM  # a bold letter is no wider, on average
LETTERS_MM = 4.0  # an end so high has room for its label
CAUL_MM = 12.0  # wood behind the hollow of a caul strip


def rib_sheet(board: Board, units: Units = METRIC) -> Sheet:
    """The sheet. Raises MissingLayer without the board's body, SheetError where it has no ribs."""
    ribs = board.needed_body("A rib sheet").ribs
    if not ribs:
        raise SheetError("The board has no ribs to draw: describe them in ribs.csv.")
    cauls = caul_radii(ribs)
    blocks: list[Block] = [
        Heading(text="Cut list"),
        cut_list(ribs, units),
        Sentences(
            lines=(
                "Length is that of the straight line from end to end; height is told square to it, from the glued "
                "face down. Feather: length over which the height falls straight to that of the end.",
                "Rise: of the glued face over the whole length. Grain, moisture and any allowance for springing back "
                "are the maker's.",
            )
        ),
    ]
    if cauls:
        blocks += [Heading(text="Cauls: fall of the hollow from the middle of the caul"), caul_grid(cauls, units)]
    return Sheet(
        name="ribs",
        title="Rib sheet",
        cautions=CAUTIONS,
        blocks=tuple(blocks),
        drawings=(
            *(rib_drawing(rib, units) for rib in sorted(ribs, key=lambda each: each.length_mm)),
            *(caul_drawing(radius, half, units) for radius, half in sorted(cauls, key=lambda each: -each[1])),
        ),
        landscape=True,
    )


TO_CUT = (
    "rib wood length_mm width_mm rib.height_mm start_height_mm end_height_mm start_feather_mm end_feather_mm "
    "crown_radius_mm cut.rise_mm"
)


def ribs_to_cut(ribs: Sequence[Rib]) -> AnswerTable:
    """The ribs as they are cut."""
    return rows_of("ribs", TO_CUT.split(), [_to_cut(rib) for rib in ribs])


def _to_cut(rib: Rib) -> dict[str, Any]:
    return {
        **vars(rib),
        "rib": rib.name,
        "wood": rib.wood.name.replace("_", " "),
        "length_mm": rib.length_mm,
        "start_height_mm": rib.end_height_mm[0],
        "end_height_mm": rib.end_height_mm[1],
        "start_feather_mm": rib.feather_mm[0],
        "end_feather_mm": rib.feather_mm[1],
        "cut.rise_mm": rise_mm(rib),
    }


def cut_list(ribs: Sequence[Rib], units: Units = METRIC) -> SheetGrid:
    """One row per rib, with a box to tick."""
    return grid_of(ribs_to_cut(ribs), units, shares={"rib": 0.8, "wood": 1.6}, boxes=("done",))


def rise_mm(rib: Rib) -> float:
    """Rise of a rib's glued face over its length; 0 where it is flat."""
    return chord_rise_mm(rib.crown_radius_mm, rib.length_mm) if math.isfinite(rib.crown_radius_mm) else 0.0


def glued_face_mm(rib: Rib, along_mm: Floats) -> Floats:
    """Height of the glued face above the line from end to end, `along_mm` from the rib's start."""
    if not math.isfinite(rib.crown_radius_mm):
        return np.zeros(len(along_mm))
    half, R = rib.length_mm / 2.0, rib.crown_radius_mm
    face: Floats = np.sqrt(R**2 - (along_mm - half) ** 2) - np.sqrt(R**2 - half**2)
    return face


def rib_drawing(rib: Rib, units: Units = METRIC) -> Drawing:
    """A rib from the side: x from its start, y = 0 at the ends of the glued face, crown up.

    At its ends, at the knees of its feathers and in its middle stand the distance from its start and its height.
    """
    length, (near, far) = rib.length_mm, rib.feather_mm
    x = np.unique(np.concatenate([np.linspace(0.0, length, max(int(length / STEP_MM), 2)), [near, length - far]]))
    under = glued_face_mm(rib, x) - rib.height_at(x)
    top, low = rise_mm(rib), float(under.min())
    items: list[Item] = [
        _face(rib),
        path(x, under, Pen.CUT),
        Line(start=(0.0, 0.0), end=(0.0, -rib.end_height_mm[0]), pen=Pen.CUT),
        Line(start=(length, 0.0), end=(length, -rib.end_height_mm[1]), pen=Pen.CUT),
        Line(start=(0.0, 0.0), end=(length, 0.0), pen=Pen.FAINT),
        Text(at=(1.5, low - 4.4), text=_rib_words(rib, units), size_mm=PLAIN_MM, bold=True),
        *_ends(rib, low, units),
    ]
    for at in sorted({near, length / 2.0, length - far} - {0.0, length}):
        y = float(glued_face_mm(rib, np.array([at]))[0])
        deep = float(rib.height_at(np.array([at]))[0])
        items.append(Line(start=(at, y), end=(at, y - deep)))
        crowded = at == length / 2.0 and 0.0 < length - far - at < CROWDED_MM
        side, anchor = (-1.0, TextAnchor.RIGHT) if at > length / 2.0 else (1.0, TextAnchor.LEFT)
        for line, words in enumerate((_high(deep, units), f"{told('span_mm', at, units)} from start")):
            place = at + side, y - deep + 1.2 + DIMENSION_MM * (line + 2 * crowded)
            items.append(Text(at=place, text=words, size_mm=SMALL_MM, anchor=anchor))
    wide = max(length, LETTER_MM * len(_rib_words(rib, units)))
    box = Box(left=-3.0, bottom=low - 6.0, right=wide + 3.0, top=top + 2.0)
    return Drawing(name=f"rib {rib.name}", box=box, items=tuple(items))


def _ends(rib: Rib, low: float, units: Units) -> tuple[Item, ...]:
    """How high each end is: inside it where it is high enough for letters, else under it, in the feather's room."""
    start, end = (y_of_end(high, low) for high in rib.end_height_mm)
    words = f"end of rib {rib.name}, {_high(rib.end_height_mm[1], units)}"
    return (
        Text(at=(1.5, start), text=_high(rib.end_height_mm[0], units), size_mm=SMALL_MM),
        Text(at=(rib.length_mm - 1.5, end), text=words, size_mm=SMALL_MM, anchor=TextAnchor.RIGHT),
    )


def y_of_end(high: float, low: float) -> float:
    """Base line of the letters at an end so high."""
    return -high / 2.0 - 0.9 if high >= LETTERS_MM else low + 1.0


def _high(mm: float, units: Units) -> str:
    return f"{told('rib.height_mm', mm, units)} high"


def _face(rib: Rib) -> Item:
    if not math.isfinite(rib.crown_radius_mm):
        return Line(start=(0.0, 0.0), end=(rib.length_mm, 0.0), pen=Pen.CUT)
    half, R = rib.length_mm / 2.0, rib.crown_radius_mm
    turn = math.degrees(math.asin(half / R))
    centre = half, -math.sqrt(R**2 - half**2)
    return Arc(centre=centre, radius_mm=R, start_deg=90.0 - turn, end_deg=90.0 + turn, pen=Pen.CUT)


def _rib_words(rib: Rib, units: Units) -> str:
    flat = not math.isfinite(rib.crown_radius_mm)
    radius = "flat" if flat else f"R {told('crown_radius_mm', rib.crown_radius_mm, units)}"
    length, width = (told(name, mm, units) for name, mm in (("length_mm", rib.length_mm), ("width_mm", rib.width_mm)))
    x, y = (told(name, float(mm), units) for name, mm in zip(("x_mm", "y_mm"), rib.start_mm))
    return f"Rib {rib.name} from the side, glued face up: {length} × {width} wide, {radius}. Start at x {x}, y {y}."


def caul_radii(ribs: Sequence[Rib]) -> tuple[tuple[float, float], ...]:
    """The radii of the ribs, each to a tenth of a metre and once, with half the length of its longest rib, in mm."""
    longest: dict[float, float] = {}
    for rib in ribs:
        if math.isfinite(rib.crown_radius_mm):
            radius = round(rib.crown_radius_mm, -2)
            longest[radius] = max(longest.get(radius, 0.0), rib.length_mm / 2.0)
    return tuple(sorted(longest.items()))


def fall_mm(radius_mm: float, from_middle_mm: float) -> float:
    """How far an arc has fallen at a distance from its middle.

    >>> round(fall_mm(15000.0, 500.0), 2)
    8.34
    """
    return chord_rise_mm(radius_mm, 2.0 * from_middle_mm)


def marks_every_mm(units: Units) -> float:
    """How far apart the marks of a caul stand: 100 mm, or 4 in."""
    return 4 * 25.4 if units.decimal == "in" else 100.0


def caul_grid(cauls: Sequence[tuple[float, float]], units: Units = METRIC) -> SheetGrid:
    """Fall of each radius every 100 mm or 4 in from the middle."""
    reach = max(half for _, half in cauls)
    every = marks_every_mm(units)
    stations = [every * k for k in range(1, int(reach // every) + 1)]
    columns = [AnswerColumn(quantity="caul_radius_mm", values=[radius for radius, _ in cauls])]
    for at in stations:
        falls = [fall_mm(radius, at) if at <= half else None for radius, half in cauls]
        columns.append(AnswerColumn(quantity="fall_mm", values=falls, head=f"at {told('span_mm', at, units)}"))
    ends = [fall_mm(radius, half) for radius, half in cauls]
    columns.append(AnswerColumn(quantity="fall_mm", values=ends, head="at the end"))
    return grid_of(AnswerTable(key="cauls", columns=tuple(columns)), units)


def caul_drawing(radius_mm: float, half_mm: float, units: Units) -> Drawing:
    """One half of a caul: x from its middle, y = 0 at the middle of the face it presses on, hollow side down."""
    end, radius = fall_mm(radius_mm, half_mm), told("caul_radius_mm", radius_mm, units)
    turn = math.degrees(math.asin(half_mm / radius_mm))
    items: list[Item] = [
        Arc(centre=(0.0, -radius_mm), radius_mm=radius_mm, start_deg=90.0 - turn, end_deg=90.0, pen=Pen.CUT),
        Line(start=(0.0, CAUL_MM), end=(half_mm, CAUL_MM), pen=Pen.CUT),
        Line(start=(0.0, 0.0), end=(0.0, CAUL_MM), pen=Pen.JOIN),
        Line(start=(half_mm, -end), end=(half_mm, CAUL_MM), pen=Pen.CUT),
        Text(
            at=(4.0, CAUL_MM - 4.4),
            text=f"Caul R {radius}, middle (dotted) to end at {told('span_mm', half_mm, units)}, there "
            f"{told('fall_mm', end, units)}; turn over for the rest",
            size_mm=PLAIN_MM,
            bold=True,
        ),
    ]
    every = marks_every_mm(units)
    for k in range(1, int(half_mm // every) + 1):
        x = k * every
        y = -fall_mm(radius_mm, x)
        items += [
            Line(start=(x, y), end=(x, y + 3.0)),
            Text(
                at=(x + (0.8 if half_mm - x > NEAR_END_MM else -0.8), y + 0.8),
                text=f"{told('span_mm', x, units)}: {told('fall_mm', -y, units)}",
                size_mm=SMALL_MM,
                anchor=TextAnchor.LEFT if half_mm - x > NEAR_END_MM else TextAnchor.RIGHT,
            ),
        ]
    box = Box(left=-3.0, bottom=-end - 2.0, right=half_mm + 3.0, top=CAUL_MM + 2.0)
    return Drawing(name=f"caul R {radius}", box=box, items=tuple(items))
