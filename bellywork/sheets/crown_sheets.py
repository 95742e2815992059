"""The crown report for the bench, and the owner's page on paper."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bellywork.conventions import note_name
from bellywork.geometry.reference_notes import reference_notes
from bellywork.sheets.flow import Block, Column, Grid, Heading, Sentences
from bellywork.sheets.numbers import number
from bellywork.sheets.plot import Curve, plotted
from bellywork.sheets.sheet_pages import Sheet
from bellywork.survey.loss import RibLoss, Survey
from bellywork.survey.owner_page import owner_page
from bellywork.survey.recovery import Best

CAUTIONS = (
    "Let tension down in rounds over the whole compass; old boards with little crown bear little load.",
    "Do not stress a plate with nose bolts or uneven supports.",
)
OWNER_CAUTIONS = ("Leave strings and plate to those who are trained for it.",)


def crown_sheet(survey: Survey, best: Best) -> Sheet:
    """Every rib as read, what is load and what is set, the bearing now and what could be got, with boxes for a "
    "re-reading.
    """
    line = survey.bare
    shown = np.flatnonzero(reference_notes(line)).tolist()
    blocks: list[Block] = [
        Heading(text="Ribs, those under octaves 5 and 6 first (mm)"),
        _ribs(survey.ribs),
        Heading(text="Set under the bridge"),
        plotted(
            [Curve(name="set", x=survey.note.astype(float), y=survey.set_mm)],
            x_words="note", y_words="set, mm", width_mm=250.0,
        ),
        Heading(text="Net bearing, strung"),
        plotted(
            [
                Curve(name=name, x=survey.note.astype(float), y=values)
                for name, values in (
                    ("wanted", best.target_deg), ("now", survey.net_deg), ("plate set", best.net_deg),
                    ("new cap", best.recap_net_deg),
                )
            ],
            x_words="note", y_words="net, degrees", width_mm=250.0,
        ),
        Heading(text="Reference notes"),
        _notes(survey, best, shown),
        Heading(text="What this stands on"),
        Sentences(lines=survey.assumptions),
    ]  # fmt: skip
    return Sheet(name="crown", title="Crown report", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def owner_sheet(survey: Survey, best: Best) -> Sheet:
    """The owner's page, on paper: the words of `survey.owner_page`."""
    blocks: list[Block] = []
    rows: list[list[str]] = []
    words: list[str] = []

    def close() -> None:
        if words:
            blocks.append(Sentences(lines=tuple(words)))
            words.clear()
        if rows:
            blocks.append(_table(rows))
            rows.clear()

    for text in owner_page(survey, best).replace("*", "").split("\n"):
        if text.startswith("|"):
            if words:
                close()
            cells = [cell.strip() for cell in text.strip("|").split("|")]
            if not set("".join(cells)) <= {"-"}:
                rows.append(cells)
            continue
        if rows:
            close()
        if text.startswith("## "):
            close()
            blocks.append(Heading(text=text[3:]))
        elif text and not text.startswith(("#", "<!--")):
            words.append(text.removeprefix("- "))
    close()
    return Sheet(name="owner", title="For the owner", cautions=OWNER_CAUTIONS, blocks=tuple(blocks), landscape=True)


def _table(rows: list[list[str]]) -> Grid:
    head, *body = rows
    width = [max(len(row[k]) for row in rows) for k in range(len(head))]
    columns = tuple(
        Column(head=head[k], left=True, share=float(max(width[k], 6)), cells=tuple(row[k] for row in body))
        for k in range(len(head))
    )
    return Grid(columns=columns, rows=len(body))


def _ribs(ribs: tuple[RibLoss, ...]) -> Grid:
    def column(head: str, value: Callable[[RibLoss], float], digits: int = 2, unit: str = "") -> Column:
        return Column(head=head, unit=unit, cells=tuple(number(value(rib), digits) for rib in ribs))

    columns = (
        Column(head="rib", cells=tuple(rib.rib for rib in ribs)),
        Column(head="state", left=True, cells=tuple(rib.state.value for rib in ribs)),
        column("span", lambda rib: rib.fit.span_mm, 0),
        column("rise", lambda rib: rib.fit.rise_mm),
        column("±", lambda rib: rib.fit.rise_uncertainty_mm),
        Column(head="shape", left=True, share=1.3, cells=tuple(rib.fit.shape.value for rib in ribs)),
        column("made", lambda rib: rib.as_made_mm),
        column("load", lambda rib: rib.sink_mm),
        column("damp", lambda rib: rib.moisture_mm),
        column("expected", lambda rib: rib.expected_mm),
        column("set", lambda rib: rib.set_mm),
        column("±", lambda rib: rib.set_uncertainty_mm),
        Column(head="read again", share=1.4, box=True),
    )
    return Grid(columns=columns, rows=len(ribs))


def _notes(survey: Survey, best: Best, shown: list[int]) -> Grid:
    def column(head: str, values: np.ndarray, unit: str) -> Column:
        return Column(head=head, unit=unit, cells=tuple(number(float(values[k]), 2) for k in shown))

    names = tuple(f"{int(survey.note[k])} {note_name(int(survey.note[k]))}" for k in shown)
    columns = (
        Column(head="note", left=True, cells=names),
        column("set", survey.set_mm, "mm"),
        column("wanted", best.target_deg, "deg"),
        column("now", survey.net_deg, "deg"),
        column("plate set", best.net_deg, "deg"),
        column("new cap", best.recap_net_deg, "deg"),
        column("cap gains", best.recap_mm, "mm"),
        Column(head="after", share=1.4, box=True),
    )
    return Grid(columns=columns, rows=len(shown))
