"""The planing schedule, told: what to cut and what one gets for it."""

from __future__ import annotations

from dataclasses import dataclass
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
from bellywork.answers.sureness import Sureness, banded
from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.cures import Cure
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.plate_setting import PlateSetting
from bellywork.balance.rim_range import RimRange
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.piano_kind import PianoKind
from bellywork.board.plate import PlateMove
from bellywork.board.state import State
from bellywork.conventions import note_name
from bellywork.geometry.naming import notes_in_words
from bellywork.measures import Units, counted
from bellywork.quantities import said

SCHEMA = "bellywork-plane/2"
SHOWN = (
    "note name net_deg set_up_net_deg target_net_deg you_get_deg strung_net_deg planed_sink_mm faired_front_mm "
    "faired_rear_mm leave_mm block_mm kerf_mm cap_left_mm short"
)
BANDED = ("you_get_deg", "faired_front_mm")  # the columns shown that keep their band
WITHOUT_DEPTH = "note name front_deg rear_deg net_deg target_net_deg degrees_per_mm block_mm"
PLANED = ("front_deg", "rear_deg", "net_deg", "downforce_N", "sink_mm")
UNKNOWN = (
    "No depth can be given: it is not known how far the board sinks under the strings, and each mm of that takes the "
    "bearing under 'loses' away. Do not cut by this table. Enter the sink in sink.csv (a known weight on the bridge "
    "and a dial show it), or describe panel, ribs and bridges, or give the targets for the {measured} board (column "
    "state in targets.csv)."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Later:
    """A schedule for a later day: the wood that it leaves for the years at the front edge, and how late, in words."""

    leave_mm: Floats
    words: str


def plane_answer(
    board: Board,
    table: PlaneTable,
    *,
    spread: RimRange | None,
    units: Units,
    every: bool = False,
    sureness: Sureness | None = None,
    later: Later | None = None,
) -> Answer:
    """The answer of `bellywork plane`.

    spread   the net bearing over the rim's range, where the sink is predicted and the rim an assumption
    every    show every note, not only the reference notes, the worst and the deepest cut
    sureness bands of what is predicted; None: the answer carries none
    later    what is left for a later day; None: targets are met on the day of stringing
    """
    form, now, known = FORMS[SCHEMA], table.now, table.depth_known
    notes = schedule_table(table, spread, sureness, later)
    deepest = int(np.argmax(np.fmax(table.faired_front_mm, table.faired_rear_mm)))
    worst = int(np.argmax(np.abs(table.faired.deviation_deg)))
    rows = shown_places(every, now.reference, *([deepest, worst] if known else []))
    kerfs = np.where(table.kerf_mm > 0.0, table.kerf_mm, np.nan)  # nobody saws upwards
    what = f"planing schedule, cut on the {state_words(table.working)}" if known else "bearing and block; no depth"
    sources = {
        "working": table.working.value,
        "aimed": table.aimed.value,
        "depth_known": known,
        "sink_source": table.planed.sink_source.value,
        "worst_note": now.worst_note,
        "notes": notes,
        "totals": totals(table.faired, sureness),
        "plate": None if table.plate is None else plate_part(table.plate),
    }
    return Answer(
        schema=SCHEMA,
        title=f"{board.name}: {what}",
        headline=_headline(board, table, spread, units, deepest, sureness, later),
        body=(
            paragraph("Short of wood", (cure_text(cure, units) for cure in table.cures)),
            "" if table.plate is None else plate_text(table.plate, units, board.kind),
            View(
                table=starred(notes).with_values("kerf_mm", kerfs).only(*_told(table, later), bands=BANDED),
                rows=rows,
                groups=by_section(table.faired, units),
            ),
            "" if now.measured.all() else INTERPOLATED,
        ),
        parts=filled(form, sources, table),
        table=notes,
        findings=table.findings,
        to_look_at=() if sureness is None else sureness.doubts,
        assumptions=table.assumptions,
        act=bool(table.findings or table.short.any()) or not known,
        below=f"{len(table.findings)} to look at, under the table." if table.findings else "",
        left_out="" if every else _shown_words(known),
        units=units,
    )


def _shown_words(known: bool) -> str:
    if not known:
        return "Shown are the reference notes; --all shows every note."
    return "Shown are the reference notes, the worst and the deepest cut; --all shows every note."


def schedule_table(
    table: PlaneTable,
    spread: RimRange | None = None,
    sureness: Sureness | None = None,
    later: Later | None = None,
) -> AnswerTable:
    """The notes of a schedule: the bearing now, what to do, and the bearing one gets."""
    after = table.faired if table.strung is None else table.strung
    own = {
        **{f"planed_{key}": getattr(after, key) for key in PLANED},
        "you_get_deg": table.faired.net_deg,
        "set_up_net_deg": table.set_up.net_deg,
        "strung_net_deg": after.net_deg if after.state is State.STRUNG else np.full(len(after.net_deg), np.nan),
    }
    quantities = FORMS[SCHEMA].part("notes").quantities
    if later is not None:
        quantities, own = (*quantities, "leave_mm"), {**own, "leave_mm": later.leave_mm}
    return notes_table(table.now, quantities, own, table, *banded(sureness), spread=spread, prefix="planed_")


def _left(later: Later, now: BearingTable, units: Units) -> tuple[str, ...]:
    """What a schedule for a later day leaves, and what it stands on, in sentences."""
    most = int(np.argmax(later.leave_mm))
    return (
        f"For bearing as wanted {later.words} after the stringing leave more wood than for the day itself: by up to "
        f"{said('leave_mm', float(later.leave_mm[most]), units)} at the front edge, at "
        f"{note_words(int(now.note[most]))}.",
        "That is the middle of what is known of such wood; 'bellywork bearing --after' tells how far this board may "
        "lie off it. Wood left can still be cut later.",
    )


def _told(table: PlaneTable, later: Later | None) -> tuple[str, ...]:
    """The columns shown: those in which there is something to be told."""
    if not table.depth_known:
        return tuple(WITHOUT_DEPTH.split())
    left_out = {
        "cap_left_mm": np.all(np.isnan(table.cap_left_mm)),
        "short": not table.short.any(),
        "set_up_net_deg": table.set_up is table.now,
        "strung_net_deg": table.strung is None,
        "leave_mm": later is None,
        "planed_sink_mm": table.aimed is not State.STRUNG and table.strung is None,
    }
    return tuple(name for name in SHOWN.split() if not left_out.get(name))


def _headline(
    board: Board,
    table: PlaneTable,
    spread: RimRange | None,
    units: Units,
    deepest: int,
    sureness: Sureness | None,
    later: Later | None,
) -> tuple[str, ...]:
    if not table.depth_known:
        return (
            no_depth(board),
            f"Block: laid on the rear rest of the {state_words(table.working)}, its thread makes the angle wanted "
            "there, before the strings.",
        )
    now = table.now
    depth = max(float(table.faired_front_mm[deepest]), float(table.faired_rear_mm[deepest]))
    lines = []
    if depth > 0.0:
        lines.append(
            f"Cut up to {said('faired_front_mm', depth, units)}, deepest at {note_words(int(now.note[deepest]))}."
        )
    else:
        lines.append("Nothing to cut: the bridge is nowhere too high.")
    got = off_target(
        "you_get_deg",
        table.faired.net_deg,
        table.faired.target_net_deg,
        now.note.tolist(),
        board.rules.bearing_tolerance_deg,
    )
    lines += () if later is None else _left(later, now, units)
    when = f"{table.aimed.value.capitalize()} after that" if later is None else f"Strung, {later.words} after that"
    lines.append(f"{when}, {got}")
    strung = table.strung or table.faired
    if strung.state is not State.STRUNG:
        lines.append("How far the strings press the board down is not known, so neither is the bearing under them.")
    elif np.isfinite(strung.total_downforce_N):
        then = "will" if later is None else "then"
        lines.append(f"The strings {then} press {said('total.downforce_N', strung.total_downforce_N, units)} in all.")
    lines.append(sure(table.faired.sink_source, spread))
    lines += [] if sureness is None else sureness.words("you_get_deg", now.name)
    short = int(np.count_nonzero(table.short))
    if short:
        lines.append(f"In the way: wood is short at {counted(short, 'note')}; what would mend it follows.")
    return tuple(line for line in lines if line)


def no_depth(board: Board) -> str:
    """Why no depth can be given, and what would give one."""
    return UNKNOWN.format(measured=State.BARE.value if board.measured_in.under_strings else board.measured_in.value)


def cure_text(cure: Cure, units: Units) -> str:
    """What would mend the short notes of a section."""
    whole = "" if np.isnan(cure.cap_mm) else f" ({said('cap_mm', cure.cap_mm, units)} in all)"
    lacking = said("short_mm", cure.short_mm, units)
    worst = f" at note {cure.worst_note}" if len(cure.notes) > 1 else ""
    ways = [f"a cap thicker by {lacking}{whole}"]
    for name, words in (
        ("plate_down_mm", "the plate lower by {}"),
        ("rest_down_mm", "the rear rest lower by {}" if len(cure.notes) == 1 else "the rear rests lower by up to {}"),
        ("back_mm", f"the rear rest nearer, for a back length of {{}}{worst}"),
        ("front_share", "a front share of {}"),
        ("reachable_deg", f"a target of {{}}{worst}, which is what it gets"),
    ):
        value = getattr(cure, name)
        if np.isfinite(value):
            ways.append(words.format(said(name, value, units)))
    listed = ways[0] if len(ways) == 1 else f"{', '.join(ways[:-1])}, or {ways[-1]}"
    upto = "up to " if len(cure.notes) > 1 else ""
    return f"{notes_in_words(cure.notes)}: {upto}{lacking} short. {listed[0].upper()}{listed[1:]}."


def plate_part(plate: PlateSetting) -> dict[str, Any]:
    """The plate's setting, with its move at each support."""
    supports = [{"support": name, "move_mm": move} for name, move in zip(plate.supports, plate.move_mm.tolist())]
    keys = ("up_mm", "tilt_x_mm_per_m", "tilt_y_mm_per_m", "short_mm", "binding")
    return {
        **{key: getattr(plate, key) for key in keys},
        "supports": rows_of("supports", ("support", "move_mm"), supports),
    }


def plate_text(plate: PlateSetting, units: Units, kind: PianoKind) -> str:
    """The plate's setting as a dowel schedule."""
    moves = [
        f"{name}: {'up' if move >= 0.0 else 'down'} {said('move_mm', abs(move), units, signed=False)}"
        for name, move in zip(plate.supports, plate.move_mm.tolist())
    ]
    whole = f"{'at the origin of the plan' if plate.tilts else 'all over'}: {move_words(plate, units, kind)}"
    return paragraph(f"The plate first. {setting_words(plate, units)}", moves or [f"{whole} (up positive)"])


def move_words(move: PlateMove, units: Units, kind: PianoKind) -> str:
    """How far the plate goes up, and how it tilts where it does."""
    words = said("up_mm", move.up_mm, units)
    if move.tilts:
        along, across = (said(f"tilt_{axis}_mm_per_m", getattr(move, f"tilt_{axis}_mm_per_m"), units) for axis in "xy")
        words += f", and further by {along} towards the treble and {across} towards the {kind.far}"
    return words


def setting_words(plate: PlateSetting, units: Units) -> str:
    """What holds the plate's setting, or what it leaves lacking."""
    held = ", ".join(f"{note} ({note_name(note)})" for note in plate.binding)
    lacking = said("short_mm", plate.short_mm, units)
    if plate.by_hand:
        left = f"{lacking} is lacking at {held}" if plate.short_mm > 0.0 else "every note can be planed to target"
        return f"Set as it was told: {left}."
    if plate.short_mm > 0.0:
        return f"No setting lets every note be planed to target: {lacking} is lacking at {held}."
    return f"Every note can be planed to target; the setting is held by {held or 'the supports'}."
