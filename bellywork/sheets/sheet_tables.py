"""The tables behind the sheets, of the same quantities as the commands' answers."""

from __future__ import annotations

from collections.abc import Sequence

from bellywork.answers.answer_table import AnswerTable, rows_of
from bellywork.answers.forms import FORMS
from bellywork.sheets.bearing_sheet import stages_table
from bellywork.sheets.bench import Bench
from bellywork.sheets.plate_sheet import supports_table
from bellywork.sheets.rib_sheet import ribs_to_cut


def tables_of(bench: Bench, whats: Sequence[str]) -> tuple[dict[str, AnswerTable], tuple[str, ...]]:
    """The tables by the names of their sheets in a workbook, and what they stand on."""
    tables: dict[str, AnswerTable] = {}
    said: tuple[str, ...] = ()
    if {"bearing", "bridge", "plate"} & set(whats):
        from bellywork.answers.plane_answer import schedule_table

        tables["plane"] = schedule_table(bench.schedule, sureness=bench.sureness)
        said = bench.schedule.assumptions
    if "bearing" in whats:
        tables["stages"] = stages_table(bench.stages, bench.sureness)
    if "ribs" in whats:
        tables["ribs"] = ribs_to_cut(bench.board.needed_body("A table of the ribs").ribs)
    if "plate" in whats:
        struts = FORMS["bellywork-plane/2"].part("struts").quantities
        tables["supports"] = supports_table(bench.board.plate, bench.schedule.plate)
        tables["struts"] = rows_of("struts", struts, bench.schedule.struts)
    if "crown" in whats:
        from bellywork.answers.crown_answer import notes_table, ribs_table

        tables["crown ribs"] = ribs_table(bench.survey)
        tables["crown notes"] = notes_table(bench.survey, bench.best)
        said += bench.survey.assumptions
    if "schemes" in whats:
        from bellywork.answers.ribs_answer import long_notes, long_ribs, summary

        tables["schemes"] = summary(bench.compared)
        tables["scheme ribs"] = long_ribs(bench.compared)
        tables["scheme notes"] = long_notes(bench.compared)
        said += bench.scheme_base.assumptions
    return tables, said
