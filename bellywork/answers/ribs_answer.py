"""Rib schemes side by side, told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerColumn, AnswerTable, rows_of, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS, SCHEME_NOTE, STANDING
from bellywork.answers.notes import note_words
from bellywork.board.scheme import Least, RibRule
from bellywork.conventions import note_name
from bellywork.geometry.reference_notes import reference_notes
from bellywork.measures import Units
from bellywork.quantities import QUANTITIES, said
from bellywork.schemes.assessed import Base, SchemeResult
from bellywork.schemes.compared import Comparison
from bellywork.schemes.search import Candidate, Search, Standing

SCHEMA = "bellywork-ribs/2"
SCHEMES = FORMS[SCHEMA].part("schemes")
PARETO_SHOWN = 12
LEAST = {Least.MASS: "ribs_kg", Least.UNEVENNESS: "unevenness", Least.SINK: "most_sink_mm"}
SUMMARY = (
    "scheme ribs ribs_kg mass_kg load_N most_sink_mm worst_sink_note least_net_deg least_net_note crown_left_mm "
    "bending_share first_mode_Hz"
)
HELD = (  # against the first scheme
    "ribs_kg",
    "mass_kg",
    "most_sink_mm",
    "least_net_deg",
    "crown_left_mm",
    "bending_share",
    "first_mode_Hz",
)
ON_SCREEN = (  # what fits a screen; paper, CSV and JSON have the rest
    "scheme ribs ribs_kg mass_kg most_sink_mm worst_sink_note least_net_deg crown_left_mm bending_share first_mode_Hz"
)
HELD_ON_SCREEN = ("ribs_kg", "most_sink_mm", "least_net_deg")
Given: TypeAlias = tuple[str, Standing] | None


def ribs_answer(
    base: Base, comparison: Comparison, search: Search | None, given: Given, paths: Sequence[Path], *, units: Units
) -> Answer:
    """The answer of `bellywork ribs`.

    given   the best of the other schemes that meet the wish of a search
    paths   plots that were drawn
    """
    results = comparison.schemes
    letters = [chr(ord("A") + k) for k in range(len(results))]
    over = [letter for letter, result in zip(letters, results) if result.bending_share > 1.0]
    one = len(results) == 1
    return Answer(
        schema=SCHEMA,
        title=f"{base.ready.board.name}: {'its ribs' if one else f'{len(results)} rib schemes, each against A'}",
        headline=_headline(results, letters, over, units),
        body=(
            View(
                title="" if one else "−A is the difference to A",
                table=against(summary(results).only(*ON_SCREEN.split()), letters, HELD_ON_SCREEN),
            ),
            *_ribs(results, letters, units),
            *_along(base, results, letters),
            *([] if search is None else _search(search, given, units)),
            "\n".join(f"Drawn: {path}" for path in paths),
        ),
        parts=filled(FORMS[SCHEMA], {"schemes": _schemes(comparison), "search": _search_part(search, given)}),
        table=long_notes(results),
        assumptions=comparison.assumptions,
        act=bool(over) or (search is not None and search.best.missed > 0.0),
        units=units,
    )


def summary(results: Sequence[SchemeResult]) -> AnswerTable:
    """One row for each scheme."""
    return rows_of("schemes", SUMMARY.split(), [_summed(result) for result in results])


def _summed(result: SchemeResult) -> dict[str, Any]:
    least = int(np.argmin(result.net_deg))
    return {
        **vars(result),
        "scheme": result.name,
        "ribs": len(result.ribs),
        "most_sink_mm": float(result.sink_mm[result.worst_sink]),
        "worst_sink_note": int(result.note[result.worst_sink]),
        "least_net_deg": float(result.net_deg[least]),
        "least_net_note": int(result.note[least]),
        "crown_left_mm": min((rib.crown_left_mm for rib in result.ribs), default=np.nan),
        "bending_share": result.bending_share,
        "first_mode_Hz": float(result.modes_hz[0]) if len(result.modes_hz) else np.nan,
    }


def against(table: AnswerTable, letters: Sequence[str], held: Sequence[str] = HELD) -> AnswerTable:
    """The summary with a letter for each scheme and, behind what is held against the first, the difference to it."""
    columns = [AnswerColumn(quantity="scheme", values=letters, head="")]
    for column in table.columns[1:]:
        columns.append(column)
        if column.quantity in held and len(table) > 1:
            less = np.asarray(column.values, dtype=float) - float(column.values[0])
            columns.append(replace(column, values=less, head="−A", signed=True))
    return AnswerTable(key=table.key, columns=tuple(columns))


def ribs_tables(results: Sequence[SchemeResult]) -> list[AnswerTable]:
    """The ribs of each scheme."""
    return [rows_of("ribs", SCHEMES.part("ribs").quantities, [_rib(rib) for rib in each.ribs]) for each in results]


def _rib(rib: Any) -> dict[str, Any]:
    return {**vars(rib), "rib.most_sink_mm": rib.sink_mm}


def _note_table(result: SchemeResult) -> AnswerTable:
    names = {"name": [note_name(note) for note in result.note.tolist()]}
    return table_of("notes", SCHEMES.part("notes").quantities, names, result)


def long_notes(results: Sequence[SchemeResult]) -> AnswerTable:
    """One row for each scheme and note."""
    tables = [_note_table(result) for result in results]
    scheme = [result.name for result in results for _ in result.note]
    columns = (
        AnswerColumn(quantity=name, values=np.concatenate([np.asarray(table[name].values) for table in tables]))
        for name in SCHEME_NOTE.split()
    )
    return AnswerTable(key="notes", columns=(AnswerColumn(quantity="scheme", values=scheme), *columns))


def long_ribs(results: Sequence[SchemeResult]) -> AnswerTable:
    """One row for each scheme and rib."""
    rows = [{"scheme": each.name, **_rib(rib)} for each in results for rib in each.ribs]
    return rows_of("scheme ribs", ("scheme", *SCHEMES.part("ribs").quantities), rows)


def _headline(
    results: Sequence[SchemeResult], letters: Sequence[str], over: Sequence[str], units: Units
) -> tuple[str, ...]:
    lines = [f"{letter}  {result.name}" for letter, result in zip(letters, results)]
    light = min(results, key=lambda each: each.ribs_kg)
    stiff = min(results, key=lambda each: float(each.sink_mm[each.worst_sink]))
    sink = float(stiff.sink_mm[stiff.worst_sink])
    where = note_words(int(stiff.note[stiff.worst_sink]))
    if len(results) == 1:
        lines = [
            f"{said('ribs_kg', light.ribs_kg, units)} of ribs; the bridge sinks by at most "
            f"{said('most_sink_mm', sink, units)} ({where})."
        ]
    else:
        lines.append(
            f"Lightest: {light.name}, {said('ribs_kg', light.ribs_kg, units)} of ribs. Least sink: {stiff.name}, at "
            f"most {said('most_sink_mm', sink, units)} ({where})."
        )
    if over:
        lines.append(f"In the way: {', '.join(over)} asks more of a rib than its lasting bending strength.")
    return tuple(lines)


def _ribs(results: Sequence[SchemeResult], letters: Sequence[str], units: Units) -> list[View | str]:
    views: list[View | str] = []
    for letter, result, table in zip(letters, results, ribs_tables(results)):
        views.append(View(title=f"{letter}, {result.name}: its ribs", table=table, legend=letter == letters[-1]))
        on_ribs = f"ribs {said('load_N', sum(rib.load_N for rib in result.ribs), units)}"
        others = ("panel_load_N", "bridges_load_N", "rim_load_N")
        parts = ", ".join(
            [on_ribs, *(f"{QUANTITIES[name].label} {said(name, getattr(result, name), units)}" for name in others)]
        )
        views.append(f"{letter} carries: {parts}; in all {said('load_N', result.load_N, units)}.")
    return views


def _along(base: Base, results: Sequence[SchemeResult], letters: Sequence[str]) -> list[View]:
    """Along the bridges and over the modes: a column for each scheme, and its difference to the first."""
    rows = np.flatnonzero(reference_notes(base.bare)).tolist()
    notes = _note_table(results[0]).only("note", "name").columns
    jumps = rows_of("jumps", ("bridge", "where", "notes"), results[0].jumps).columns
    modes = range(min(len(result.modes_hz) for result in results))

    def beside(
        title: str,
        heads: tuple[AnswerColumn, ...],
        quantity: str,
        of: Callable[[SchemeResult], Any],
        shown: Sequence[int] | None = None,
        *,
        held: bool = True,
    ) -> View:
        first = np.asarray(of(results[0]), dtype=float)
        columns = list(heads)
        for letter, result in zip(letters, results):
            columns.append(AnswerColumn(quantity=quantity, values=np.asarray(of(result)), head=letter))
        for letter, result in list(zip(letters, results))[1:] if held else []:
            columns.append(
                AnswerColumn(quantity=quantity, values=np.asarray(of(result)) - first, head=f"{letter}−A", signed=True)
            )
        return View(title=title, table=AnswerTable(key="along", columns=tuple(columns)), rows=shown, legend=False)

    return [
        beside("Compliance at the bridge top", notes, "compliance_mm_per_N", lambda r: r.compliance_mm_per_N, rows),
        beside("Net bearing, strung", notes, "net_deg", lambda r: r.net_deg, rows),
        beside("Where the compliance jumps", jumps, "percent", lambda r: [j.percent for j in r.jumps], held=False),
        beside(
            "Lowest modes of the bare board",
            (AnswerColumn(quantity="mode", values=[k + 1 for k in modes]),),
            "first_mode_Hz",
            lambda r: r.modes_hz[: len(modes)],
            held=False,
        ),
    ]


def _schemes(comparison: Comparison) -> list[dict[str, Any]]:
    return [
        {
            **vars(result),
            "ribs": table,
            "notes": _note_table(result),
            "unevenness_by_bridge": dict(result.unevenness),
            "difference": less,
        }
        for result, less, table in zip(comparison.schemes, comparison.differences, ribs_tables(comparison.schemes))
    ]


def _standing(each: Standing) -> dict[str, Any]:
    return {**vars(each), "most_sink_mm": each.sink_mm}


def _candidate(each: Candidate, search: Search) -> dict[str, Any]:
    return {**_standing(each), "rule": {name: getattr(each.rule, name) for name in search.wish.bounds}}


def _search_part(search: Search | None, given: Given) -> dict[str, Any] | None:
    if search is None:
        return None
    return {
        "search.name": search.scheme.name,
        "least": search.wish.least.value,
        "tried": len(search.tried),
        "stopped": search.stopped,
        "best": _candidate(search.best, search),
        "best_given": None if given is None else {"scheme.name": given[0], **_standing(given[1])},
        "pareto": [_candidate(each, search) for each in search.pareto],
    }


def _search(search: Search, given: Given, units: Units) -> list[View | str]:
    """The search in words, and the trade-offs nearest to its best rule."""
    wish, best = search.wish, search.best
    met = "meets every wish" if best.missed == 0.0 else f"misses the wishes by {said('missed', best.missed)} in all"
    rule = ", ".join(f"{name} {_rule_value(best.rule, name)}" for name in wish.bounds)
    near = sorted(search.pareto, key=lambda each: abs(each.value(wish.least) - best.value(wish.least)))[:PARETO_SHOWN]
    shown = [_standing(each) for each in sorted(near, key=lambda each: each.ribs_kg)]
    title = f"What is traded for what: {len(shown)} of {len(search.pareto)} rules that no other beats in all three"
    return [
        f"Search: {len(search.tried)} rules tried{', stopped early' if search.stopped else ''}; least "
        f"{wish.least.value} is wished for, and the best {met}.\nBest rule: {rule}.\n{_beaten(search, given, units)}",
        View(title=title, table=rows_of("pareto", STANDING.split(), shown)),
    ]


def _beaten(search: Search, given: Given, units: Units) -> str:
    """The search's best against the best of the schemes that were given."""
    if given is None:
        return "None of the other schemes meets the wish."
    name, stands = given
    least = search.wish.least
    was, now = stands.value(least), search.best.value(least)
    told = LEAST[least]
    less = QUANTITIES["percent"].text(100.0 * (now / was - 1.0), units, digits=1)
    return (
        f"Of the other schemes, {name} meets the wish with the least {least.value}: {said(told, was, units)}, against "
        f"{said(told, now, units)} found ({less} %)."
    )


def _rule_value(rule: RibRule, name: str) -> str:
    value = getattr(rule, name)
    return str(value) if name == "count" else f"{value:.1f}"
