"""The bearing sheet: a few reference notes, what is predicted beside boxes for what is measured, block and kerf."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from bellywork.answers.answer import Answer
from bellywork.answers.answer_table import AnswerColumn as Told
from bellywork.answers.answer_table import AnswerTable, table_of
from bellywork.answers.notes import starred
from bellywork.answers.plane_answer import cure_text, schedule_table
from bellywork.answers.sureness import Sureness
from bellywork.balance.bearing_table import bearing
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.sink import Sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.errors import MissingLayer
from bellywork.geometry.string_line import bearing as turned
from bellywork.geometry.string_line import topped
from bellywork.geometry.thread import thread_heights
from bellywork.measures import METRIC, Units
from bellywork.sheets.flow import Block, Heading, Sentences, SheetColumn, SheetGrid
from bellywork.sheets.grids import column_of
from bellywork.sheets.plate_sheet import support_grid
from bellywork.sheets.sheet_pages import Sheet, worded

CAUTIONS = (  # {…}: words for a grand or an upright
    "Let tension down in rounds over the whole compass, not from one end to the other; protect eyes and hands.",
    "Never bend the plate with {bolts} or uneven supports.",
    "Stop preloading where too little crown is left.",
)
SEQUENCE = (
    "Before teardown, strings on: lengths, heights, bearing (box 'before'), thread under the ribs, date and RH.",
    "Let the tension down in rounds over the whole compass; take {studs} out before lifting the plate.",
    "Set the plate on its supports as the schedule says; {bolts} up to contact only.",
    "Bring the board to the humidity named below, and note it.",
    "Dry fit: clamp hard at {clamped}; check the heights at the reference notes.",
    "If you preload: press, write the bearing in box 'preloaded', and stop where too little crown is left.",
    "Thread from the front termination over the bridge to the block on the rear rest; saw until it just touches.",
    "Blacken the kerf floors; plate and board out; plane to 'cut front' and 'cut rear': the black tells where you are.",
    "Refit, check against 'planed'; then lay out, drill, notch, pin.",
    "Board and plate in, {propped} back before tension; check against 'strung' as tension comes up.",
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
                    floor of the kerf under the present bridge top, at the front and the rear pins; NaN: none to saw
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
    now = schedule.set_up.line
    after = topped(
        now,
        now.bridge_front_mm - np.maximum(schedule.faired_front_mm, 0.0),
        now.bridge_rear_mm - np.maximum(schedule.faired_rear_mm, 0.0),
    )
    strung = schedule.strung or schedule.faired
    floor_front, floor_rear = thread_heights(now, schedule.block_mm)
    return BearingStages(
        schedule=schedule,
        before_deg=bearing(board).net_deg,
        preloaded_deg=_preloaded(board, sink),
        planed_deg=turned(after).net_deg,
        strung_deg=strung.net_deg if strung.state is State.STRUNG else np.full(len(now.note), np.nan),
        kerf_front_mm=_sawn(now.bridge_front_mm - floor_front),
        kerf_rear_mm=_sawn(now.bridge_rear_mm - floor_rear),
    )


def _sawn(deep_mm: Floats) -> Floats:
    """A kerf as deep as that; NaN where the thread runs over the top."""
    return np.where(deep_mm > 0.0, deep_mm, np.nan)


def _preloaded(board: Board, sink: Sink) -> Floats:
    """Net bearing of the preloaded board; NaN where no preload is described."""
    described = board.preload or any(sink.preloaded_mm is not None for sink in board.sinks)
    if described:
        with suppress(MissingLayer):  # a preload without a body to press on
            return bearing(board, state=State.PRELOADED, sink=sink).net_deg
    return np.full(len(bearing(board).note), np.nan)


def bearing_sheet(
    board: Board, stages: BearingStages, told: Answer, sureness: Sureness | None = None, units: Units = METRIC
) -> Sheet:
    """The sheet for the bench.

    told       the schedule's answer, whose sentences stand at the top
    sureness   its bands; None: none are known
    """
    schedule = stages.schedule
    shown = np.flatnonzero(schedule.now.reference)
    blocks: list[Block] = [
        Sentences(lines=told.headline, plain=True),
        Heading(text="Reference notes: net bearing measured (box) and predicted, block, kerf and what to cut"),
        _grid(stages, sureness, shown.tolist(), units),
        *_listed("Short of wood", [cure_text(cure, units) for cure in schedule.cures]),
        *_listed("To look at", list(map(str, schedule.findings))),
        Sentences(lines=_about(schedule, all_measured=bool(schedule.now.line.measured[shown].all()))),
        Heading(text="Plate supports"),
        *support_grid(board.plate, schedule.plate, units),
        Heading(text="The sequence"),
        Sentences(lines=worded(SEQUENCE, board.kind), numbered=True),
    ]
    return Sheet(
        name="bearing",
        title="Bearing sheet",
        cautions=worded(CAUTIONS, board.kind),
        blocks=tuple(blocks),
        landscape=True,
    )


def _listed(head: str, lines: list[str]) -> tuple[Block, ...]:
    """Sentences under a heading; nothing where there are none."""
    return (Heading(text=head), Sentences(lines=tuple(lines))) if lines else ()


def _about(schedule: PlaneTable, *, all_measured: bool) -> tuple[str, ...]:
    told = [
        "Kerf: its floor under the present top, at the front and the rear pins, with the block on the rear rest; none "
        "where nothing is to be sawn. Cut: from the present top at the pins, for the slope that is wanted as well; "
        "negative where wood is short.",
    ]
    if not all_measured:
        told.append("* interpolated between reference notes.")
    return (*told, *schedule.assumptions)


def stages_table(stages: BearingStages, sureness: Sureness | None = None) -> AnswerTable:
    """The bearing of each note at each stage of the work, and the floor of the kerf; the strung one with its band."""
    values = {
        "before_net_deg": stages.before_deg,
        "preloaded_net_deg": stages.preloaded_deg,
        "stage.planed_net_deg": stages.planed_deg,
        "strung_net_deg": stages.strung_deg,
    }
    bands = {} if sureness is None else {"strung_net_deg": sureness.bands.bands["planed_net_deg"]}
    told = ("note", "name", *STAGES, "target_net_deg", *KERFS)
    return table_of("stages", told, values, stages, stages.schedule.now, bands=bands)


STAGES = ("before_net_deg", "preloaded_net_deg", "stage.planed_net_deg", "strung_net_deg")
KERFS = ("kerf_front_mm", "kerf_rear_mm")


def _grid(stages: BearingStages, sureness: Sureness | None, shown: Sequence[int], units: Units) -> SheetGrid:
    schedule, table = stages.schedule, stages_table(stages, sureness)
    every = starred(schedule_table(schedule, sureness=sureness))
    notes = every.only(*(column.quantity for column in every.columns), bands=("faired_front_mm",))

    def column(told: Told, share: float = 1.15) -> SheetColumn:
        return column_of(told, shown, units, share=share)

    def stage(told: Told) -> tuple[SheetColumn, SheetColumn]:
        return SheetColumn(head=told.label, unit="measured", share=1.4, box=True), column_of(
            told, shown, units, head="predicted", share=1.35 if told.band is None else 1.7
        )

    known = [table[name] for name in STAGES if not np.all(np.isnan(np.asarray(table[name].values)[shown]))]
    columns = (
        column(notes["note"], 0.8),
        column(notes["name"], 0.9),
        *(each for told in known for each in stage(told)),
        column(table["target_net_deg"], 1.0),
        column(notes["block_mm"]),
        *(column(table[name]) for name in KERFS),
        *(column(notes[name]) for name in ("faired_front_mm", "faired_rear_mm", "cap_left_mm")),
        *((column(notes["short"], 0.9),) if schedule.short.any() else ()),
    )
    return SheetGrid(columns=columns, rows=len(shown))
