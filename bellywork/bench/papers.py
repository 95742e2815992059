"""What the bench gives out to be read: bench sheet, page for the owner, all numbers without scripts."""

from __future__ import annotations

import datetime
from html import escape
from importlib.metadata import version
from importlib.util import find_spec

from bellywork.answers.answer import CAUTION
from bellywork.bench.answered import Answered
from bellywork.conventions import note_name
from bellywork.errors import MissingExtra, MissingLayer
from bellywork.estimate.estimate import learned_of
from bellywork.measures import Units


def bench_sheet(answer: Answered, units: Units) -> bytes:
    """The bearing sheet of `bellywork sheet --what bearing` as PDF, on Letter where one reads in inches, else on A4.

    Raises MissingLayer where nothing is answered yet, MissingExtra where reportlab is not installed, SheetError and
    SolveError as the sheet does.
    """
    if answer.described is None:
        raise MissingLayer("There is no answer yet that could be put on a sheet.")
    if find_spec("reportlab") is None:
        raise MissingExtra("A sheet needs reportlab: pip install 'bellywork[sheets]'.")
    from bellywork.sheets.bench import Bench
    from bellywork.sheets.frame import PAPERS, stamp_of
    from bellywork.sheets.made_files import made_files

    board = answer.described.board
    described, estimate = answer.described, learned_of(answer.described)
    printed = datetime.date.today().isoformat()
    stamp = stamp_of(board, answer.fingerprint, version("bellywork"), units, printed=printed)
    paper = PAPERS["a4" if units.decimal == "mm" else "letter"]
    (made,) = made_files(Bench(described, estimate=estimate, units=units), ("bearing",), ("pdf",), paper, stamp)
    return made.content


def owner_page(answer: Answered, units: Units) -> str:
    """The page for the owner of `bellywork crown --page`, as HTML.

    Raises MissingLayer where nothing is answered yet or no crown was read.
    """
    if answer.described is None:
        raise MissingLayer("There is no answer yet that the owner could be told.")
    from bellywork.survey.loss import surveyed
    from bellywork.survey.owner_page import owner_html
    from bellywork.survey.recovery import best

    survey = surveyed(answer.described)
    return owner_html(survey, best(survey), units)


def plain_page(answer: Answered) -> str:
    """The schedule as HTML that needs no script: headline, findings, and every note's numbers."""
    heads = [f"{label}, {unit}" if unit else label for label, unit, _ in answer.legend.values()]
    rows = [
        [note_name(note), *(told.get(name, "") for name in answer.legend)]
        for note, told in sorted(answer.notes.items())
    ]
    said = "".join(f"<li>{escape(line)}</li>" for line in (*answer.headline, *answer.findings))
    head = "".join(f'<th scope="col">{escape(words)}</th>' for words in ("note", *heads))
    body = "".join(f"<tr>{''.join(f'<td>{escape(text)}</td>' for text in row)}</tr>" for row in rows)
    title = escape(answer.title or "The bench: nothing is answered yet; load this page again in a while")
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f'<link rel="stylesheet" href="bench.css"></head><body><main><h1>{title}</h1><ul>{said}</ul>'
        f'<div class="scroll" tabindex="0" role="region" aria-label="Schedule">'
        f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
        f"<p>{escape(CAUTION)}</p></main></body></html>"
    )
