"""Rib schemes side by side on paper: what each does to the board, as difference to the first, with plots."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from bellywork.answers.ribs_answer import against, ribs_tables, summary
from bellywork.measures import METRIC, Units
from bellywork.schemes.assessed import RibResult, SchemeResult
from bellywork.sheets.flow import Block, Heading, Sentences
from bellywork.sheets.grids import grid_of
from bellywork.sheets.plot import Curve, plotted
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "A scheme is a calculation for one board: shares of strength are for clear wood, so look at the wood itself.",
    "Go-bars: tightening one loosens the next, and it can fall; the ceiling must bear the sum of all.",
)
MICRO = 1000.0  # µm in a mm
PLOT_MM = 250.0  # across A4 and Letter lying


def schemes_sheet(results: Sequence[SchemeResult], assumptions: Sequence[str], units: Units = METRIC) -> Sheet:
    """The comparison; the first scheme is what the others are held against."""
    letters = [chr(ord("A") + k) for k in range(len(results))]
    blocks: list[Block] = [
        Heading(text="Schemes side by side, each against A"),
        Sentences(lines=tuple(f"{letter}: {result.name}" for letter, result in zip(letters, results))),
        grid_of(against(summary(results), letters), units),
        *_plots(results),
    ]
    for result, ribs in zip(results, ribs_tables(results)):
        blocks += [Heading(text=f"Ribs, {result.name}"), grid_of(ribs, units, shares={"rib": 0.7})]
    blocks += [Heading(text="What this stands on"), Sentences(lines=tuple(assumptions))]
    return Sheet(name="schemes", title="Rib schemes", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def _plots(results: Sequence[SchemeResult]) -> list[Block]:
    """Compliance and bearing over the notes; crown left and bending over the ribs' places along the keyboard."""

    def by_note(head: str, words: str, values: Callable[[SchemeResult], Any]) -> list[Block]:
        curves = [Curve(name=each.name, x=each.note.astype(float), y=np.asarray(values(each))) for each in results]
        return [Heading(text=head), plotted(curves, x_words="note", y_words=words, width_mm=PLOT_MM)]

    def by_rib(head: str, words: str, value: Callable[[RibResult], float]) -> list[Block]:
        curves = []
        for each in results:
            middle = {rib.name: float((rib.start_mm[0] + rib.end_mm[0]) / 2.0) for rib in each.body.ribs}
            points = sorted((middle[rib.rib], value(rib)) for rib in each.ribs)
            x, y = np.array(points).reshape(-1, 2).T
            curves.append(Curve(name=each.name, x=x, y=y))
        x_words = "place of the rib's middle along the keyboard, from the bass, mm"
        return [Heading(text=head), plotted(curves, x_words=x_words, y_words=words, width_mm=PLOT_MM)]

    return [
        *by_note("Compliance along the bridges", "sink under 1 N, µm", lambda each: MICRO * each.compliance_mm_per_N),
        *by_note("Net bearing under the strings", "net, degrees", lambda each: each.net_deg),
        *by_rib(
            "Crown left under the strings", "rise of the rib's middle over its ends, mm", lambda r: r.crown_left_mm
        ),
        *by_rib("Bending of the ribs", "share of the lasting strength, %", lambda rib: 100.0 * rib.bending_share),
    ]
