"""Rib schemes side by side on paper: what each does to the board, as difference to the first, with plots."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from bellywork.conventions import note_name
from bellywork.schemes.assessed import RibResult, SchemeResult
from bellywork.sheets.flow import Block, Column, Grid, Heading, Sentences
from bellywork.sheets.numbers import number
from bellywork.sheets.plot import Curve, plotted
from bellywork.sheets.sheet_pages import Sheet

CAUTIONS = (
    "A scheme is a calculation for one board: shares of strength are for clear wood, so look at the wood itself.",
    "Go-bars: tightening one loosens the next, and it can fall; the ceiling must bear the sum of all.",
)
MICRO = 1000.0  # µm in a mm
PLOT_MM = 250.0  # across A4 and Letter lying


def schemes_sheet(results: Sequence[SchemeResult], assumptions: Sequence[str]) -> Sheet:
    """The comparison; the first scheme is what the others are held against."""
    blocks: list[Block] = [
        Heading(text="Schemes side by side; in brackets the difference to the first"),
        _summary(results),
        *_plots(results),
    ]
    for result in results:
        blocks += [Heading(text=f"Ribs, {result.name}"), _rib_grid(result)]
    blocks += [Heading(text="What this stands on"), Sentences(lines=tuple(assumptions))]
    return Sheet(name="schemes", title="Rib schemes", cautions=CAUTIONS, blocks=tuple(blocks), landscape=True)


def scheme_rows(results: Sequence[SchemeResult]) -> list[dict[str, Any]]:
    """One row per scheme; units at the end of the keys, NaN where there are no modes."""
    return [
        {
            "scheme": result.name,
            "ribs": len(result.ribs),
            "ribs_kg": result.ribs_kg,
            "mass_kg": result.mass_kg,
            "downforce_N": result.load_N,
            "worst_sink_mm": float(result.sink_mm[result.worst_sink]),
            "worst_sink_note": int(result.note[result.worst_sink]),
            "least_net_deg": float(result.net_deg.min()),
            "least_net_note": int(result.note[np.argmin(result.net_deg)]),
            "least_crown_left_mm": min((rib.crown_left_mm for rib in result.ribs), default=np.nan),
            "bending_share": result.bending_share,
            "first_mode_Hz": float(result.modes_hz[0]) if len(result.modes_hz) else np.nan,
        }
        for result in results
    ]


def scheme_rib_rows(results: Sequence[SchemeResult]) -> list[dict[str, Any]]:
    """One row per rib of every scheme."""
    return [{"scheme": result.name, **vars(rib)} for result in results for rib in result.ribs]


def scheme_note_rows(results: Sequence[SchemeResult]) -> list[dict[str, Any]]:
    """One row per note of every scheme."""
    return [
        {
            "scheme": result.name,
            "note": note,
            "compliance_mm_per_N": float(result.compliance_mm_per_N[k]),
            "sink_mm": float(result.sink_mm[k]),
            "front_deg": float(result.front_deg[k]),
            "rear_deg": float(result.rear_deg[k]),
            "net_deg": float(result.net_deg[k]),
        }
        for result in results
        for k, note in enumerate(result.note.tolist())
    ]


def _summary(results: Sequence[SchemeResult]) -> Grid:
    rows = scheme_rows(results)

    def held(key: str, digits: int, factor: float = 1.0) -> tuple[str, ...]:
        first = rows[0][key]
        return tuple(
            number(factor * row[key], digits)
            + ("" if k == 0 else f" ({number(factor * (row[key] - first), digits, signed=True)})")
            for k, row in enumerate(rows)
        )

    def at(key: str) -> tuple[str, ...]:
        return tuple(f"{row[key]} {note_name(row[key])}" for row in rows)

    columns = (
        Column(head="scheme", left=True, share=3.4, cells=tuple(row["scheme"] for row in rows)),
        Column(head="ribs", share=0.6, cells=tuple(str(row["ribs"]) for row in rows)),
        Column(head="ribs' mass", unit="kg", share=1.3, cells=held("ribs_kg", 2)),
        Column(head="board's mass", unit="kg", share=1.3, cells=held("mass_kg", 2)),
        Column(head="downforce", unit="N", share=1.5, cells=held("downforce_N", 0)),
        Column(head="most sink", unit="mm", share=1.4, cells=held("worst_sink_mm", 2)),
        Column(head="at note", share=0.8, cells=at("worst_sink_note")),
        Column(head="least net", unit="deg", share=1.4, cells=held("least_net_deg", 2)),
        Column(head="at note", share=0.8, cells=at("least_net_note")),
        Column(head="least crown left", unit="mm", share=1.5, cells=held("least_crown_left_mm", 2)),
        Column(head="most bending", unit="% of strength", share=1.5, cells=held("bending_share", 0, 100.0)),
        Column(head="first mode", unit="Hz", share=1.4, cells=held("first_mode_Hz", 1)),
    )
    return Grid(columns=columns, rows=len(rows))


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


def _rib_grid(result: SchemeResult) -> Grid:
    def column(head: str, unit: str, value: Callable[[RibResult], float], digits: int) -> Column:
        return Column(head=head, unit=unit, cells=tuple(number(value(rib), digits) for rib in result.ribs))

    columns = (
        Column(head="rib", left=True, share=0.7, cells=tuple(rib.rib for rib in result.ribs)),
        column("span", "mm", lambda rib: rib.span_mm, 0),
        column("mass", "kg", lambda rib: rib.mass_kg, 3),
        column("load", "N", lambda rib: rib.load_N, 0),
        column("most sink", "mm", lambda rib: rib.sink_mm, 2),
        column("crown", "mm", lambda rib: rib.crown_mm, 2),
        column("crown left", "mm", lambda rib: rib.crown_left_mm, 2),
        column("bending", "MPa", lambda rib: rib.bending_MPa, 2),
        column("bending", "% of strength", lambda rib: 100.0 * rib.bending_share, 0),
        column("shear", "MPa", lambda rib: rib.shear_MPa, 2),
        column("shear", "% of strength", lambda rib: 100.0 * rib.shear_share, 0),
        column("bare-beam rule", "mm", lambda rib: rib.bare_sag_mm, 2),
    )
    return Grid(columns=columns, rows=len(result.ribs))
