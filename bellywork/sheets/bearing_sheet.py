"""The bearing sheet: a few reference notes, what is predicted beside boxes for what is measured, block and kerf."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import PlaneTable
from bellywork.balance.sink import Sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.errors import MissingLayer
from bellywork.geometry.string_line import bearing as turned
from bellywork.geometry.string_line import topped
from bellywork.geometry.thread import thread_heights
from bellywork.sheets.flow import Block, Column, Grid, Heading, Sentences
from bellywork.sheets.numbers import number
from bellywork.sheets.plate_sheet import support_grid
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "Let tension down in rounds over the whole compass, not from one end to the other; protect eyes and hands.",
    "Never bend the plate with nose bolts or uneven supports.",
    "Stop preloading where too little crown is left.",
)
SEQUENCE = (
    "Before teardown, strings on: lengths, heights, bearing (box 'before'), thread under the ribs, date and RH.",
    "Let the tension down in rounds over the whole compass; take nose-bolt studs out before lifting the plate.",
    "Set the plate on its supports as the schedule says; nose bolts up to contact only.",
    "Bring the board to the humidity named below, and note it.",
    "Dry fit: clamp hard at belly rail, spine and the very top treble; check the heights at the reference notes.",
    "If you preload: press, write the bearing in box 'preloaded', and stop where too little crown is left.",
    "Thread from the front termination over the bridge to the block on the rear rest; saw until it just touches.",
    "Blacken the kerf floors; plate and board out; plane until the black just goes; mind the slope of the top.",
    "Refit, check against 'planed'; then lay out, drill, notch, pin.",
    "Board and plate in, wedge at the nose back before tension; check against 'strung' as tension comes up.",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class BearingStages:
    """What the sheet sets beside its boxes; arrays with one entry per note, NaN where the layers cannot tell.

    schedule        the planing schedule
    before_deg      net bearing as the heights were measured
    preloaded_deg   net bearing of the preloaded board before planing
    planed_deg      net bearing after planing, in the schedule's working state
    strung_deg      net bearing after planing, strung
    kerf_front_mm, kerf_rear_mm
                    floor of the kerf under the present bridge top, at the front and the rear pins
    """

    schedule: PlaneTable
    before_deg: Floats
    preloaded_deg: Floats
    planed_deg: Floats
    strung_deg: Floats
    kerf_front_mm: Floats
    kerf_rear_mm: Floats


def bearing_stages(board: Board, schedule: PlaneTable, sink: Sink) -> BearingStages:
    """The bearing at each stage of the work: before and preloaded with the plate as it is, then by the schedule.

    sink   the one that the schedule was made with
    """
    now = schedule.now.line
    after = topped(
        now,
        now.bridge_front_mm - np.maximum(schedule.plane_front_mm, 0.0),
        now.bridge_rear_mm - np.maximum(schedule.plane_rear_mm, 0.0),
    )
    floor_front, floor_rear = thread_heights(now, schedule.block_mm)
    return BearingStages(
        schedule=schedule,
        before_deg=bearing(board).net_deg,
        preloaded_deg=_preloaded(board, sink),
        planed_deg=turned(after).net_deg,
        strung_deg=schedule.planed.net_deg,
        kerf_front_mm=now.bridge_front_mm - floor_front,
        kerf_rear_mm=now.bridge_rear_mm - floor_rear,
    )


def _preloaded(board: Board, sink: Sink) -> Floats:
    """Net bearing of the preloaded board; NaN where no preload is described."""
    described = board.preload or any(sink.preloaded_mm is not None for sink in board.sinks)
    if described:
        with suppress(MissingLayer):  # a preload without a body to press on
            return bearing(board, state=State.PRELOADED, sink=sink).net_deg
    return np.full(len(bearing(board).note), np.nan)


def bearing_sheet(board: Board, stages: BearingStages) -> Sheet:
    """The sheet for the bench."""
    schedule = stages.schedule
    shown = np.flatnonzero(schedule.now.reference | schedule.short)
    blocks: list[Block] = [
        Heading(text="Reference notes: net bearing in degrees, measured (box) and predicted; lengths in mm"),
        _grid(stages, shown.tolist()),
        Sentences(lines=_about(schedule, all_measured=bool(schedule.now.line.measured[shown].all()))),
        Heading(text="Plate supports"),
        *support_grid(board.plate, schedule.plate),
        Heading(text="The sequence"),
        Sentences(lines=SEQUENCE, numbered=True),
    ]
    return Sheet(name="bearing", title="Bearing sheet", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def _about(schedule: PlaneTable, *, all_measured: bool) -> tuple[str, ...]:
    said = [
        "Kerf: its floor under the present top, at the front and the rear pins, with the block on the rear rest. "
        "Plane: from the present top at the pins, for the slope that is wanted as well.",
        *(str(cure) for cure in schedule.cures),
        *(str(finding) for finding in schedule.findings),
    ]
    if not all_measured:
        said.append("* interpolated between reference notes.")
    return (*said, *schedule.assumptions)


def _grid(stages: BearingStages, shown: Sequence[int]) -> Grid:
    schedule = stages.schedule
    line, name = schedule.now.line, schedule.now.name

    def told(values: Floats, digits: int = 2) -> tuple[str, ...]:
        return tuple(number(float(values[i]), digits) for i in shown)

    def stage(head: str, values: Floats) -> tuple[Column, Column]:
        return Column(head=head, unit="measured", share=1.5, box=True), Column(
            head="predicted", unit="deg", cells=told(values)
        )

    def length(head: str, values: Floats) -> Column:
        return Column(head=head, unit="mm", share=1.25, cells=told(values))

    columns: tuple[Column, ...] = (
        Column(head="note", share=0.8, cells=tuple(str(line.note[i]) for i in shown)),
        Column(head="", left=True, share=0.9, cells=tuple(
            name[i] + ("" if line.measured[i] else "*") for i in shown)),
        *stage("before", stages.before_deg),
        *stage("preloaded", stages.preloaded_deg),
        *stage("planed", stages.planed_deg),
        *stage("strung", stages.strung_deg),
        Column(head="wanted", unit="deg", cells=told(schedule.planed.target_net_deg)),
        length("block", schedule.block_mm),
        length("kerf front", stages.kerf_front_mm),
        length("kerf rear", stages.kerf_rear_mm),
        length("plane front", schedule.plane_front_mm),
        length("plane rear", schedule.plane_rear_mm),
        length("cap left", schedule.cap_left_mm),
    )  # fmt: skip
    if schedule.short.any():
        short = tuple("SHORT" if schedule.short[i] else "" for i in shown)
        columns += (Column(head="", share=0.9, left=True, cells=short),)
    return Grid(columns=columns, rows=len(shown))
