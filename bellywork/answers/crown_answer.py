"""Crown of an old board, its loss, and what can still be got, told."""

from __future__ import annotations

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
from bellywork.survey.aged import Aged
from bellywork.survey.loss import RibLoss, Survey
from bellywork.survey.recovery import Best, short_now
from bellywork.survey.surface import Curvature

SCHEMA = "bellywork-crown/2"
FORM = FORMS[SCHEMA]
RIBS = (
    "rib state span_mm rise_mm rise_uncertainty_mm radius_mm shape as_made_mm rib.sink_mm moisture_mm expected_rise_mm "
    "set_mm set_uncertainty_mm rib.notes"
)
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
    rows = shown_places(every, reference_notes(survey.bare), _worst(survey, got))
    looked = look_at(survey, units)
    softness = [View(title="When the strings came off", table=back, legend=False)] if survey.softness.measured else []
    return Answer(
        schema=SCHEMA,
        title=f"{name}: crown and its loss",
        headline=(*crown_headline(survey, got, units), *_beyond(aged, units)),
        body=(
            View(title="Ribs, those under octaves 5 and 6 first", table=ribs.only(*RIBS.split())),
            *([] if aged is None else [View(title=_years_title(aged), table=years)]),
            *softness,
            View(title="Bearing under the strings", table=notes.only(*NOTES.split()), rows=rows),
        ),
        parts=_parts(survey, got, curved, ribs, notes, back, looked, years),
        table=notes,
        findings=survey.findings,
        to_look_at=looked,
        assumptions=(*survey.assumptions, *(() if aged is None else aged.assumptions)),
        act=bool(survey.findings or looked),
        left_out="" if every else "Shown are the reference notes and the worst; --all shows every note.",
        units=units,
    )


def _parts(
    survey: Survey,
    got: Best,
    curved: Curvature,
    ribs: AnswerTable,
    notes: AnswerTable,
    back: AnswerTable,
    looked: tuple[str, ...],
    years: AnswerTable,
) -> dict[str, Any]:
    plate = [{"place": place, "mm": rise, "uncertainty_mm": wide} for place, (rise, wide) in survey.plate_mm.items()]
    move = {"move_mm": got.move_mm.tolist(), "support": got.supports}
    best = {
        "plate_up_mm": got.up_mm,
        "plate_tilt_x_mm_per_m": got.tilt_x_mm_per_m,
        "plate_tilt_y_mm_per_m": got.tilt_y_mm_per_m,
        "held_by": got.binding,
        "unreached": [int(survey.note[k]) for k in got.unreached],
        "supports": table_of("supports", ("support", "move_mm"), move),
    }
    gauges = [{**vars(each), "state": each.state.value} for each in survey.gauges]
    values = {
        "ribs": ribs,
        "notes": notes,
        "curvature": table_of("curvature", FORM.part("curvature").quantities, curved, survey),
        "softness": {**vars(survey.softness), "spring_back": back},
        "plate_rise_mm": plate,
        "gauges": gauges,
        "best": {**best, "best.crown_left_mm": got.crown_left_mm, "recap_share": got.recap_share, "stayed": got.stayed},
        "aged": years,
        "to_look_at": looked,
    }
    return dict(filled(FORM, values))


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
    return rows_of("ribs", FORM.part("ribs").quantities, [_rib(rib) for rib in survey.ribs])


def _rib(rib: RibLoss) -> dict[str, Any]:
    return {
        **vars(rib.fit),
        **vars(rib),
        "state": rib.state.value,
        "killer_octave": rib.killer,
        "shape": rib.fit.shape.value,
        "misread": [int(k) + 1 for k in rib.fit.outliers],
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
    return table_of("notes", FORM.part("notes").quantities, values, survey)


def spring_back(survey: Survey) -> AnswerTable:
    """What came back when the strings came off, as read and as the model has it."""
    quantities = FORM.part("softness").part("spring_back").quantities
    return table_of("spring_back", quantities, {"what": survey.softness.names}, survey.softness)


def _worst(survey: Survey, got: Best) -> int:
    return int(np.argmin(survey.net_deg - got.target_deg))


def crown_headline(survey: Survey, got: Best, units: Units) -> tuple[str, ...]:
    """What was found and what could be got, in sentences."""
    worst = _worst(survey, got)
    most = max(survey.surest.values(), key=lambda rib: rib.set_mm)
    wide = said("set_uncertainty_mm", most.set_uncertainty_mm, units)
    held = f" It is held by {'; '.join(got.binding)}." if got.binding else ""
    moves = ", ".join(f"{name} {said('move_mm', float(move), units)}" for name, move in zip(got.supports, got.move_mm))
    soft, now = survey.softness, short_now(survey, got)
    lines = [
        f"{'Most set' if most.set_mm > most.set_uncertainty_mm else 'No set is sure; most'}: rib {most.rib}, "
        f"{said('set_mm', most.set_mm, units)} ± {wide} over {said('span_mm', most.fit.span_mm, units)}.",
        f"Least bearing against its target: {note_words(int(survey.note[worst]))}, "
        f"{said('net_deg', float(survey.net_deg[worst]))} now, {said('net_deg', float(got.target_deg[worst]))} wanted.",
        "No plate setting within its limits was found: it stays as it is."
        if got.stayed
        else f"Best plate setting without planing: {said('plate_up_mm', got.up_mm, units)} at the origin"
        + (f"; at the supports {moves}." if moves else ".")
        + held,
        f"With it {len(got.unreached)} of {counted(len(survey.note), 'note')} {are(len(got.unreached))} below "
        f"{'its' if len(got.unreached) == 1 else 'their'} target, "
        f"{len(now)} {are(len(now))} now; it brings the board as a whole nearest to the targets."
        if got.unreached
        else "With it every note reaches its target.",
        *(() if got.stayed else (_to_take(got, units),)),
    ]
    if got.recap_share < 1.0:
        share = said("recap_share", got.recap_share)
        lines.append(f"A new cap can go {share} of the way to the targets: more would press a rib flat.")
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
    told = []
    for rib in survey.ribs:
        for k in rib.fit.outliers.tolist():
            off = said("residual_mm", float(rib.fit.residual_mm[k]), units, signed=True)
            told.append(
                f"Rib {rib.rib}, {rib.state.value}: reading {k + 1} is {off} off what the others say; it is left out. "
                "Read it again."
            )
    for rib in survey.surest.values():
        if rib.fit.shape.value in ("reversed", "S"):
            what = "reversed" if rib.fit.shape.value == "reversed" else "S-shaped: up on one side, down on the other"
            told.append(f"Rib {rib.rib} is {what} ({rib.state.value}).")
    for each in survey.gauges:
        if each.misread:
            told.append(
                f"The bearing gauge at {note_words(each.note)} says {said('net_deg', each.net_deg)} net, the heights "
                f"{said('by_heights_deg', each.by_heights_deg)}: one of the two was misread."
            )
    return tuple(told)
