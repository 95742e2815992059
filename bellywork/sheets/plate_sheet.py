"""The dowel schedule of the plate: what each support is now, how far to move it, and clearance under the struts."""

from __future__ import annotations

from typing import Any

import numpy as np

from bellywork.balance.planing import PlaneTable
from bellywork.balance.plate_setting import PlateSetting
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.plate import Plate
from bellywork.sheets.drawing import Circle, Item, Pen, Polyline, Text
from bellywork.sheets.flow import Block, Column, Figure, Grid, Heading, Sentences
from bellywork.sheets.frame import SMALL_MM
from bellywork.sheets.numbers import number
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "The plate is heavy: hoist it with a strap at each attachment, checked twice, no higher than needed; hands and "
    "feet clear; take nose-bolt studs out early.",
    "Never bend the plate with nose bolts or uneven supports, a cracked or welded one above all.",
)
MAP_MM = 85.0, 56.0  # largest width and height of the map


def support_grid(plate: Plate, setting: PlateSetting | None) -> tuple[Block, ...]:
    """The supports as a table with a box for the height that was cut; a sentence where none is described."""
    if not plate.supports:
        return (Sentences(lines=("No supports of the plate are described (supports.csv).",)),)
    rows = support_rows(plate, setting)

    def told(key: str, digits: int, *, signed: bool = False) -> tuple[str, ...]:
        return tuple(number(row[key], digits, signed=signed) for row in rows)

    lowest, highest = told("lowest_move_mm", 1, signed=True), told("highest_move_mm", 1, signed=True)
    columns = (
        Column(head="support", left=True, share=1.5, cells=tuple(row["support"] for row in rows)),
        Column(head="x", unit="mm", cells=told("x_mm", 0)),
        Column(head="y", unit="mm", cells=told("y_mm", 0)),
        Column(head="height now", unit="mm", share=1.1, cells=told("height_mm", 2)),
        Column(head="move, up +", unit="mm", share=1.1, cells=told("move_mm", 2, signed=True)),
        Column(head="height wanted", unit="mm", share=1.4, cells=told("height_wanted_mm", 2)),
        Column(head="may move", unit="mm", share=1.6, cells=tuple(f"{a} to {b}" for a, b in zip(lowest, highest))),
        Column(head="as cut", unit="mm", share=1.4, box=True),
        Column(head="as fitted", unit="mm", share=1.4, box=True),
    )
    return (Grid(columns=columns, rows=len(rows)),)


def support_rows(plate: Plate, setting: PlateSetting | None) -> list[dict[str, Any]]:
    """The supports as rows: place, height now, move (up positive) and height wanted, in mm."""
    move = np.zeros(len(plate.supports)) if setting is None else setting.move_mm
    return [
        {
            "support": support.name,
            "x_mm": float(support.place_mm[0]),
            "y_mm": float(support.place_mm[1]),
            "height_mm": support.height_mm,
            "move_mm": up,
            "height_wanted_mm": support.height_mm + up,
            "lowest_move_mm": support.lowest_move_mm,
            "highest_move_mm": support.highest_move_mm,
        }
        for support, up in zip(plate.supports, move.tolist())
    ]


def plate_sheet(board: Board, schedule: PlaneTable) -> Sheet:
    """The dowel schedule.

    schedule   planing schedule, made with the plate set first where its setting is wanted
    """
    setting = schedule.plate
    said = (
        (
            f"{setting} Wood to plane, mean of all notes: {number(setting.mean_depth_mm, 2)} mm with this setting, "
            f"{number(setting.mean_depth_before_mm, 2)} mm without.",
            f"In all: up {number(setting.up_mm, 2, signed=True)} mm at the origin of the plan, further "
            f"{number(setting.tilt_x_mm_per_m, 2, signed=True)} mm for each metre in x and "
            f"{number(setting.tilt_y_mm_per_m, 2, signed=True)} mm for each metre in y.",
        )
        if setting is not None
        else ("The plate is left as it is; '--plate-first' sets it so that every note is planed with the least wood.",)
    )
    blocks: list[Block] = [
        Heading(text="Dowel schedule: measure each boss to the rim again before cutting"),
        *support_grid(board.plate, setting),
        Sentences(lines=(*said, *schedule.assumptions)),
    ]
    if schedule.struts:
        blocks += [Heading(text="Clearance under the struts after planing"), _strut_grid(schedule)]
    if board.body is not None and board.plate.supports:
        blocks += [
            Heading(text="Where the supports stand (for finding them, not to scale)"),
            _map(board.body.outline.points_mm, board.plate),
        ]
    return Sheet(name="plate", title="Plate: dowel schedule", cautions=CAUTIONS, blocks=tuple(blocks))


def _strut_grid(schedule: PlaneTable) -> Grid:
    struts = schedule.struts
    return Grid(
        columns=(
            Column(head="strut", left=True, cells=tuple(each.strut for each in struts)),
            Column(head="bridge", left=True, cells=tuple(each.bridge for each in struts)),
            Column(head="notes", left=True, cells=tuple(f"{each.notes[0]} to {each.notes[1]}" for each in struts)),
            Column(head="clearance", unit="mm", cells=tuple(number(each.clearance_mm, 2) for each in struts)),
            Column(head="to keep", unit="mm", cells=tuple(number(each.least_mm, 2) for each in struts)),
            Column(head="measured", unit="mm", box=True),
        ),
        rows=len(struts),
    )


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
