"""The bridge height template: the top of each bridge at full size along its pin rows, as it is and as it is wanted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.balance.plane_table import PlaneTable
from bellywork.board.arrays import Floats, Ints
from bellywork.board.board import Board
from bellywork.conventions import note_name
from bellywork.errors import MissingLayer
from bellywork.geometry.completed import completed
from bellywork.measures import METRIC, Units
from bellywork.sheets.drawing import Box, Drawing, Item, Line, Pen, Text, TextAnchor, path
from bellywork.sheets.frame import PLAIN_MM, SMALL_MM
from bellywork.sheets.grids import told
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "Check the template against the bridge at three notes before planing; wood cannot be added.",
    "Keep both hands behind the edge; eye and lung protection at the router.",
)
UNDER_MM = 30.0  # the base line stands at least so far under the lowest line
ENDS_MM = 15.0
TITLE_WIDTH_MM = 175.0
EVERY = 5  # notes between depths that are written out


@dataclass(frozen=True, kw_only=True, eq=False)
class TopProfile:
    """The top of one bridge along one of its pin rows. Arrays have one entry per note of the bridge.

    bridge, row     name of the bridge; "front" or "rear" pins
    note            notes, in the order of the keyboard
    along_mm        distance along the row from its first pin, from pin to pin in plan
    now_mm          height of the top in the working state, above the level that heights are told from
    wanted_mm       the faired height to plane to; above now_mm where wood is short
    base_mm         height of the template's base line
    """

    bridge: str
    row: str
    note: tuple[int, ...]
    along_mm: Floats
    now_mm: Floats
    wanted_mm: Floats
    base_mm: float


def top_profiles(board: Board, schedule: PlaneTable) -> tuple[TopProfile, ...]:
    """Both rows of every bridge of the schedule.

    Raises MissingLayer without the strings' plan or a depth to cut.
    """
    plan = completed(board).board.needed_plan("A bridge height template")
    if not schedule.depth_known:
        raise MissingLayer(
            "A bridge height template needs the depth to cut, and so the sink: sink.csv, or panel, ribs and bridges."
        )
    line = schedule.set_up.line
    rows = (
        ("front", plan.front_pin_mm, line.bridge_front_mm, schedule.faired_front_mm),
        ("rear", plan.rear_pin_mm, line.bridge_rear_mm, schedule.faired_rear_mm),
    )
    return tuple(
        _profile(bridge, row, line.note[at], pins[at], now[at], depth[at])
        for bridge in dict.fromkeys(line.bridge)
        for at in (np.flatnonzero([name == bridge for name in line.bridge]),)
        for row, pins, now, depth in rows
    )


def _profile(bridge: str, row: str, note: Ints, pins: Floats, now: Floats, depth: Floats) -> TopProfile:
    wanted = now - depth
    return TopProfile(
        bridge=bridge,
        row=row,
        note=tuple(note.tolist()),
        along_mm=np.append(0.0, np.cumsum(np.hypot(*np.diff(pins, axis=0).T))),
        now_mm=now,
        wanted_mm=wanted,
        base_mm=float(np.floor(min(now.min(), wanted.min()) - UNDER_MM)),
    )


def bridge_sheet(board: Board, schedule: PlaneTable, units: Units = METRIC) -> Sheet:
    """The template, one drawing per bridge and pin row.

    Raises MissingLayer without the strings' plan.
    """
    return Sheet(
        name="bridge",
        title="Bridge height template",
        cautions=CAUTIONS,
        drawings=tuple(profile_drawing(profile, schedule, units) for profile in top_profiles(board, schedule)),
    )


def profile_drawing(profile: TopProfile, schedule: PlaneTable, units: Units) -> Drawing:
    """A profile at full size: x along the row from its first pin, y above the base line."""
    x, now, wanted = profile.along_mm, profile.now_mm - profile.base_mm, profile.wanted_mm - profile.base_mm
    top = float(max(now.max(), wanted.max()))
    short = set(schedule.now.note[schedule.short].tolist())
    items: list[Item] = [
        Line(start=(-ENDS_MM + 5.0, 0.0), end=(float(x[-1]) + ENDS_MM - 5.0, 0.0), pen=Pen.FRAME),
        path(x, now, Pen.NOW),
        path(x, wanted, Pen.CUT),
        Text(at=(0.0, top + 6.0), text=_title(profile, schedule, units), size_mm=PLAIN_MM, bold=True),
    ]
    for k, (note, at) in enumerate(zip(profile.note, x.tolist())):
        last = k == len(x) - 1
        named = last or (k % EVERY == 0 and x[-1] - at > 2 * SMALL_MM)
        high = float(max(now[k], wanted[k]))
        items.append(Line(start=(at, 0.0), end=(at, high + 2.0 if named else 3.0), pen=Pen.MARK))
        if named:
            words = f"{note} {note_name(note)}  {_depth_words(float(now[k] - wanted[k]), note in short, units)}"
            items.append(Text(at=(at + SMALL_MM, 3.6), text=words, size_mm=SMALL_MM, turn_deg=90.0))
    box = Box(
        left=-ENDS_MM, bottom=-4.0, right=max(float(x[-1]), TITLE_WIDTH_MM) + ENDS_MM, top=top + 6.0 + 2 * PLAIN_MM
    )
    items += [
        Text(at=(-ENDS_MM + 1.0, -3.0), text="bass end", size_mm=SMALL_MM),
        Text(at=(box.right - 1.0, -3.0), text="treble end", size_mm=SMALL_MM, anchor=TextAnchor.RIGHT),
    ]
    return Drawing(name=f"{profile.bridge} {profile.row} pins", box=box, items=tuple(items))


def _depth_words(depth_mm: float, short: bool, units: Units) -> str:
    """What to cut, or that wood is lacking."""
    if depth_mm >= 0.0 or not short:
        return f"cut {told('faired_front_mm', max(depth_mm, 0.0), units)}"
    return f"SHORT {told('short_mm', -depth_mm, units)}"


def _title(profile: TopProfile, schedule: PlaneTable, units: Units) -> str:
    return (
        f"Bridge {profile.bridge}, {profile.row} pins, seen from the front, {schedule.working.value} board. "
        f"Dashed: top now; full: cut to here. Base line at height {told('height_bare_mm', profile.base_mm, units)}."
    )
