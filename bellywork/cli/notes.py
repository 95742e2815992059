"""What `bearing` and `plane` have in common: the notes of an answer, section by section."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.sink import SinkSource
from bellywork.board.state import State
from bellywork.cli.text import Column, Units, number, table
from bellywork.findings import Finding


def add_sink(parser: argparse.ArgumentParser) -> None:
    """Add where the sink comes from."""
    parser.add_argument(
        "--sink",
        choices=[source.value for source in SinkSource],
        help="where the sink comes from: the mechanics, your sink.csv, or none (default: the best that the folder has)",
    )


def sink_source(words: argparse.Namespace) -> SinkSource | None:
    """The source named on the command line; None: the best that there is."""
    return None if words.sink is None else SinkSource(words.sink)


def bearing_rows(table_: BearingTable) -> list[dict[str, Any]]:
    """The notes of a bearing table for JSON and CSV."""
    line = table_.line
    columns: dict[str, Sequence[Any] | np.ndarray] = {
        "note": line.note,
        "name": table_.name,
        "section": line.section,
        "bridge": line.bridge,
        "measured": line.measured,
        "front_deg": table_.front_deg,
        "rear_deg": table_.rear_deg,
        "net_deg": table_.net_deg,
        "string_deflection_mm": table_.string_deflection_mm,
        "degrees_per_mm": table_.degrees_per_mm,
        "tension_N": table_.tension_N,
        "strength_share": table_.strength_share,
        "downforce_N": table_.downforce_N,
        "target_net_deg": table_.target_net_deg,
        "deviation_deg": table_.deviation_deg,
        "sink_mm": table_.sink_mm,
        "height_bare_mm": table_.height_bare_mm,
        "height_strung_mm": table_.height_strung_mm,
    }
    return rows_of(columns)


def rows_of(columns: Mapping[str, Sequence[Any] | np.ndarray]) -> list[dict[str, Any]]:
    """Columns of one entry per note as one mapping per note."""
    lists = {
        key: values.tolist() if isinstance(values, np.ndarray) else list(values) for key, values in columns.items()
    }
    return [dict(zip(lists, row)) for row in zip(*lists.values())]


def bearing_columns(table_: BearingTable, units: Units) -> list[Column]:
    """The bearing of each note as columns of text."""
    line = table_.line

    def degrees(values: np.ndarray, *, signed: bool = False) -> Any:
        return lambda i: number(float(values[i]), 2, signed=signed)

    return [
        Column(head="note", unit="", text=lambda i: str(line.note[i])),
        Column(head="", unit="", text=lambda i: table_.name[i] + ("" if line.measured[i] else "*"), left=True),
        Column(head="front", unit="deg", text=degrees(table_.front_deg)),
        Column(head="rear", unit="deg", text=degrees(table_.rear_deg)),
        Column(head="net", unit="deg", text=degrees(table_.net_deg)),
        Column(head="target", unit="deg", text=degrees(table_.target_net_deg)),
        Column(head="off by", unit="deg", text=degrees(table_.deviation_deg, signed=True)),
        Column(head="lost", unit="deg/mm", text=degrees(table_.degrees_per_mm)),
        Column(head="deflection", unit=units.length, text=lambda i: units.length_text(table_.string_deflection_mm[i])),
        Column(head="tension", unit=units.force, text=lambda i: units.force_text(table_.tension_N[i])),
        Column(head="strength", unit="%", text=lambda i: number(100.0 * float(table_.strength_share[i]), 0)),
        Column(head="downforce", unit=units.force, text=lambda i: units.force_text(table_.downforce_N[i])),
        Column(head="sink", unit=units.length, text=lambda i: units.length_text(table_.sink_mm[i])),
    ]


def by_section(table_: BearingTable, columns: list[Column], units: Units, shown: np.ndarray) -> str:
    """The shown notes, section by section, with the force of each section."""
    parts = []
    for section in dict.fromkeys(table_.line.section):
        inside = np.array([name == section for name in table_.line.section])
        rows = np.flatnonzero(inside & shown)
        force = table_.section_downforce_N.get(section, float("nan"))
        head = f"Section {section}: {int(inside.sum())} notes"
        if np.isfinite(force):
            head += f", downforce {units.force_text(force)} {units.force}"
        parts.append(f"{head}\n{table(columns, rows.tolist())}" if len(rows) else head)
    return "\n\n".join(parts)


def totals(table_: BearingTable) -> dict[str, Any]:
    """Forces of the whole board for JSON."""
    return {"downforce_N": table_.total_downforce_N, "downforce_by_section_N": dict(table_.section_downforce_N)}


def state_words(state: State) -> str:
    """A state as it stands in a headline."""
    return {State.BARE: "bare board", State.PRELOADED: "preloaded board", State.STRUNG: "strung board"}[state]


def findings_part(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Findings on an answer for JSON."""
    return [
        {"code": each.code, "level": each.level.value, "note": each.place.note, "found": each.found,
         "expected": each.expected, "remedy": each.remedy}
        for each in findings
    ]  # fmt: skip
