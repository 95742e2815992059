"""`bellywork crown BOARD [--readings NAME] [--page FILE]`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, board_from, finite, needed, progress
from bellywork.cli.learned import add_as_described
from bellywork.cli.lives import add_air, air_alone, life_asked, steps
from bellywork.cli.told import add_output, tell

if TYPE_CHECKING:
    from bellywork.board import Board
    from bellywork.measures import Units
    from bellywork.survey.aged import Aged
    from bellywork.survey.loss import Survey
    from bellywork.survey.recovery import Best
    from bellywork.survey.surface import Curvature

PAGES = (".md", ".html")


def main(argv: Sequence[str] | None = None) -> int:
    """Survey an old board: crown, its loss, what is left and what can be got."""
    from bellywork.answers.crown_answer import crown_answer
    from bellywork.survey.loss import surveyed
    from bellywork.survey.recovery import best

    parser = Parser(
        "crown",
        "Crown and its loss from threads, straightedges, bridge heights and bearing gauges: what the strings "
        "take, what the weather takes, and what is set; the bearing that is left and what lowering the plate or a new "
        "cap would give.",
        "Readings stand in readings.csv and any readings-….csv of the board folder; each with its state, date and "
        "humidity.",
    )
    add_board(parser)
    parser.add_argument("--readings", metavar="NAME", help="only the readings of this table, such as readings-may")
    parser.add_argument("--scan", type=Path, metavar="FILE", help="also read a scan of the panel (.ply, .stl, .obj)")
    parser.add_argument("--scan-unit", choices=("mm", "in"), default="mm", help="unit of the scan (default mm)")
    parser.add_argument(
        "--scan-state", choices=("bare", "strung"), default="bare", help="state it was scanned in (default bare)"
    )
    parser.add_argument("--years", type=finite, metavar="N", help="tell the set from what N years alone take")
    add_air(parser)
    parser.add_argument("--page", type=Path, metavar="FILE", help="also write a page for the owner (.md or .html)")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    add_as_described(parser)
    add_output(parser)
    words = parser.parse_args(argv)
    if words.page is not None and words.page.suffix not in PAGES:
        parser.error(f"found the page '{words.page}', expected a name that ends in {' or '.join(PAGES)}")
    air_alone(parser, words, "--years", words.years is not None)
    if words.scan is not None:
        if not words.scan.is_file():
            parser.error(f"found no file '{words.scan}', expected a scan of the panel")
        needed("solids")
    found = board_from(words.board)
    with progress("Surveying the board"):
        survey = surveyed(_with_scan(found.board, words), table=words.readings, as_described=words.as_described)
        got = best(survey)
        curved = _curvature(survey)
    if words.page:
        _write_page(survey, got, words.page, words.units)
    told = crown_answer(
        found.board.name, survey, got, curved, units=words.units, every=words.all, aged=_aged(survey, words)
    )
    return tell(told, found, words)


def _aged(survey: Survey, words: argparse.Namespace) -> Aged | None:
    """The set against so many years of an ordinary life, where that is asked for."""
    if words.years is None:
        return None
    from bellywork.seasons.outlook import times_to
    from bellywork.survey.aged import aged

    life = life_asked(survey.board, words, times_to(words.years)[-1])
    return aged(survey, life=life, years=words.years, progress=steps("The years alone, with what is not known"))


def _with_scan(board: Board, words: argparse.Namespace) -> Board:
    """The board with the readings of a scan beside its own."""
    if words.scan is None:
        return board
    from bellywork.board.state import State
    from bellywork.geometry.completed import completed
    from bellywork.solids.scan import scan_readings

    whole = completed(board).board
    state = State(words.scan_state)
    scanned = scan_readings(whole, words.scan, unit=words.scan_unit, state=state, climate=board.climate)
    return replace(board, readings=(*board.readings, *scanned))


def _curvature(survey: Survey) -> Curvature:
    from bellywork.survey.surface import curvature, read_surface

    body, plan = survey.board.needed_body("A survey"), survey.board.needed_plan("A survey")
    surface = read_surface(body, list(survey.surest.values()), survey.threads)
    return curvature(surface, plan.middle_mm)


def _write_page(survey: Survey, got: Best, path: Path, units: Units) -> None:
    from bellywork.files.write import write_result
    from bellywork.survey.owner_page import owner_html, owner_page

    write_result(path, (owner_html if path.suffix == ".html" else owner_page)(survey, got, units))
