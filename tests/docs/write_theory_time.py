"""Writes the tables of docs/theory-time.md from runs of the sample grands: python tests/docs/write_theory_time.py"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.conventions import note_name
from bellywork.files.read import read_board
from bellywork.geometry.string_line import bearing
from bellywork.instrument import prepared
from bellywork.seasons.history import YEAR_DAYS, still_air
from bellywork.seasons.known import Known, cases, lived
from bellywork.seasons.life import Life, life_of
from bellywork.seasons.outlook import Outlook, days_in_words, fitting, outlook
from bellywork.seasons.rheology import Laws, Shift
from bellywork.seasons.service import Service, in_time, served
from bellywork.seasons.spruce import creep_chain, rheology_table

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


def laws(
    usual: Laws, *, creep: bool = True, swing: bool = True, crushed: bool = True, only: tuple[str, ...] | None = None
) -> Laws:
    """The wood of the page with some of what it does left out; `only`: creep and swing in these directions alone."""
    out = {}
    for name, law in usual.named().items():
        on = only is None or name in only
        kept = law.varied(creep=float(creep and on), swing=float(swing and on))
        out[name] = kept if crushed else replace(kept, yields=None)
    return Laws(**out)


def first_year(note: str) -> str:
    """What the first year takes of a note's bearing on the rib-crowned grand, part by part."""
    ready = prepared(read_board(ROOT / "sample_boards" / "seven_foot_grand").board)
    line, plan = ready.board.needed_strings("the page"), ready.board.needed_plan("the page")
    usual, life = cases(life_of(ready.board))[0], life_of(ready.board)
    strings = fitting(ready, life, YEAR_DAYS)
    board, place = in_time(ready.belly, plan.pins_mm, usual.laws), [note_name(n) for n in line.note].index(note)

    def followed(known: Known, strung: bool = True, life: Life = life) -> Service:
        past = lived(ready.belly, life, known, np.array([0.0, 1.0, YEAR_DAYS]))
        return served(board.under(known.laws), past, strings if strung else replace(strings, strung_day=None))

    def of(**words: Any) -> Known:
        return replace(usual, laws=laws(usual.laws, **words))

    average = Shift(**rheology_table()["master"]["avgRR"]["shift"])
    both_ways = replace(usual.laws.across, creep=creep_chain("master", "avgRR"), shift=average)
    less = usual.laws.varied(creep=0.75)
    still = replace(life, air=still_air(life.shop_rh_percent or 42.0))
    ways = (
        ("all of it", usual, life),
        ("elastic: what the wood's moisture does, 8.05 for 7.74 %", of(creep=False, swing=False, crushed=False), life),
        ("and creep in time", of(swing=False, crushed=False), life),
        ("and swing, without creep in time", of(creep=False, crushed=False), life),
        ("and both, nothing crushed", of(crushed=False), life),
        ("both, across the grain alone", of(only=("across",), crushed=False), life),
        ("both, along the grain alone", of(only=("along",), crushed=False), life),
        ("both, in shear alone", of(only=("shear", "rolling"), crushed=False), life),
        ("all of it in air that stays at 42 %", usual, still),
        (
            "creep across as pressed and pulled wood have it on average",
            replace(usual, laws=replace(usual.laws, across=both_ways)),
            life,
        ),
        ("one sorption curve, lag of 4 days", replace(usual, single=1.0, lag_days=4.0), life),
        ("one sorption curve, creep less by a standard deviation", replace(usual, single=1.0, laws=less), life),
        (
            "creep less by a standard deviation, swing half as much",
            replace(usual, laws=usual.laws.varied(creep=0.75, swing_across=0.5, swing_along=0.5)),
            life,
        ),
    )
    bare = bearing(line).net_deg[place]
    lines = [
        f"| {note} | just strung | after a year | change | of what was left | of what is left after a day "
        "| the bridge, strung | and bare |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for words, known, where in ways:
        strung, alone = followed(known, life=where), followed(known, strung=False, life=where)
        first, last = (strung.at(where.before_days + day) for day in (0.0, YEAR_DAYS))
        before, after = strung.net_deg[[first, last], place]
        settled = strung.net_deg[strung.at(where.before_days + 1.0), place]
        sunk = strung.height_mm[last, place] - strung.height_mm[first, place]
        risen = alone.height_mm[alone.at(where.before_days + YEAR_DAYS), place]
        lost = [f"{100.0 * (after / begun - 1.0):+.0f} %" for begun in (before, settled)]
        told = f"{after - before:+.2f}° | {' | '.join(lost)} | {sunk:+.2f} mm | {risen:+.2f} mm"
        lines.append(f"| {words} | {before:.2f}° | {after:.2f}° | {told} |".replace("-", "−"))
    print(f"{note}: bare {bare:.2f}°, sunk by {-strung.height_mm[first, place]:.2f} mm under the strings")
    return "\n".join(lines)


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
    page = _replaced(page, "Where the tenor's first year goes:", first_year("A3"))
    PAGE.write_text(_replaced(page, "Downforce and stress:", board_table(seen)), encoding="utf-8")


def _replaced(page: str, heading: str, table: str) -> str:
    """The page with another table under a heading."""
    out, count = re.subn(rf"({re.escape(heading)}\n\n)(\|[^\n]*\n)+", lambda found: f"{found[1]}{table}\n", page)
    assert count == 1, heading
    return out


if __name__ == "__main__":
    main()
