"""The planing schedule, told: what to cut and what one gets for it."""

from __future__ import annotations

from typing import Any

import numpy as np

from bellywork.answers.answer import Answer, View, paragraph
from bellywork.answers.answer_table import AnswerTable, rows_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import (
    INTERPOLATED,
    by_section,
    note_words,
    notes_table,
    off_target,
    shown_places,
    starred,
    state_words,
    sure,
    totals,
)
from bellywork.balance.cures import Cure
from bellywork.balance.planing import PlaneTable
from bellywork.balance.plate_setting import PlateSetting
from bellywork.balance.rim_range import RimRange
from bellywork.balance.sink import SinkSource
from bellywork.board.board import Board
from bellywork.conventions import note_name
from bellywork.geometry.naming import notes_in_words
from bellywork.measures import Units
from bellywork.quantities import said

SCHEMA = "bellywork-plane/2"
SHOWN = (
    "note name net_deg target_net_deg you_get_deg planed_sink_mm faired_front_mm faired_rear_mm block_mm kerf_mm "
    "cap_left_mm short"
)
PLANED = ("front_deg", "rear_deg", "net_deg", "downforce_N", "sink_mm")
RIGID = (
    "No depth can be given: no sink is known, so what the strings press down cannot be allowed for. Enter it in "
    "sink.csv (a known weight on the bridge and a dial show it), or describe panel, ribs and bridges. What follows "
    "holds only for a board that does not move."
)


def plane_answer(
    board: Board, table: PlaneTable, *, spread: RimRange | None, units: Units, every: bool = False
) -> Answer:
    """The answer of `bellywork plane`.

    spread   the net bearing over the rim's range, where the sink is predicted and the rim an assumption
    every    show every note, not only the reference notes, the worst and the deepest cut
    """
    form, now = FORMS[SCHEMA], table.now
    notes = schedule_table(table, spread)
    deepest = int(np.argmax(np.fmax(table.faired_front_mm, table.faired_rear_mm)))
    worst = int(np.argmax(np.abs(table.faired.net_deg - now.target_net_deg)))
    rows = shown_places(every, now.reference, deepest, worst)
    sources = {
        "working": table.working.value,
        "sink_source": table.planed.sink_source.value,
        "worst_note": now.worst_note,
        "notes": notes,
        "totals": totals(table.planed),
        "plate": None if table.plate is None else plate_part(table.plate),
    }
    return Answer(
        schema=SCHEMA,
        title=f"{board.name}: planing schedule, cut on the {state_words(table.working)}",
        headline=_headline(board, table, spread, units, deepest),
        body=(
            paragraph("Short of wood", (cure_text(cure, units) for cure in table.cures)),
            "" if table.plate is None else plate_text(table.plate, units),
            View(table=starred(notes).only(*_told(table)), rows=rows, groups=by_section(table.planed, units)),
            "" if every else "Shown are the reference notes, the worst and the deepest cut; --all shows every note.",
            "" if now.measured.all() else INTERPOLATED,
        ),
        parts=filled(form, sources, table),
        table=notes,
        findings=table.findings,
        assumptions=table.assumptions,
        act=bool(table.findings or table.short.any()) or table.planed.sink_source is SinkSource.NONE,
        units=units,
    )


def schedule_table(table: PlaneTable, spread: RimRange | None = None) -> AnswerTable:
    """The notes of a schedule: the bearing now, what to do, and the bearing strung."""
    planed = {f"planed_{key}": getattr(table.planed, key) for key in PLANED}
    own = {**planed, "you_get_deg": table.faired.net_deg}
    quantities = FORMS[SCHEMA].part("notes").quantities
    return notes_table(table.now, quantities, own, table, spread=spread, prefix="planed_")


def _told(table: PlaneTable) -> tuple[str, ...]:
    """The columns shown: without cap where its thickness is nowhere given."""
    return tuple(
        name
        for name in SHOWN.split()
        if not (name == "cap_left_mm" and np.all(np.isnan(table.cap_left_mm)))
        and not (name == "short" and not table.short.any())
    )


def _headline(board: Board, table: PlaneTable, spread: RimRange | None, units: Units, deepest: int) -> tuple[str, ...]:
    now, source = table.now, table.planed.sink_source
    depth = max(float(table.faired_front_mm[deepest]), float(table.faired_rear_mm[deepest]))
    lines = [RIGID] if source is SinkSource.NONE else []
    if depth > 0.0:
        lines.append(
            f"Cut up to {said('faired_front_mm', depth, units)}, deepest at {note_words(int(now.note[deepest]))}."
        )
    else:
        lines.append("Nothing to cut: the bridge is nowhere too high.")
    got = off_target(
        "you_get_deg",
        table.faired.net_deg,
        now.target_net_deg,
        now.note.tolist(),
        board.rules.bearing_tolerance_deg,
    )
    lines.append(f"Strung after that, {got}")
    if np.isfinite(table.planed.total_downforce_N):
        lines.append(
            f"The strings will press {said('total.downforce_N', table.planed.total_downforce_N, units)} in all."
        )
    lines.append(sure(source, spread))
    short, looked = int(np.count_nonzero(table.short)), len(table.findings)
    if short:
        lines.append(
            f"In the way: wood is short at {short} note{'s' if short > 1 else ''}; what would mend it follows."
        )
    if looked:
        lines.append(f"{looked} to look at, under the table.")
    return tuple(line for line in lines if line)


def cure_text(cure: Cure, units: Units) -> str:
    """What would mend the short notes of a section."""
    whole = "" if np.isnan(cure.cap_mm) else f" ({said('cap_mm', cure.cap_mm, units)} in all)"
    lacking = said("short_mm", cure.short_mm, units)
    return (
        f"{notes_in_words(cure.notes)}: up to {lacking} short. A cap thicker by {lacking}{whole}, or the plate "
        f"lower by {said('plate_down_mm', cure.plate_down_mm, units)}, or a target of "
        f"{said('reachable_deg', cure.reachable_deg)} there."
    )


def plate_part(plate: PlateSetting) -> dict[str, Any]:
    """The plate's setting, with its move at each support."""
    supports = [{"support": name, "move_mm": move} for name, move in zip(plate.supports, plate.move_mm.tolist())]
    keys = ("up_mm", "tilt_x_mm_per_m", "tilt_y_mm_per_m", "short_mm", "binding")
    return {
        **{key: getattr(plate, key) for key in keys},
        "supports": rows_of("supports", ("support", "move_mm"), supports),
    }


def plate_text(plate: PlateSetting, units: Units) -> str:
    """The plate's setting as a dowel schedule."""
    moves = [
        f"{name}: {'up' if move >= 0.0 else 'down'} {said('move_mm', abs(move), units, signed=False)}"
        for name, move in zip(plate.supports, plate.move_mm.tolist())
    ]
    whole = f"all over: {said('up_mm', plate.up_mm, units)} (up positive)"
    return paragraph(f"The plate first. {setting_words(plate, units)}", moves or [whole])


def setting_words(plate: PlateSetting, units: Units) -> str:
    """What holds the plate's setting, or what it leaves lacking."""
    held = ", ".join(f"{note} ({note_name(note)})" for note in plate.binding)
    lacking = said("short_mm", plate.short_mm, units)
    if plate.short_mm > 0.0:
        return f"No setting lets every note be planed to target: {lacking} is lacking at {held}."
    return f"Every note can be planed to target; the setting is held by {held or 'the supports'}."
