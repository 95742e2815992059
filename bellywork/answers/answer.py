"""An answer to act on: headline first, then tables, what to look at, and last what was assumed."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from bellywork.answers.answer_table import AnswerTable, grid, plain
from bellywork.findings import Finding
from bellywork.measures import METRIC, Units

CAUTION = "Strings at tension and iron plates hurt people: local rules and licensed practice come first."
WIDTH = 118


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """A table as it is shown: a title, which rows, and a legend.

    rows     places of the rows shown; None: all
    groups   titles of groups of rows, in their order, with the places of the rows; None: one group
    legend   False where another table of the answer has the same columns
    """

    table: AnswerTable
    title: str = ""
    rows: Sequence[int] | None = None
    groups: Mapping[str, Sequence[int]] | None = None
    legend: bool = True


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """What a command answers.

    schema       name and version of its JSON form
    headline     what to do, where, how sure, what stands in the way; sentences
    body         tables and paragraphs between headline and findings
    parts        everything as numbers, for JSON
    table        what CSV holds
    to_look_at   sentences beside the findings
    act          True where something stands in the way: the exit code says so
    below        sends the reader of the printed answer on to what stands below its tables; empty: nothing does
    left_out     which rows the printed answer shows, and how the others are had; empty: it shows all
    """

    schema: str
    title: str
    headline: tuple[str, ...]
    parts: Mapping[str, Any]
    assumptions: tuple[str, ...]
    body: tuple[View | str, ...] = ()
    table: AnswerTable | None = None
    findings: tuple[Finding, ...] = ()
    to_look_at: tuple[str, ...] = ()
    act: bool = False
    below: str = ""
    left_out: str = ""
    units: Units = field(default=METRIC)

    def as_text(self) -> str:
        """The answer as a person reads it."""
        parts = [
            "\n".join([self.title, *(line for sentence in self._printed() for line in wrapped(sentence))]),
            *(view_text(each, self.units) if isinstance(each, View) else each for each in self.body),
            self.left_out,
            paragraph("To look at", (*self.to_look_at, *map(str, self.findings))),
            paragraph("Assumed", self.assumptions),
            CAUTION,
        ]
        return "\n\n".join(part for part in parts if part)

    def _printed(self) -> tuple[str, ...]:
        return (*self.headline, *([self.below] if self.below else []))

    def as_parts(self) -> dict[str, Any]:
        """The answer as JSON holds it, without the envelope of board and fingerprint."""
        said = {"headline": self.headline}
        ends = {"findings": [finding_part(each) for each in self.findings], "assumptions": self.assumptions}
        return dict(plain({**said, **self.parts, **ends}))

    def as_csv(self) -> str:
        """Its table as CSV: a legend in comments, a header, then a line per row; empty where a number is not known."""
        import csv
        import io

        if self.table is None:
            raise ValueError(f"{self.schema} has no table for CSV.")
        out = io.StringIO()
        for column in self.table.columns:
            out.write(f"# {column.registered.key}: {column.registered.meaning}\n")
        writer = csv.writer(out, lineterminator="\n")
        rows = self.table.rows(rounded=True)
        writer.writerow(rows[0] if rows else [column.registered.key for column in self.table.columns])
        writer.writerows([_cell(cell) for cell in row.values()] for row in rows)
        return out.getvalue()


def _cell(value: Any) -> Any:
    """A value in CSV; a word that a spreadsheet would take for a formula gets an apostrophe in front."""
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@")):
        return f"'{value}"
    return "" if value is None else value


def finding_part(finding: Finding) -> dict[str, Any]:
    """A finding as JSON holds it."""
    place = finding.place
    return {
        "code": finding.code,
        "level": finding.level.value,
        "file": place.file,
        "row": place.row,
        "column": place.column,
        "note": place.note,
        "found": finding.found,
        "expected": finding.expected,
        "remedy": finding.remedy,
    }


def view_text(view: View, units: Units) -> str:
    """A table as text, group by group, every group's columns as wide as the widest, with its legend under it."""
    rows = range(len(view.table)) if view.rows is None else view.rows
    groups = {"": rows} if view.groups is None else view.groups
    heads, lines = (
        grid(view.table, (), units),
        {row: line for row, line in zip(rows, grid(view.table, rows, units)[2:])},
    )
    used = [k for k, column in enumerate(view.table.columns) if column.label or any(line[k] for line in lines.values())]
    widths = [max(len(line[k]) for line in (*heads, *lines.values())) for k in used]

    def line_text(line: Sequence[str]) -> str:
        cells = (
            line[k].ljust(width) if view.table.columns[k].left else line[k].rjust(width)
            for k, width in zip(used, widths)
        )
        return "  ".join(cells).rstrip()

    out = [view.title] if view.title else []
    out += [line_text(head) for head in heads]
    for title, places in groups.items():
        out += [title] if title else []
        out += [line_text(lines[row]) for row in places if row in lines]
    return "\n".join([*out, *(legend_text(view.table) if view.legend else ())])


def legend_text(table: AnswerTable) -> list[str]:
    """What each column says, a line or two each."""
    told = table.legend()
    width = max((len(label) for label, _ in told), default=0)
    return [
        line
        for label, meaning in told
        for line in textwrap.wrap(
            meaning, WIDTH, initial_indent=f"  {label:<{width}}  ", subsequent_indent=" " * (width + 4)
        )
    ]


def wrapped(sentence: str) -> list[str]:
    """A sentence on as many lines as it needs."""
    return textwrap.wrap(sentence, WIDTH) or [""]


def paragraph(title: str, sentences: Iterable[str]) -> str:
    """A titled list of sentences; empty where there are none."""
    lines = [
        line
        for sentence in sentences
        for line in textwrap.wrap(sentence, WIDTH, initial_indent="  · ", subsequent_indent="    ")
    ]
    return "\n".join([title, *lines]) if lines else ""
