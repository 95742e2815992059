"""The numbers of docs/theory-time.md come from runs of the sample grands, by write_theory_time.py."""

import numpy as np
import pytest
from write_theory_time import DAYS, GRANDS, PAGE, ROOT

from bellywork.conventions import note_name
from bellywork.files.read import read_board
from bellywork.instrument import prepared
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import outlook

FIRST_WEEK = DAYS[:3]


@pytest.mark.parametrize("name", GRANDS)
def test_net_bearing_of_the_first_week(name: str) -> None:
    """Own earlier output: the middles of the page to its last digit and the steps on the way."""
    ready = prepared(read_board(ROOT / "sample_boards" / name).board)
    told = outlook(ready, life=life_of(ready.board), days=FIRST_WEEK, banded=False).middle["net_deg"]
    table = PAGE.read_text(encoding="utf-8").split(f"Net bearing in degrees, {GRANDS[name]}:")[1]
    rows = table.split("\n\n")[1].splitlines()[2:]
    assert len(rows) == 6
    names = [note_name(note) for note in ready.board.needed_strings("a test").note.tolist()]
    for row in rows:
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        printed = [float(cell.split()[0]) for cell in cells[1 : 1 + len(FIRST_WEEK)]]
        assert told[:, names.index(cells[0])] == pytest.approx(np.array(printed), abs=0.015), cells[0]


def test_first_year_of_the_tenor_adds_up() -> None:
    """Invariant of the page: each row's change and share follow from its two bearings, and the first row is that of the
    table of the years.
    """
    page = PAGE.read_text(encoding="utf-8")
    rows = page.split("Where the tenor's first year goes:")[1].split("\n\n")[1].splitlines()[2:]
    assert len(rows) == 13
    numbers = [[float(cell.split("°")[0].split(" ")[0].replace("−", "-")) for cell in _cells(row)[1:5]] for row in rows]
    for before, after, change, share in numbers:
        assert change == pytest.approx(after - before, abs=0.0101)
        assert share == pytest.approx(100.0 * (after / before - 1.0), abs=1.5)
    years = next(row for row in page.split("rib-crowned:")[1].splitlines() if row.startswith("| A3 |"))
    told = [float(_cells(years)[1 + DAYS.index(day)].split()[0]) for day in (0.0, DAYS[5])]
    assert numbers[0][:2] == pytest.approx(told, abs=0.0101)


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip("|").split("|")]
