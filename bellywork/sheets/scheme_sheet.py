"""Rib schemes side by side on paper: what each does to the board, as difference to the first, with plots."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bellywork.answers.ribs_answer import against, ribs_tables, summary
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork.schemes.assessed import SchemeResult
from bellywork.sheets.flow import Block, Heading, Sentences
from bellywork.sheets.grids import grid_of
from bellywork.sheets.plot import Curve, plotted
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "A scheme is a calculation for one board: shares of strength are for clear wood, so look at the wood itself.",
    "Go-bars: tightening one loosens the next, and it can fall; the ceiling must bear the sum of all.",
)
PLOT_MM = 250.0  # across A4 and Letter lying


def schemes_sheet(results: Sequence[SchemeResult], assumptions: Sequence[str], units: Units = METRIC) -> Sheet:
    """The comparison; the first scheme is what the others are held against."""
    letters = [chr(ord("A") + k) for k in range(len(results))]
    blocks: list[Block] = [
        Heading(text="Schemes side by side; −A is the difference to A"),
        Sentences(lines=tuple(f"{letter}: {result.name}" for letter, result in zip(letters, results))),
        grid_of(against(summary(results), letters), units),
        *_plots(results, units),
    ]
    tables = ribs_tables(results)
    for result, ribs in zip(results, tables):
        blocks += [Heading(text=f"Ribs, {result.name}"), grid_of(ribs, units, shares={"rib": 0.7})]
    words = tuple(f"{label}: {meaning}." for label, meaning in tables[0].legend())
    blocks += [Heading(text="What stands over the columns"), Sentences(lines=words)]
    blocks += [Heading(text="What this stands on"), Sentences(lines=tuple(assumptions))]
    return Sheet(name="schemes", title="Rib schemes", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def _plots(results: Sequence[SchemeResult], units: Units) -> list[Block]:
    """Compliance and bearing over the notes; crown left and bending over the ribs' places along the keyboard."""
    place = QUANTITIES["x_mm"]

    def by_note(head: str, name: str) -> list[Block]:
        quantity = QUANTITIES[name]
        curves = [
            Curve(name=each.name, x=each.note.astype(float), y=np.array(quantity.outside(getattr(each, name), units)))
            for each in results
        ]
        return [Heading(text=head), plotted(curves, x_words="note", y_words=quantity.axis(units), width_mm=PLOT_MM)]

    def by_rib(head: str, name: str) -> list[Block]:
        quantity, curves = QUANTITIES[name], []
        for each in results:
            middle = {rib.name: float((rib.start_mm[0] + rib.end_mm[0]) / 2.0) for rib in each.body.ribs}
            points = sorted((middle[rib.rib], getattr(rib, name)) for rib in each.ribs)
            x, y = np.array(points).reshape(-1, 2).T
            curves.append(
                Curve(name=each.name, x=np.array(place.outside(x, units)), y=np.array(quantity.outside(y, units)))
            )
        x_words = f"middle of the rib, {place.axis(units)}"
        return [Heading(text=head), plotted(curves, x_words=x_words, y_words=quantity.axis(units), width_mm=PLOT_MM)]

    return [
        *by_note("Compliance along the bridges", "compliance_mm_per_N"),
        *by_note("Net bearing under the strings", "net_deg"),
        *by_rib("Crown left under the strings", "crown_left_mm"),
        *by_rib("Bending of the ribs: share of the lasting strength", "bending_share"),
    ]
