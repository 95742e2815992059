"""The comparison of rib schemes on paper says what the comparison says."""

from dataclasses import replace
from pathlib import Path

import pytest

from bellywork.answers.ribs_answer import long_notes, long_ribs, summary
from bellywork.board.scheme import Scheme
from bellywork.files.read import BoardFile, read_board
from bellywork.schemes.assessed import SchemeResult, assessed, base_of
from bellywork.sheets.flow import Figure, SheetGrid
from bellywork.sheets.frame import PAPERS, stamp_of
from bellywork.sheets.scheme_sheet import schemes_sheet

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"


@pytest.fixture(scope="module")
def found() -> BoardFile:
    return read_board(GRAND)


@pytest.fixture(scope="module")
def results(found: BoardFile) -> list[SchemeResult]:
    assert found.board.body is not None
    ribs, base = found.board.body.ribs, base_of(found.board)
    taller = tuple(replace(rib, height_mm=rib.height_mm + 3.0) for rib in ribs)
    schemes = (Scheme(name="as it is", ribs=ribs), Scheme(name="taller", ribs=taller))
    return [assessed(base, scheme, rough_cell_mm=80.0) for scheme in schemes]


def test_the_summary_shows_each_scheme_and_its_difference(results: list[SchemeResult]) -> None:
    sheet = schemes_sheet(results, ("Assumed.",))
    summary = next(block for block in sheet.blocks if isinstance(block, SheetGrid))
    heads = [column.head for column in summary.columns]
    mass, more = (summary.columns[heads.index("board") + k] for k in (0, 1))
    first, second = (result.mass_kg for result in results)
    assert mass.cells == (f"{first:.2f}", f"{second:.2f}")
    assert (more.head, more.cells) == ("−A", ("0.00", f"+{second - first:.2f}"))
    sink, less = (summary.columns[heads.index("most sink") + k].cells for k in (0, 1))
    assert sink[1] == f"{results[1].sink_mm.max():.2f}"
    assert less[1].startswith("−")  # invariant: taller ribs sink less


def test_there_is_a_plot_of_each_kind_and_a_table_of_ribs_for_each_scheme(
    found: BoardFile, results: list[SchemeResult]
) -> None:
    sheet = schemes_sheet(results, ("Assumed.",))
    assert sum(isinstance(block, Figure) for block in sheet.blocks) == 4
    assert [block.rows for block in sheet.blocks if isinstance(block, SheetGrid)] == [2, 15, 15]
    stamp = stamp_of(found.board, found.fingerprint, "0.1.0")
    for paper in PAPERS.values():
        assert len(sheet.pages(paper, stamp)) >= 4


def test_tables_hold_every_scheme_rib_and_note(results: list[SchemeResult]) -> None:
    assert summary(results)["scheme"].values == ("as it is", "taller")
    assert len(long_ribs(results)) == 30
    notes = long_notes(results)
    assert len(notes) == 2 * 88
    assert notes["net_deg"].values[100] == results[1].net_deg[12]
