"""`bellywork season BOARD --rh 30:65`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from bellywork.cli.common import (
    CAUTION,
    Parser,
    add_board,
    add_output,
    answer,
    board_from,
    finite,
    needed,
    print_json,
    write_csv,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.text import UNIT_SETS, Column, Units, number, paragraph, table
from bellywork.conventions import note_name

if TYPE_CHECKING:
    from bellywork.files.read import BoardFile
    from bellywork.seasons.year import Season

SCHEMA = "bellywork-season/1"
PLOT_ENDINGS = (".png", ".svg")


def main(argv: Sequence[str] | None = None) -> int:
    """Print crown, bridge height and bearing through the year."""
    from bellywork.seasons.year import range_of_rh, season

    parser = Parser(
        "season",
        "What damp and dry do: crown of the ribs, height of the bridge and bearing at every note over a range of "
        "humidities, bare and strung.",
        "--rh 30:65 is eight humidities from 30 to 65 %, --rh 30,45,60 just these.",
    )
    add_board(parser)
    parser.add_argument("--rh", default="30:65", metavar="RANGE", help="relative humidities in %% (default 30:65)")
    parser.add_argument(
        "--temperature", type=finite, metavar="C", help="temperature in °C (default: as measured, or 20)"
    )
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="also draw the year as FILE.png or FILE.svg")
    add_output(parser)
    words = parser.parse_args(argv)
    if words.plot is not None and words.plot.suffix not in PLOT_ENDINGS:
        parser.error(f"found the plot file '{words.plot}', expected a name that ends in {' or '.join(PLOT_ENDINGS)}")
    if words.plot is not None:
        needed("viewer")
    humidities = range_of_rh(words.rh)
    found = board_from(words.board)
    year = season(found.board, rh_percent=humidities, temperature_C=words.temperature, progress=_progress())
    if words.csv:
        write_csv(words.csv, SCHEMA, found, long_rows(year))
    if words.plot is not None:
        from bellywork_viewer.season_plot import drawn

        drawn(year, found.board.name, words.plot)
    if words.json:
        print_json(answer(SCHEMA, found, parts(year)))
    else:
        print(as_text(found, year, words))
    return EXIT_FINDINGS if year.lost or year.warnings else EXIT_FINE


def parts(year: Season) -> dict[str, Any]:
    """The answer's parts for JSON: lists run over the humidities."""
    return {
        "rh_percent": year.rh_percent,
        "moisture_percent": year.moisture_percent,
        "reference_rh_percent": year.reference_rh_percent,
        "notes": [
            {
                "note": note,
                "name": note_name(note),
                "height_change_mm": year.height_change_mm[:, i],
                "net_bare_deg": year.net_bare_deg[:, i],
                "net_deg": year.net_deg[:, i],
            }
            for i, note in enumerate(year.note)
        ],
        "ribs": [{"rib": rib.rib, "span_mm": rib.span_mm, "rise_mm": rib.rise_mm} for rib in year.ribs],
        "totals": {"downforce_N": year.downforce_N},
        "across_grain_MPa": year.across_grain_MPa,
        "limit_MPa": year.limit_MPa,
        "first_lost": None if year.lost is None else {"note": year.lost[0], "rh_percent": year.lost[1]},
        "warnings": year.warnings,
        "assumptions": year.assumptions,
    }


def long_rows(year: Season) -> list[dict[str, Any]]:
    """One row for each humidity and note."""
    return [
        {
            "rh_percent": float(rh),
            "note": note,
            "height_change_mm": float(year.height_change_mm[k, i]),
            "net_bare_deg": float(year.net_bare_deg[k, i]),
            "net_deg": float(year.net_deg[k, i]),
        }
        for k, rh in enumerate(year.rh_percent)
        for i, note in enumerate(year.note)
    ]


def as_text(found: BoardFile, year: Season, words: argparse.Namespace) -> str:
    """The answer as tables, a column for each humidity."""
    from bellywork.geometry.completed import completed
    from bellywork.geometry.reference_notes import reference_notes

    units = UNIT_SETS[words.units]
    line = completed(found.board).board.needed_strings("A season")
    shown = np.ones(len(year.note), bool) if words.all else reference_notes(line).copy()
    driest = int(np.argmin(year.net_deg.min(axis=0)))
    shown[driest] = True
    least = float(year.net_deg[:, driest].min())
    rh_least = year.rh_percent[int(year.net_deg[:, driest].argmin())]
    lost = (
        "No note loses its bearing in this range."
        if year.lost is None
        else f"Bearing is lost first at note {year.lost[0]} ({note_name(year.lost[0])}), at {year.lost[1]:g} % RH."
    )
    head = [
        f"{found.board.name}: the year, measured at {year.reference_rh_percent:g} % RH",
        f"Least bearing strung: note {year.note[driest]} ({note_name(year.note[driest])}), "
        f"{number(least, 2)}° at {rh_least:g} % RH. {lost}",
    ]
    rows = np.flatnonzero(shown).tolist()
    blocks = [
        "\n".join(head),
        "Net bearing, strung\n" + table(_columns(year, year.net_deg, "deg", lambda v: number(v, 2)), rows),
        "Height of the bridge, bare, against the measurement\n"
        + table(_columns(year, year.height_change_mm, units.length, lambda v: units.length_text(v, signed=True)), rows),
        "Crown of each rib, bare: rise of its middle over its span\n" + _ribs(year, units),
        "Downforce in all: "
        + ", ".join(_force(f, rh, units) for f, rh in zip(year.downforce_N, year.rh_percent)),
        "" if words.all else "Shown are the reference notes and the one with least bearing; --all shows every note.",
        paragraph("To look at", year.warnings),
        paragraph("Assumed", year.assumptions),
        CAUTION,
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block)


def _columns(year: Season, values: np.ndarray, unit: str, text: Callable[[float], str]) -> list[Column]:
    def over(k: int) -> Callable[[int], str]:
        return lambda i: text(float(values[k, i]))

    return [
        Column(head="note", unit="", text=lambda i: str(year.note[i])),
        Column(head="", unit="", text=lambda i: note_name(year.note[i]), left=True),
        *(Column(head=f"{rh:g} %", unit=unit, text=over(k)) for k, rh in enumerate(year.rh_percent)),
    ]


def _ribs(year: Season, units: Units) -> str:
    def over(k: int) -> Callable[[int], str]:
        return lambda i: units.length_text(float(year.ribs[i].rise_mm[k]))

    columns = [
        Column(head="rib", unit="", text=lambda i: year.ribs[i].rib),
        Column(head="span", unit=units.length, text=lambda i: units.length_text(year.ribs[i].span_mm)),
        *(Column(head=f"{rh:g} %", unit=units.length, text=over(k)) for k, rh in enumerate(year.rh_percent)),
    ]
    return table(columns, range(len(year.ribs)))


def _progress() -> Callable[[str], None] | None:
    if not sys.stderr.isatty():
        return None
    return lambda what: print(f"{what} …   ", end="\r", file=sys.stderr, flush=True)


def _force(newtons: float, rh: float, units: Units) -> str:
    return f"{units.force_text(newtons)} {units.force} at {rh:g} %"
