"""Crown of an old board, its loss, and what can still be got, told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerTable, rows_of, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.answers.notes import note_words, shown_places
from bellywork.board.arrays import Floats
from bellywork.conventions import note_name
from bellywork.geometry.reference_notes import reference_notes
from bellywork.measures import MEASURES, Units, are, counted
from bellywork.quantities import said
from bellywork.survey.again import again
from bellywork.survey.aged import Aged
from bellywork.survey.loss import KILLER_OCTAVE, RibLoss, Survey
from bellywork.survey.recovery import Best, PlateAdvice, short_now
from bellywork.survey.surface import Curvature

SCHEMA = "bellywork-crown/3"
FORM = FORMS[SCHEMA]
RIBS = (
    "rib state span_mm rise_mm rise_uncertainty_mm radius_mm shape as_made_mm rib.sink_mm moisture_mm expected_rise_mm "
    "set_mm set_uncertainty_mm rib.notes"
)
UNREAD = "rib as_made_mm set_mm set_uncertainty_mm rib.notes"
NOTES = "note name set_mm target_net_deg net_deg_now net_deg_best net_deg_recap recap_mm"


def crown_answer(
    name: str,
    survey: Survey,
    got: Best,
    curved: Curvature,
    *,
    units: Units,
    every: bool = False,
    aged: Aged | None = None,
) -> Answer:
    """The answer of `bellywork crown`.

    every   show every note, not only the reference notes and the worst
    aged    the set against an ordinary life of so many years; None: not asked for
    """
    ribs, notes, back, years = ribs_table(survey), notes_table(survey, got), spring_back(survey), aged_table(aged)
    unread, next_ = unread_table(survey), again_table(survey)
    tables = {table.key: table for table in (ribs, unread, notes, years, next_)}
    rows = shown_places(every, reference_notes(survey.bare), _worst(survey, got))
    looked = look_at(survey, units)
    softness = [View(title="When the strings came off", table=back, legend=False)] if survey.softness.measured else []
    return Answer(
        schema=SCHEMA,
        title=f"{name}: crown and its loss",
        headline=(*crown_headline(survey, got, units), *_beyond(aged, units)),
        body=(
            View(title="Ribs, those under octaves 5 and 6 first", table=ribs.only(*RIBS.split())),
            *(
                [View(title="Not read, and guessed from the others", table=unread.only(*UNREAD.split()), legend=False)]
                if len(unread)
                else []
            ),
            View(title="What to read next", table=next_),
            *([] if aged is None else [View(title=_years_title(aged), table=years)]),
            *softness,
            View(title="Bearing under the strings", table=notes.only(*NOTES.split()), rows=rows),
        ),
        parts=dict(filled(FORM, {**_parts(survey, got, curved, back), **tables, "to_look_at": looked})),
        table=notes,
        findings=survey.findings,
        to_look_at=looked,
        assumptions=(*survey.assumptions, *(() if aged is None else aged.assumptions)),
        act=bool(survey.findings or looked),
        left_out="" if every else "Shown are the reference notes and the worst; --all shows every note.",
        units=units,
    )


def _parts(survey: Survey, got: Best, curved: Curvature, back: AnswerTable) -> dict[str, Any]:
    """What JSON has besides the tables on the screen."""
    plate = [{"place": place, "mm": rise, "uncertainty_mm": wide} for place, (rise, wide) in survey.plate_mm.items()]
    move = {"move_mm": got.move_mm.tolist(), "support": got.supports}
    best = {
        "advice": got.advice.value,
        "plate_up_mm": got.up_mm,
        "plate_tilt_x_mm_per_m": got.tilt_x_mm_per_m,
        "plate_tilt_y_mm_per_m": got.tilt_y_mm_per_m,
        "held_by": got.binding,
        "unreached": [int(survey.note[k]) for k in got.unreached],
        "best.crown_left_mm": got.crown_left_mm,
        "recap_share": got.recap_share,
        "recap_sure": got.recap_sure,
        "recap_held": got.recap_held,
        "supports": table_of("supports", ("support", "move_mm"), move),
    }
    return {
        "curvature": table_of("curvature", FORM.part("curvature").quantities, curved, survey),
        "softness": {**vars(survey.softness), "spring_back": back},
        "plate_rise_mm": plate,
        "gauges": [{**vars(each), "state": each.state.value} for each in survey.gauges],
        "best": best,
        "written": survey.field.written,
        "looser": survey.field.looser,
    }


def aged_table(aged: Aged | None) -> AnswerTable:
    """Each rib's set against what the years alone take; no rows where none were asked for."""
    ribs = () if aged is None else aged.ribs

    def each(name: str) -> Floats:
        return np.array([getattr(rib, name) for rib in ribs], dtype=float)

    values = {"rib": [rib.rib for rib in ribs], **{name: each(name) for name in ("set_mm", "normal_mm", "beyond_mm")}}
    bands = {f"{name}_mm": (each(f"{name}_low_mm"), each(f"{name}_high_mm")) for name in ("normal", "beyond")}
    return table_of("aged", FORM.part("aged").quantities, values, bands=bands)


def _years_title(aged: Aged) -> str:
    return f"Set against what {_years(aged)} of such a board's crown"


def _years(aged: Aged) -> str:
    return "1 year alone takes" if aged.years == 1.0 else f"{aged.years:g} years alone take"


def _beyond(aged: Aged | None, units: Units) -> tuple[str, ...]:
    """Whether more is lost than the years alone take, in a sentence."""
    if aged is None:
        return ()
    more = [rib for rib in aged.ribs if rib.beyond_low_mm > 0.0]
    if not more:
        return (f"Nowhere is more lost than {_years(aged)}, as far as that can be told.",)
    worst = max(more, key=lambda rib: rib.beyond_mm)
    return (
        f"More is lost than {_years(aged)} at {'rib' if len(more) == 1 else 'ribs'} "
        f"{', '.join(rib.rib for rib in more)}: most at rib {worst.rib}, {said('beyond_mm', worst.beyond_mm, units)} "
        f"beyond the {said('normal_mm', worst.normal_mm, units)} of its years.",
    )


def ribs_table(survey: Survey) -> AnswerTable:
    """Each rib in each state."""
    low, high = np.array([rib.read.radius_range_mm for rib in survey.ribs]).reshape(-1, 2).T
    table = rows_of("ribs", FORM.part("ribs").quantities, [_rib(rib) for rib in survey.ribs])
    return table.with_band("radius_mm", (low, high))


def unread_table(survey: Survey) -> AnswerTable:
    """Ribs that nobody read, as those that were read let them be guessed."""
    quantities = FORM.part("unread").quantities
    return rows_of("unread", quantities, [{**vars(rib), "killer_octave": rib.killer} for rib in survey.unread])


def again_table(survey: Survey) -> AnswerTable:
    """What to read next, or again."""
    return rows_of("again", FORM.part("again").quantities, again(survey))


def _rib(rib: RibLoss) -> dict[str, Any]:
    return {
        **vars(rib.read),
        "radius_mm": rib.read.radius_mm,
        **vars(rib),
        "state": rib.state.value,
        "killer_octave": rib.killer,
        "shape": rib.read.shape.value,
        "misread": [int(k) + 1 for k in rib.read.outliers],
        "expected_rise_mm": rib.expected_mm,
    }


def notes_table(survey: Survey, got: Best) -> AnswerTable:
    """The bearing of each note now, and what could be got."""
    values = {
        "name": [note_name(note) for note in survey.note.tolist()],
        "target_net_deg": got.target_deg,
        "net_deg_now": survey.net_deg,
        "net_deg_best": got.net_deg,
        "net_deg_recap": got.recap_net_deg,
        "recap_mm": got.recap_mm,
    }
    wide = survey.set_uncertainty_mm
    bands = {**got.bands, "set_mm": (survey.set_mm - wide, survey.set_mm + wide)}
    return table_of("notes", FORM.part("notes").quantities, values, survey, bands=bands)


def spring_back(survey: Survey) -> AnswerTable:
    """What came back when the strings came off, as read and as the model has it."""
    quantities = FORM.part("softness").part("spring_back").quantities
    return table_of("spring_back", quantities, {"what": survey.softness.names}, survey.softness)


def _worst(survey: Survey, got: Best) -> int:
    return int(np.argmin(survey.net_deg - got.target_deg))


def crown_headline(survey: Survey, got: Best, units: Units) -> tuple[str, ...]:
    """What is left and where, how sure that is, what could be got and what not, what to read again, in sentences."""
    soft = survey.softness
    lines = [
        *([_written(survey)] if survey.field.written else []),
        *_crown_words(survey, units),
        *_unread_words(survey, units),
        _bearing_words(survey, got),
        *_plate_words(survey, got, units),
        _cap_words(survey, got, units),
        *_again_words(survey, units),
    ]
    if soft.measured:
        lines.append(
            f"This board is {soft.factor:.2f} ± {soft.uncertainty:.2f} times as soft as described; 'bearing' and "
            "'plane' go by that too."
        )
    lines += [
        f"The plate {'rose' if rise > 0 else 'dropped'} {said('mm', abs(rise), units)} ± "
        f"{said('uncertainty_mm', wide_mm, units)} at {place} when the strings came off: that much of a bearing change "
        "there is plate, not board."
        for place, (rise, wide_mm) in survey.plate_mm.items()
    ]
    return tuple(lines)


def _written(survey: Survey) -> str:
    return (
        f"Look at this first: all these readings together would be far likelier had they been read "
        f"{survey.field.written}. Until that is settled nothing below can be trusted."
    )


def _crown_words(survey: Survey, units: Units) -> list[str]:
    """How much crown is gone, and where the ribs are no domes any more."""
    sure = [rib for rib in survey.surest.values() if rib.set_mm > rib.set_uncertainty_mm]
    most = max(survey.surest.values(), key=lambda rib: rib.set_mm)
    told = (
        f"rib {most.rib}, {said('set_mm', most.set_mm, units)} ± "
        f"{said('set_uncertainty_mm', most.set_uncertainty_mm, units)} of the "
        f"{said('as_made_mm', most.as_made_mm, units)} it was made with"
    )
    count = f"{len(sure)} of the {counted(len(survey.surest), 'rib')} that were read"
    lines = [f"Crown is lost for good at {count}: most at {told}." if sure else f"No set is sure; most: {told}."]
    kinds = {"reversed": "reversed", "flat": "flat within what was read", "S": "in an S"}
    names = {kind: [rib.rib for rib in survey.surest.values() if rib.read.shape.value == kind] for kind in kinds}
    told_kinds = [f"{_ribs_named(ribs)} {are(len(ribs))} {kinds[kind]}" for kind, ribs in names.items() if ribs]
    return lines + ([f"As read: {'; '.join(told_kinds)}."] if told_kinds else [])


def _ribs_named(names: Sequence[str]) -> str:
    return f"{'rib' if len(names) == 1 else 'ribs'} {', '.join(names)}"


def _unread_words(survey: Survey, units: Units) -> list[str]:
    """That ribs were not read, and how little is known of them."""
    if not survey.unread:
        return []
    worst = max(survey.unread, key=lambda rib: rib.set_uncertainty_mm)
    killer, names = [rib.rib for rib in survey.unread if rib.killer], [rib.rib for rib in survey.unread]
    under = f"; {', '.join(killer)} under octaves 5 and 6" if killer else ""
    were, them = ("was", "it") if len(names) == 1 else ("were", "them")
    return [
        f"Not known: {_ribs_named(names)} {were} not read{under}. What plate and cap do to {them} is guessed from the "
        f"others: at rib {worst.rib} a set of {said('set_mm', worst.set_mm, units)} ± "
        f"{said('set_uncertainty_mm', worst.set_uncertainty_mm, units)}."
    ]


def _bearing_words(survey: Survey, got: Best) -> str:
    worst, short = _worst(survey, got), len(short_now(survey, got))
    low, high = (float(end[worst]) for end in got.bands["net_deg_now"])
    killer = np.isin(survey.note, KILLER_OCTAVE)
    ends = "" if not np.any(killer) else (
        f"; octaves 5 and 6 have {said('net_deg', float(survey.net_deg[killer].min()))} to "
        f"{said('net_deg', float(survey.net_deg[killer].max()))}"
    )  # fmt: skip
    return (
        f"Under the strings {short} of {counted(len(survey.note), 'note')} {are(short)} below "
        f"{'its' if short == 1 else 'their'} target{ends}. Least against its target: "
        f"{note_words(int(survey.note[worst]))}, {said('net_deg', float(survey.net_deg[worst]))} ± "
        f"{said('net_deg', (high - low) / 2.0)}, {said('net_deg', float(got.target_deg[worst]))} wanted."
    )


def _plate_words(survey: Survey, got: Best, units: Units) -> list[str]:
    if got.advice is PlateAdvice.LEAVE:
        return ["Leave the plate: no note is below its target."]
    if got.advice is PlateAdvice.NONE_HELPS:
        return ["Leave the plate: no setting within its limits brings the notes nearer that are below their target."]
    short, moves = len(got.unreached), zip(got.supports, got.move_mm)
    told = ", ".join(f"{name} {said('move_mm', float(move), units)}" for name, move in moves)
    held = f" It is held by {'; '.join(got.binding)}." if got.binding else ""
    left = (
        f"leaves {counted(short, 'note')} of {len(survey.note)} below {'its' if short == 1 else 'their'} target"
        if short
        else "brings every note to its target"
    )
    return [
        f"The best plate setting without planing {left}: {said('plate_up_mm', got.up_mm, units)} at the origin"
        + (f"; at the supports {told}." if told else ".")
        + held,
        _to_take(got, units),
    ]


def _cap_words(survey: Survey, got: Best, units: Units) -> str:
    if got.recap_share < 1.0:
        return (
            f"A new cap can go {said('recap_share', got.recap_share)} of the way to the targets: more would press "
            f"{_ribs_named(got.recap_held)} flat. Neither brings crown back: only new crowned ribs "
            "or a new board do (common practice)."
        )
    sure = ""
    if got.recap_sure < 1.0:
        sure = (
            " That is if the ribs that were not read have lost no more than is guessed: surely (95 %) it can go "
            f"{said('recap_share', got.recap_sure)} of the way."
        )
    most = int(np.argmax(got.recap_mm))
    if got.recap_mm[most] <= 0.0:
        return f"No new cap is needed: the wood that stands can be planed to every target.{sure}"
    return (
        f"A new cap can reach every target: it gains up to {said('recap_mm', float(got.recap_mm[most]), units)}, at "
        f"{note_words(int(survey.note[most]))}.{sure}"
    )


def _again_words(survey: Survey, units: Units) -> list[str]:
    """The two readings to repeat or to make first."""
    told: list[str] = []
    for each in again(survey)[:2]:
        at = said("again.at_mm", each.at_mm, units)
        told.append(
            f"rib {each.rib} in its middle, which nobody read"
            if each.why == "not read"
            else f"rib {each.rib} at {at}, {each.state}, where it was misread"
            if each.why == "misread"
            else f"rib {each.rib} at {at}"
        )
    return [f"Read first: {'; then '.join(told)}."] if told else []


def _to_take(got: Best, units: Units) -> str:
    """How the other commands take the setting up."""
    up, *tilts = (
        MEASURES[measure].text(value, units).strip()
        for measure, value in (
            ("height", got.up_mm),
            ("tilt", got.tilt_x_mm_per_m),
            ("tilt", got.tilt_y_mm_per_m),
        )
    )
    return f"'bearing', 'plane' and 'sheet' take it as: --plate-up={up} --tilt={','.join(tilts)}"


def look_at(survey: Survey, units: Units) -> tuple[str, ...]:
    """What was misread, or is not as a crown should be, in sentences."""
    told = [_written(survey)] if survey.field.written else []
    if survey.field.looser > 1.0:
        told.append(
            f"The threads scatter {survey.field.looser:.1f} times as much as their uncertainty allows; "
            "what is told of every rib is widened by that."
        )
    for rib in survey.ribs:
        for k in rib.read.outliers.tolist():
            off = said("residual_mm", float(rib.read.residual_mm[k]), units, signed=True)
            told.append(
                f"Rib {rib.rib}, {rib.state.value}: reading {k + 1} is {off} off what the others say; it is left out. "
                "Read it again."
            )
    for rib in survey.surest.values():
        if rib.read.shape.value in ("reversed", "S"):
            what = "reversed" if rib.read.shape.value == "reversed" else "S-shaped: up on one side, down on the other"
            told.append(f"Rib {rib.rib} is {what} ({rib.state.value}).")
        elif rib.read.bent_mm:
            told.append(
                f"Rib {rib.rib} is bent locally: {said('residual_mm', abs(rib.read.bent_mm), units)} "
                f"{'above' if rib.read.bent_mm > 0.0 else 'below'} its arc at "
                f"{said('again.at_mm', rib.read.bent_at_mm, units)} of its thread ({rib.state.value})."
            )
        if rib.set_mm < -rib.set_uncertainty_mm:
            told.append(
                f"Rib {rib.rib} stands {said('set_mm', -rib.set_mm, units)} ± "
                f"{said('set_uncertainty_mm', rib.set_uncertainty_mm, units)} higher than it was made: look at its "
                "radius in ribs.csv."
            )
    for each in survey.gauges:
        if each.misread:
            told.append(
                f"The bearing gauge at {note_words(each.note)} says {said('net_deg', each.net_deg)} net, the heights "
                f"{said('by_heights_deg', each.by_heights_deg)}: one of the two was misread."
            )
    return tuple(told)
