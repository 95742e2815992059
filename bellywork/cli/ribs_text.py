"""What `bellywork ribs` prints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.scheme import Least
from bellywork.cli.common import CAUTION
from bellywork.cli.text import Column, Units, number, paragraph, table
from bellywork.conventions import note_name

if TYPE_CHECKING:
    from bellywork.board.scheme import RibRule
    from bellywork.schemes.assessed import Base, SchemeResult
    from bellywork.schemes.compared import Comparison
    from bellywork.schemes.search import Search, Standing

    Given = tuple[str, Standing] | None

PARETO_SHOWN = 12


def as_text(
    base: Base, comparison: Comparison, search: Search | None, given: Given, units: Units, paths: Sequence[Path]
) -> str:
    """The answer as tables; `given`: the best of the other schemes that meet the wish of a search."""
    from bellywork.geometry.reference_notes import reference_notes

    rows = np.flatnonzero(reference_notes(base.bare)).tolist()
    results = comparison.schemes
    keys = [chr(ord("A") + k) for k in range(len(results))]
    blocks = [
        f"{base.board.name}: {len(results)} rib schemes, each against A",
        "\n".join(f"{key}  {result.name}" for key, result in zip(keys, results)),
        _summary(comparison, keys, units),
        *(f"{key}: ribs of {result.name}\n{_ribs(result, units)}" for key, result in zip(keys, results)),
        "Compliance at the bridge top, µm per N\n"
        + _along(results, keys, rows, lambda r, i: 1e3 * r.compliance_mm_per_N[i], 2),
        "Net bearing, strung, deg\n" + _along(results, keys, rows, lambda r, i: r.net_deg[i], 2),
        "Where the compliance jumps, %\n" + _jumps(results, keys),
        "Lowest modes of the bare board, Hz\n" + _modes(results, keys),
        "" if search is None else _search(search, given, units),
        "\n".join(f"Drawn: {path}" for path in paths),
        paragraph("Assumed", comparison.assumptions),
        CAUTION,
    ]  # fmt: skip
    return "\n\n".join(block for block in blocks if block)


def _summary(comparison: Comparison, keys: Sequence[str], units: Units) -> str:
    results, less = comparison.schemes, comparison.differences
    worst_rib = [min(result.ribs, key=lambda rib: rib.crown_left_mm, default=None) for result in results]

    def crown(i: int) -> str:
        rib = worst_rib[i]
        return number(float("nan"), 2) if rib is None else f"{units.length_text(rib.crown_left_mm)} (rib {rib.rib})"

    def sink(i: int) -> str:
        at = results[i].worst_sink
        return f"{units.length_text(results[i].sink_mm[at])} ({note_name(int(results[i].note[at]))})"

    def damp(i: int) -> str:
        change = results[i].damp
        return number(float("nan"), 2) if change is None else number(float(change.net_deg.max()), 2, signed=True)

    columns = [
        Column(head="", unit="", text=lambda i: keys[i]),
        Column(head="ribs", unit="kg", text=lambda i: number(results[i].ribs_kg, 2)),
        Column(head="against A", unit="kg", text=lambda i: number(less[i].ribs_kg, 2, signed=True)),
        Column(head="board", unit="kg", text=lambda i: number(results[i].mass_kg, 2)),
        Column(head="most sink", unit=units.length, text=sink),
        Column(
            head="against A", unit=units.length, text=lambda i: units.length_text(less[i].worst_sink_mm, signed=True)
        ),
        Column(head="least crown left", unit=units.length, text=crown),
        Column(head="bending", unit="% of strength", text=lambda i: number(100.0 * results[i].bending_share, 0)),
        Column(head="30 to 60 % RH", unit="deg, most", text=damp),
        Column(head="modes", unit="per 100 Hz", text=lambda i: number(100.0 * results[i].modal_density_per_Hz, 1)),
    ]  # fmt: skip
    return table(columns, range(len(results)))


def _ribs(result: SchemeResult, units: Units) -> str:
    ribs = result.ribs

    def length(name: str) -> Callable[[int], str]:
        return lambda i: units.length_text(getattr(ribs[i], name))

    def force(name: str) -> Callable[[int], str]:
        return lambda i: units.force_text(getattr(ribs[i], name))

    columns = [
        Column(head="rib", unit="", text=lambda i: ribs[i].rib),
        Column(head="span", unit=units.length, text=length("span_mm")),
        Column(head="mass", unit="g", text=lambda i: number(1000.0 * ribs[i].mass_kg, 0)),
        Column(head="load", unit=units.force, text=force("load_N")),
        Column(head="sink", unit=units.length, text=length("sink_mm")),
        Column(head="crown", unit=units.length, text=length("crown_mm")),
        Column(head="left", unit=units.length, text=length("crown_left_mm")),
        Column(head="bending", unit="MPa", text=lambda i: number(ribs[i].bending_MPa, 1)),
        Column(head="", unit="%", text=lambda i: number(100.0 * ribs[i].bending_share, 0)),
        Column(head="shear", unit="MPa", text=lambda i: number(ribs[i].shear_MPa, 2)),
        Column(head="", unit="%", text=lambda i: number(100.0 * ribs[i].shear_share, 0)),
        Column(head="bare beam", unit=f"{units.force} near", text=force("nearest_N")),
        Column(head="sag", unit=units.length, text=length("bare_sag_mm")),
    ]
    carried = (
        f"Carried by the ribs {units.force_text(sum(rib.load_N for rib in ribs))}, the panel "
        f"{units.force_text(result.panel_load_N)}, the bridges {units.force_text(result.bridges_load_N)}, the rim's "
        f"give {units.force_text(result.rim_load_N)}: in all {units.force_text(result.load_N)} {units.force}."
    )
    return f"{table(columns, range(len(ribs)))}\n{carried}"


def _along(
    results: Sequence[SchemeResult],
    keys: Sequence[str],
    rows: Sequence[int],
    value: Callable[[SchemeResult, int], float],
    digits: int,
) -> str:
    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(float(value(results[k], i)), digits)

    def less(k: int) -> Callable[[int], str]:
        return lambda i: number(float(value(results[k], i) - value(results[0], i)), digits, signed=True)

    columns = [
        Column(head="note", unit="", text=lambda i: str(int(results[0].note[i]))),
        Column(head="", unit="", text=lambda i: note_name(int(results[0].note[i])), left=True),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
        *(Column(head=f"{key}−A", unit="", text=less(k)) for k, key in enumerate(keys) if k),
    ]
    return table(columns, rows)


def _jumps(results: Sequence[SchemeResult], keys: Sequence[str]) -> str:
    first = results[0].jumps

    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(results[k].jumps[i].percent, 0, signed=True)

    columns = [
        Column(head="bridge", unit="", text=lambda i: first[i].bridge, left=True),
        Column(head="where", unit="", text=lambda i: first[i].where, left=True),
        Column(head="notes", unit="", text=lambda i: " to ".join(note_name(n) for n in first[i].notes), left=True),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
    ]
    return table(columns, range(len(first)))


def _modes(results: Sequence[SchemeResult], keys: Sequence[str]) -> str:
    def of(k: int) -> Callable[[int], str]:
        return lambda i: number(float(results[k].modes_hz[i]), 1)

    columns = [
        Column(head="mode", unit="", text=lambda i: str(i + 1)),
        *(Column(head=key, unit="", text=of(k)) for k, key in enumerate(keys)),
    ]
    return table(columns, range(min(len(result.modes_hz) for result in results)))


def _search(search: Search, given: Given, units: Units) -> str:
    """The search in words, its best rule and the trade-offs nearest to it."""
    wish, best = search.wish, search.best
    met = "meets every wish" if best.missed == 0.0 else f"misses the wishes by {100.0 * best.missed:.1f} % in all"
    head = [
        f"Search: {len(search.tried)} rules tried{', stopped early' if search.stopped else ''}; least "
        f"{wish.least.value} is wished for, and the best {met}.",
        "Best rule: " + ", ".join(f"{name} {_rule_value(best.rule, name)}" for name in wish.bounds) + ".",
        _against(search, given, units),
    ]
    near = sorted(search.pareto, key=lambda each: abs(each.value(wish.least) - best.value(wish.least)))[:PARETO_SHOWN]
    shown = sorted(near, key=lambda each: each.ribs_kg)
    columns = [
        Column(head="ribs", unit="kg", text=lambda i: number(shown[i].ribs_kg, 2)),
        Column(head="most sink", unit=units.length, text=lambda i: units.length_text(shown[i].sink_mm)),
        Column(head="unevenness", unit="", text=lambda i: number(shown[i].unevenness, 3)),
        Column(head="bending", unit="% of strength", text=lambda i: number(100.0 * shown[i].bending_share, 0)),
        Column(head="crown left", unit=units.length, text=lambda i: units.length_text(shown[i].crown_left_mm)),
        Column(head="wishes", unit="", text=lambda i: "met" if shown[i].missed == 0.0 else "missed"),
    ]
    title = f"What is traded for what: {len(shown)} of {len(search.pareto)} rules that no other beats in all three"
    return "\n".join([*head, "", title, table(columns, range(len(shown)))])


def _against(search: Search, given: Given, units: Units) -> str:
    """The search's best against the best of the schemes that were given."""
    if given is None:
        return "None of the other schemes meets the wish."
    name, stands = given
    least = search.wish.least
    was, now = stands.value(least), search.best.value(least)
    if least is Least.SINK:
        values, unit = (units.length_text(was), units.length_text(now)), f" {units.length}"
    else:
        values, unit = (number(was, 3), number(now, 3)), " kg" if least is Least.MASS else ""
    return (
        f"Of the other schemes, {name} meets the wish with the least {least.value}: {values[0]}{unit}, against "
        f"{values[1]}{unit} found ({number(100.0 * (now / was - 1.0), 1, signed=True)} %)."
    )


def _rule_value(rule: RibRule, name: str) -> str:
    value = getattr(rule, name)
    return str(value) if name == "count" else f"{value:.1f}"
