"""Writes the tables of docs/theory-time.md from runs of the sample grands: python tests/docs/write_theory_time.py"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from bellywork.conventions import note_name
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.seasons.history import YEAR_DAYS
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import Outlook, days_in_words, outlook

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "theory-time.md"
GRANDS = {"seven_foot_grand": "rib-crowned", "compression_crowned_grand": "compression-crowned"}
DAYS = (0.0, 1.0, 7.0, YEAR_DAYS / 12.0, YEAR_DAYS / 2.0, YEAR_DAYS, 10.0 * YEAR_DAYS, 50.0 * YEAR_DAYS)
NOTES = ("C1", "C3", "A3", "A4", "C6", "C7")


def followed(name: str) -> Outlook:
    """A grand through fifty years, with what is not known."""
    ready = prepared(read_board(ROOT / "sample_boards" / name).board)
    return outlook(ready, life=life_of(ready.board), days=DAYS, progress=lambda words: print(name, words))


def cell(seen: Outlook, name: str, k: int, place: int | None = None, digits: int = 2) -> str:
    """A value with its band in brackets."""
    value, low, high = (
        part[name][k] if place is None else part[name][k, place] for part in (seen.middle, seen.low, seen.high)
    )
    told = [f"{each:.{digits}f}".replace("-", "−") for each in (value, low, high)]
    return f"{told[0]} ({told[1]} to {told[2]})"


def net_table(years: Outlook) -> str:
    """Net bearing at the notes of the page."""
    lines = [f"| note | {' | '.join(map(days_in_words, DAYS))} |", "|---|" + "---|" * len(DAYS)]
    for name in NOTES:
        place = [note_name(note) for note in years.note].index(name)
        cells = [f"{years.middle['net_deg'][0, place]:.2f}"]
        cells += [cell(years, "net_deg", k, place) for k in range(1, len(DAYS))]
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return "\n".join(lines)


def board_table(seen: dict[str, Outlook]) -> str:
    """Downforce and stress."""
    told = (0, 2, 5, 6, 7)
    heads = [*(days_in_words(DAYS[k]) for k in told), "least and most in the first year"]
    lines = [f"| | {' | '.join(heads)} |", "|---|" + "---|" * len(heads)]
    for label, name, digits in (("downforce N", "downforce_N", 0), ("stress across the grain N/mm²", "across_MPa", 1)):
        for grand, words in GRANDS.items():
            years = seen[grand]
            first = np.array(years.service.strung) & (years.service.day <= years.life.before_days + YEAR_DAYS + 1e-6)
            ends = [f"{end:.{digits}f}".replace("-", "−") for end in _ends(getattr(years.service, name)[first])]
            cells = [cell(years, name, k, digits=digits) for k in told]
            lines.append(f"| {label}, {words} | {' | '.join(cells)} | {ends[0]} to {ends[1]} |")
    return "\n".join(lines)


def _ends(values: np.ndarray) -> tuple[float, float]:
    return float(values.min()), float(values.max())


def swing(years: Outlook, first: float, last: float) -> dict[str, float]:
    """What a board does within some of its years: the bridge at A3 and A4, all downforce, the least bearing at A3."""
    day = years.service.day - years.life.before_days
    within = np.array(years.service.strung) & (day >= first * YEAR_DAYS) & (day <= last * YEAR_DAYS)
    names = [note_name(note) for note in years.note]
    out = {f"bridge {name}": float(np.ptp(years.service.height_mm[within, names.index(name)])) for name in ("A3", "A4")}
    force = years.service.downforce_N[within]
    net = years.service.net_deg[within, names.index("A3")]
    return {**out, "least N": float(force.min()), "most N": float(force.max()), "least A3": float(net.min())}


def main() -> None:
    """Write the tables, and print what the sentences between them stand on."""
    seen = {name: followed(name) for name in GRANDS}
    page = PAGE.read_text(encoding="utf-8")
    for name, words in GRANDS.items():
        page = _replaced(page, f"Net bearing in degrees, {words}:", net_table(seen[name]))
        for first, last in ((0.0, 1.0), (9.0, 10.0), (49.0, 50.0)):
            print(
                words,
                f"year {last:g}:",
                {key: round(each, 2) for key, each in swing(seen[name], first, last).items()},
            )
    PAGE.write_text(_replaced(page, "Downforce and stress:", board_table(seen)), encoding="utf-8")


def _replaced(page: str, heading: str, table: str) -> str:
    """The page with another table under a heading."""
    out, count = re.subn(rf"({re.escape(heading)}\n\n)(\|[^\n]*\n)+", lambda found: f"{found[1]}{table}\n", page)
    assert count == 1, heading
    return out


if __name__ == "__main__":
    main()
