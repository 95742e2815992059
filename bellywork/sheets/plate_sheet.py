"""The dowel schedule of the plate: what each support is now, how far to move it, and clearance under the struts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bellywork.answers.answer_table import AnswerTable, rows_of
from bellywork.answers.forms import FORMS
from bellywork.answers.plane_answer import setting_words
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.plate_setting import PlateSetting
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.plate import Plate
from bellywork.measures import METRIC, Units
from bellywork.sheets.drawing import Circle, Item, Pen, Polyline, Text
from bellywork.sheets.flow import Block, Figure, Heading, Sentences, SheetGrid
from bellywork.sheets.frame import SMALL_MM
from bellywork.sheets.grids import grid_of, told
from bellywork.sheets.sheet_pages import Sheet, worded

if TYPE_CHECKING:
    from bellywork.survey.recovery import Best

CAUTIONS = (
    "The plate is heavy: hoist it with a strap at each attachment, checked twice, no higher than needed; hands and "
    "feet clear; take {studs} out early.",
    "Never bend the plate with {bolts} or uneven supports, a cracked or welded one above all.",
)
AS_IT_IS = (
    "The plate is left as it is; '--plate-first' sets it so that every note is planed with the least wood, "
    "'--plate-up' and '--tilt' as you decide."
)
MAP_MM = 85.0, 56.0  # largest width and height of the map


SUPPORTS = "support x_mm y_mm height_mm move_mm height_wanted_mm lowest_move_mm highest_move_mm"


def support_grid(plate: Plate, setting: PlateSetting | Best | None, units: Units) -> tuple[Block, ...]:
    """The supports as a table with a box for the height that was cut; a sentence where none is described."""
    if not plate.supports:
        return (Sentences(lines=("No supports of the plate are described (supports.csv).",)),)
    return (grid_of(supports_table(plate, setting), units, shares={"support": 1.5}, boxes=("as cut", "as fitted")),)


def supports_table(plate: Plate, setting: PlateSetting | Best | None) -> AnswerTable:
    """The supports: place, height now, move and height wanted."""
    move = np.zeros(len(plate.supports)) if setting is None else setting.move_mm
    rows = [
        {
            **vars(support),
            "support": support.name,
            "x_mm": float(support.place_mm[0]),
            "y_mm": float(support.place_mm[1]),
            "height_mm": support.height_mm,
            "move_mm": up,
            "height_wanted_mm": support.height_mm + up,
        }
        for support, up in zip(plate.supports, move.tolist())
    ]
    return rows_of("supports", SUPPORTS.split(), rows)


def plate_sheet(board: Board, schedule: PlaneTable, units: Units = METRIC) -> Sheet:
    """The dowel schedule.

    schedule   planing schedule, made with the plate set first where its setting is wanted
    """
    setting = schedule.plate
    said = (AS_IT_IS,) if setting is None else _setting_words(setting, units)
    blocks: list[Block] = [
        Heading(text="Dowel schedule: measure each boss to the rim again before cutting"),
        *support_grid(board.plate, setting, units),
        Sentences(lines=(*said, *schedule.assumptions)),
    ]
    if schedule.struts:
        blocks += [Heading(text="Clearance under the struts after planing"), _strut_grid(schedule, units)]
    if board.body is not None and board.plate.supports:
        blocks += [
            Heading(text="Where the supports stand (for finding them, not to scale)"),
            _map(board.body.outline.points_mm, board.plate),
        ]
    return Sheet(
        name="plate", title="Plate: dowel schedule", cautions=worded(CAUTIONS, board.kind), blocks=tuple(blocks)
    )


def _setting_words(setting: PlateSetting, units: Units) -> tuple[str, ...]:
    depth, before = (told("mean_depth_mm", mm, units) for mm in (setting.mean_depth_mm, setting.mean_depth_before_mm))
    along = told("tilt_x_mm_per_m", setting.tilt_x_mm_per_m, units)
    across = told("tilt_y_mm_per_m", setting.tilt_y_mm_per_m, units)
    return (
        setting_words(setting, units),
        f"Wood to plane, mean of all notes: {depth} with this setting, {before} without.",
        f"In all: up {told('up_mm', setting.up_mm, units)} at the origin of the plan, further {along} in x and "
        f"{across} in y.",
    )


def _strut_grid(schedule: PlaneTable, units: Units) -> SheetGrid:
    table = rows_of("struts", FORMS["bellywork-plane/2"].part("struts").quantities, schedule.struts)
    return grid_of(table, units, boxes=("measured",))


def _map(outline_mm: Floats, plate: Plate) -> Figure:
    """The outline with the supports, made small."""
    low, size = outline_mm.min(axis=0), np.ptp(outline_mm, axis=0)
    scale = float(min(MAP_MM[0] / size[0], MAP_MM[1] / size[1]))

    def small(point: Floats) -> tuple[float, float]:
        x, y = (point - low) * scale + 4.0
        return float(x), float(y)

    items: list[Item] = [Polyline(points=tuple(map(small, outline_mm)), closed=True, pen=Pen.FRAME)]
    for support in plate.supports:
        x, y = small(support.place_mm)
        items += [
            Circle(centre=(x, y), radius_mm=1.0),
            Text(at=(x + 1.6, y + 0.6), text=support.name, size_mm=SMALL_MM),
        ]
    return Figure(height_mm=float(size[1]) * scale + 9.0, items=tuple(items))
