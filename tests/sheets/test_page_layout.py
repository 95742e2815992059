"""Every page of every sheet of three unlike samples, by the boxes of its texts: nothing lies on anything else, nothing
reaches into the margin, no letter is smaller than 7 points (the issue's own bounds)."""

from functools import cache
from pathlib import Path

import pytest
import shapely

from bellywork.board.state import State
from bellywork.files.read import read_board
from bellywork.measures import units_named
from bellywork.sheets.bench import SHEETS, Bench
from bellywork.sheets.drawing import Page, Text, shifted
from bellywork.sheets.frame import MARGIN_MM, PAPERS, stamp_of
from bellywork.sheets.lettering import POINT_MM
from bellywork.sheets.tiles import ink

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
KINDS = [name for name in SHEETS if name != "schemes"]
LEAST_POINTS, TOUCH_MM = 7.0, 0.15


@cache
def bench(name: str, units: str) -> Bench:
    return Bench(read_board(SAMPLES / name).board, working=State.BARE, units=units_named(units))


def texts(page: Page) -> list[Text]:
    """The texts of a page, those of its windows where the paper shows them."""
    found = [item for item in page.items if isinstance(item, Text)]
    for window in page.windows:
        move = window.at[0] - window.seen.left, window.at[1] - window.seen.bottom
        found += [item for item in shifted(window.drawing.items, *move) if isinstance(item, Text)]
    return [text for text in found if text.text.strip()]


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("name", "units", "paper"),
    [
        ("old_small_grand", "mm", "a4"),
        ("lopsided_board", "fraction", "letter"),
        ("upright", "in", "letter"),
    ],
)
def test_nothing_overlaps_leaves_the_page_or_is_too_small(name: str, units: str, paper: str, kind: str) -> None:
    work = bench(name, units)
    stamp = stamp_of(work.board, "0123456789abcdef", "0.1.0", work.units, printed="2026-11-30")
    for number, page in enumerate(work.sheet(kind).pages(PAPERS[paper], stamp), start=1):
        told = texts(page)
        for text in told:
            assert text.size_mm >= LEAST_POINTS * POINT_MM - 1e-9, (number, text.text)
        boxes = [ink(text) for text in told]
        inside = shapely.box(MARGIN_MM, MARGIN_MM, page.width_mm - MARGIN_MM, page.height_mm - MARGIN_MM)
        for text, box in zip(told, boxes):
            assert inside.buffer(TOUCH_MM).contains(box), (number, text.text, box.bounds)
        tree = shapely.STRtree(boxes)
        pairs = tree.query(boxes, predicate="intersects").T
        for one, other in (pair for pair in pairs.tolist() if pair[0] < pair[1]):
            common = shapely.intersection(boxes[one], boxes[other])
            low_x, low_y, high_x, high_y = common.bounds
            assert min(high_x - low_x, high_y - low_y) < 0.45, (number, told[one].text, told[other].text)
