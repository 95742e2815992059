"""The crown report for the bench, and the owner's page on paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.answers.crown_answer import (
    UNREAD,
    again_table,
    crown_headline,
    look_at,
    notes_table,
    ribs_table,
    spring_back,
    unread_table,
)
from bellywork.board.arrays import Floats
from bellywork.estimate.bands import Band
from bellywork.geometry.reference_notes import reference_notes
from bellywork.measures import MEASURES, METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork.sheets.drawing import Box, Circle, Item, Line, Pen, Polyline, Text, TextAnchor, rectangle
from bellywork.sheets.flow import Block, Figure, Heading, Sentences, SheetGrid
from bellywork.sheets.frame import SMALL_MM, fitted
from bellywork.sheets.grids import grid_of
from bellywork.sheets.plate_sheet import support_grid
from bellywork.sheets.plot import Curve, plotted, ticks
from bellywork.sheets.sheet_pages import Sheet, worded
from bellywork.survey.loss import Survey
from bellywork.survey.owner_page import PICTURE, TO_FILL, CrownRow, domes, owner_told, range_mm
from bellywork.survey.recovery import Best, PlateAdvice

CAUTIONS = (
    "Let tension down in rounds over the whole compass; old boards with little crown bear little load.",
    "Do not stress a plate with {bolts} or uneven supports.",
)
SHADED = "Grey: where the set lies (95 %). Where that holds 0 nothing is found lost, and no line is drawn."
BANDED = "Grey: 95 of 100 boards of which this is known lie there. A wanted bearing has no band."
OWNER_CAUTIONS = ("Leave strings and plate to those who are trained for it.",)


def crown_sheet(survey: Survey, best: Best, units: Units = METRIC) -> Sheet:
    """What was found and what to look at; every rib as read, what is load and what is set; what came back; the bearing
    now and what could be got; boxes to read again.
    """
    shown = np.flatnonzero(reference_notes(survey.bare)).tolist()
    nets = (
        ("target_net_deg", best.target_deg),
        ("net_deg_now", survey.net_deg),
        ("net_deg_best", best.net_deg),
        ("net_deg_recap", best.recap_net_deg),
    )
    looked = (*map(str, survey.findings), *look_at(survey, units))
    plate = () if best.advice is not PlateAdvice.SET else support_grid(survey.board.plate, best, units)
    blocks: list[Block] = [
        Sentences(lines=crown_headline(survey, best, units), plain=True),
        *((Heading(text="To look at"), Sentences(lines=looked)) if looked else ()),
        Heading(text="Ribs, those under octaves 5 and 6 first"),
        _ribs(survey, units),
        *((Heading(text="Not read, and guessed from the others"), _unread(survey, units)) if survey.unread else ()),
        Heading(text="What to read next"),
        grid_of(again_table(survey), units, boxes=("read",)),
        *(
            (Heading(text="When the strings came off"), grid_of(spring_back(survey), units, shares={"what": 2.0}))
            if survey.softness.measured
            else ()
        ),
        Heading(text="Set under the bridge"),
        Sentences(lines=(SHADED,), plain=True),
        plotted([set_curve(survey, units)], x_words="note", y_words=QUANTITIES["set_mm"].axis(units), width_mm=190.0),
        Heading(text="Net bearing, strung"),
        Sentences(lines=(BANDED,), plain=True),
        plotted(
            [_curve(survey, name, values, units, best.bands.get(name)) for name, values in nets],
            x_words="note",
            y_words=QUANTITIES["net_deg"].axis(units),
            width_mm=190.0,
        ),
        Heading(text="Reference notes"),
        _notes(survey, best, shown, units),
        *((Heading(text="The plate, set so"), *plate) if plate else ()),
        Heading(text="What this stands on"),
        Sentences(lines=survey.assumptions),
    ]
    return Sheet(name="crown", title="Crown report", cautions=worded(CAUTIONS, survey.board.kind), blocks=tuple(blocks))


def _curve(survey: Survey, name: str, values: Floats, units: Units, band: Band | None) -> Curve:
    """A quantity over the notes, under its own label, with its band where it has one."""
    quantity = QUANTITIES[name]
    ends = None if band is None else tuple(np.array(quantity.outside(end, units)) for end in band)
    return Curve(
        name=quantity.label,
        x=survey.note.astype(float),
        y=np.array(quantity.outside(values, units)),
        band=None if ends is None else (ends[0], ends[1]),
    )


def set_curve(survey: Survey, units: Units) -> Curve:
    """The set under each note with its band; without a line where that holds 0."""
    quantity, wide = QUANTITIES["set_mm"], survey.set_uncertainty_mm
    found = np.where(np.abs(survey.set_mm) > wide, survey.set_mm, np.nan)
    low, high = (np.array(quantity.outside(survey.set_mm + sign * wide, units)) for sign in (-1.0, 1.0))
    return Curve(
        name=quantity.label,
        x=survey.note.astype(float),
        y=np.array(quantity.outside(found, units)),
        band=(low, high),
    )


def owner_sheet(survey: Survey, best: Best, units: Units = METRIC) -> Sheet:
    """The owner's page, on paper: the words and the picture of `survey.owner_page`."""
    page = owner_told(survey, best, units)
    blocks: list[Block] = [
        Heading(text=f"{page.name}: the soundboard"),
        Sentences(lines=page.first, plain=True),
        Sentences(lines=(page.measured,), plain=True),
        owner_figure(page.rows, units),
        Heading(text="What could be done"),
        Sentences(lines=page.could),
        *((Sentences(lines=tuple(f"To be measured again: {each}." for each in page.again)),) if page.again else ()),
        Sentences(lines=(page.usual,), plain=True),
        _to_fill(),
    ]
    return Sheet(name="owner", title="For the owner", cautions=OWNER_CAUTIONS, blocks=tuple(blocks))


NAMES_MM, NUMBERS_MM, DOMES_MM, LINE_MM = 50.0, 50.0, 190.0, 6.0  # the owner's picture: its columns and a line of it


def owner_figure(rows: Sequence[CrownRow], units: Units = METRIC) -> Figure:
    """The dome as it is against as it was: ring as made, dot as it is on a bar for how sure, and both in numbers."""
    low, high = range_mm(rows)
    left, right = NAMES_MM, DOMES_MM - NUMBERS_MM
    under = 2 * LINE_MM + 2.0
    top = under + LINE_MM * len(rows)

    def x(mm: float) -> float:
        return left + (mm - low) / (high - low) * (right - left)

    items: list[Item] = []
    measure = MEASURES["dome"]
    scale = measure.outside(1.0, units)
    for value in ticks(low * scale, high * scale):
        mm = value / scale
        pen = Pen.FRAME if mm == 0.0 else Pen.FAINT
        items.append(Line(start=(x(mm), under - 1.0), end=(x(mm), top), pen=pen))
        items.append(
            Text(
                at=(x(mm), under - 4.6),
                text=domes(value, 0 if scale == 1.0 else 1),
                size_mm=SMALL_MM,
                anchor=TextAnchor.MIDDLE,
            )
        )
    for k, row in enumerate(rows):
        y = top - LINE_MM * (k + 0.5)
        bar = Box(left=x(row.now_mm - row.sure_mm), right=x(row.now_mm + row.sure_mm), bottom=y - 0.9, top=y + 0.9)
        made, now, sure = (domes(mm * scale, units.of(measure)[1]) for mm in (row.made_mm, row.now_mm, row.sure_mm))
        numbers = f"made {made}, now {now} ± {sure}"
        items += [
            Text(
                at=(left - 3.0, y - 0.9),
                text=fitted(row.where, SMALL_MM, left - 4.0),
                size_mm=SMALL_MM,
                anchor=TextAnchor.RIGHT,
            ),
            rectangle(bar, pen=None, fill=0.72),
            Circle(centre=(x(row.made_mm), y), radius_mm=1.3, pen=Pen.CUT),
            disc(x(row.now_mm), y, 0.8),
            Text(at=(right + 5.0, y - 0.9), text=numbers, size_mm=SMALL_MM),
        ]
    items.append(Text(at=(0.0, 2.0), text=PICTURE.format(measure.unit(units)), size_mm=SMALL_MM))
    return Figure(height_mm=top + 1.0, items=tuple(items))


def disc(x: float, y: float, radius_mm: float) -> Polyline:
    """A filled disc."""
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    points = tuple((x + radius_mm * float(np.cos(each)), y + radius_mm * float(np.sin(each))) for each in turn)
    return Polyline(points=points, closed=True, pen=None, fill=0.0)


def _to_fill() -> Figure:
    """Lines to be filled in by hand."""
    each = DOMES_MM / len(TO_FILL)
    items: list[Item] = []
    for k, words in enumerate(TO_FILL):
        items.append(Line(start=(k * each, 5.0), end=((k + 1) * each - 4.0, 5.0), pen=Pen.FRAME))
        items.append(Text(at=(k * each, 1.5), text=words, size_mm=SMALL_MM))
    return Figure(height_mm=16.0, items=tuple(items))


def _ribs(survey: Survey, units: Units) -> SheetGrid:
    names = "rib state span_mm rise_mm rise_uncertainty_mm shape as_made_mm rib.sink_mm moisture_mm expected_rise_mm"
    table = ribs_table(survey).only(*names.split(), "set_mm", "set_uncertainty_mm")
    return grid_of(table, units, shares={"shape": 1.3, "expected_rise_mm": 1.25}, boxes=("read again",))


def _unread(survey: Survey, units: Units) -> SheetGrid:
    table = unread_table(survey).only(*UNREAD.split())
    return grid_of(table, units, boxes=("read",))


def _notes(survey: Survey, best: Best, shown: list[int], units: Units) -> SheetGrid:
    names = "note name set_mm target_net_deg net_deg_now net_deg_best net_deg_recap recap_mm"
    wide = {name: 1.5 for name in ("set_mm", "net_deg_now", "net_deg_best", "net_deg_recap")}
    return grid_of(notes_table(survey, best).only(*names.split()), units, shares=wide, rows=shown, boxes=("after",))
