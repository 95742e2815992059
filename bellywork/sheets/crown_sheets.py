"""The crown report for the bench, and the owner's page on paper."""

from __future__ import annotations

import numpy as np

from bellywork.answers.crown_answer import notes_table, ribs_table
from bellywork.board.arrays import Floats
from bellywork.geometry.reference_notes import reference_notes
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork.sheets.flow import Block, Heading, Sentences, SheetColumn, SheetGrid
from bellywork.sheets.grids import grid_of
from bellywork.sheets.plot import Curve, plotted
from bellywork.sheets.sheet_pages import Sheet
from bellywork.survey.loss import Survey
from bellywork.survey.owner_page import USUAL, owner_told
from bellywork.survey.recovery import Best

CAUTIONS = (
    "Let tension down in rounds over the whole compass; old boards with little crown bear little load.",
    "Do not stress a plate with nose bolts or uneven supports.",
)
OWNER_CAUTIONS = ("Leave strings and plate to those who are trained for it.",)


def crown_sheet(survey: Survey, best: Best, units: Units = METRIC) -> Sheet:
    """Every rib as read, what is load and what is set, the bearing now and what could be got; boxes to read again."""
    line = survey.bare
    shown = np.flatnonzero(reference_notes(line)).tolist()
    nets = (
        ("target_net_deg", best.target_deg),
        ("net_deg_now", survey.net_deg),
        ("net_deg_best", best.net_deg),
        ("net_deg_recap", best.recap_net_deg),
    )
    blocks: list[Block] = [
        Heading(text="Ribs, those under octaves 5 and 6 first"),
        _ribs(survey, units),
        Heading(text="Set under the bridge"),
        plotted(
            [_curve(survey, "set_mm", survey.set_mm, units)],
            x_words="note",
            y_words=QUANTITIES["set_mm"].axis(units),
            width_mm=250.0,
        ),
        Heading(text="Net bearing, strung"),
        plotted(
            [_curve(survey, name, values, units) for name, values in nets],
            x_words="note",
            y_words=QUANTITIES["net_deg"].axis(units),
            width_mm=250.0,
        ),
        Heading(text="Reference notes"),
        _notes(survey, best, shown, units),
        Heading(text="What this stands on"),
        Sentences(lines=survey.assumptions),
    ]
    return Sheet(name="crown", title="Crown report", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def _curve(survey: Survey, name: str, values: Floats, units: Units) -> Curve:
    """A quantity over the notes, under its own label."""
    quantity = QUANTITIES[name]
    return Curve(name=quantity.label, x=survey.note.astype(float), y=np.array(quantity.outside(values, units)))


def owner_sheet(survey: Survey, best: Best) -> Sheet:
    """The owner's page, on paper: the words and the picture of `survey.owner_page`."""
    page = owner_told(survey, best)
    place = np.arange(1.0, len(page.rows) + 1.0)
    rows = [["dome under the notes", "made with, mm", "now, without strings, mm"]]
    rows += [[row.where, f"{row.made_mm:.1f}", f"{row.now_mm:.1f} ± {row.sure_mm:.1f}"] for row in page.rows]
    curves = [
        Curve(name="as made", x=place, y=np.array([row.made_mm for row in page.rows])),
        Curve(name="now", x=place, y=np.array([row.now_mm for row in page.rows])),
    ]
    blocks: list[Block] = [
        Sentences(lines=(*page.first, page.measured)),
        plotted(curves, x_words="ribs, from the bass", y_words="dome without strings, mm", width_mm=170.0),
        _table(rows),
        Heading(text="What could be done"),
        Sentences(lines=page.could),
        *((Sentences(lines=tuple(f"To be measured again: {each}." for each in page.again)),) if page.again else ()),
        Sentences(lines=(USUAL,)),
    ]
    return Sheet(name="owner", title="For the owner", cautions=OWNER_CAUTIONS, blocks=tuple(blocks))


def _table(rows: list[list[str]]) -> SheetGrid:
    head, *body = rows
    width = [max(len(row[k]) for row in rows) for k in range(len(head))]
    columns = tuple(
        SheetColumn(head=head[k], left=True, share=float(max(width[k], 6)), cells=tuple(row[k] for row in body))
        for k in range(len(head))
    )
    return SheetGrid(columns=columns, rows=len(body))


def _ribs(survey: Survey, units: Units) -> SheetGrid:
    names = "rib state span_mm rise_mm rise_uncertainty_mm shape as_made_mm rib.sink_mm moisture_mm expected_rise_mm"
    table = ribs_table(survey).only(*names.split(), "set_mm", "set_uncertainty_mm")
    return grid_of(table, units, shares={"shape": 1.3}, boxes=("read again",))


def _notes(survey: Survey, best: Best, shown: list[int], units: Units) -> SheetGrid:
    names = "note name set_mm target_net_deg net_deg_now net_deg_best net_deg_recap recap_mm"
    return grid_of(notes_table(survey, best).only(*names.split()), units, rows=shown, boxes=("after",))
