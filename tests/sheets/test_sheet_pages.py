"""Frame, tiles and flow: the check bar is 100 mm on paper, tiles join, nothing is lost or drawn into the foot."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from read_back import MM, ink_centres, needs_raster, rastered

from bellywork.board import Board, Climate
from bellywork.errors import SheetError
from bellywork.measures import units_named
from bellywork.sheets.drawing import Box, Drawing, Line, Page, Pen, Text
from bellywork.sheets.flow import Figure, Heading, Sentences, SheetColumn, SheetGrid, laid_out
from bellywork.sheets.frame import BAR_MM, MARGIN_MM, PAPERS, PageFrame, check_bar, numbered, stamp_of
from bellywork.sheets.lettering import width_mm
from bellywork.sheets.pdf import pdf_bytes
from bellywork.sheets.tiles import LEAST_MM, OVERLAP_MM, laid, pieces

BOARD = Board(name="Invented", climate=Climate(rh_percent=42.0, temperature_C=21.0, date="2026-05-04"))
STAMP = stamp_of(BOARD, "0123456789abcdef", "0.1.0")
RULER = Drawing(
    name="ruler",
    box=Box(left=0.0, bottom=0.0, right=700.0, top=50.0),
    items=(
        Line(start=(0.0, 25.0), end=(700.0, 25.0)),
        *(Line(start=(x, 10.0), end=(x, 40.0), pen=Pen.CUT) for x in np.arange(5.0, 700.0, 20.0)),
    ),
)


def frame(paper: str = "a4", *, landscape: bool = True) -> PageFrame:
    return PageFrame(paper=PAPERS[paper], stamp=STAMP, title="Ruler", cautions=("Mind the edge.",), landscape=landscape)


def texts(page: Page) -> list[str]:
    return [item.text for item in page.items if isinstance(item, Text)]


def test_the_stamp_says_board_state_climate_date_version_fingerprint_and_units() -> None:
    assert STAMP.lines == (
        "Invented",
        "measured bare, 42 % RH, 21 °C, 2026-05-04",
        "bellywork 0.1.0 · inputs 0123456789ab",
        "Lengths in mm, forces in N, angles in degrees.",
    )
    assert stamp_of(Board(name="Bare"), "ff", "1").lines[1] == "measured bare, RH not noted, date not noted"


@needs_raster
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("landscape", [False, True])
def test_the_check_bar_of_every_page_measures_100_mm(tmp_path: Path, paper: str, landscape: bool) -> None:
    page_frame = frame(paper, landscape=landscape)
    pages = laid([RULER], page_frame)
    for number, page in enumerate(pages, start=1):
        bars = [i for i in page.items if isinstance(i, Line) and abs(i.end[0] - i.start[0]) == BAR_MM]
        ((x, y),) = [bar.start for bar in bars]
        grey = rastered(pdf_bytes(pages, title="Ruler"), tmp_path, number, dpi=600)
        row = grey[round((page.height_mm - y - 1.5) * 600 / MM), round((x - 3.0) * 600 / MM) :] < 128
        strokes = [tick * MM / 600 + x - 3.0 for tick in ink_centres(row)]
        assert strokes[0] == pytest.approx(x, abs=0.1)
        assert strokes[2] - strokes[0] == pytest.approx(100.0, abs=0.1)  # the long ticks stand at 0, 50 and 100


def test_the_bar_of_sheets_in_inches_is_4_in_long() -> None:
    """101.6 mm, with a long stroke at its ends and at 2 in. Kind: hand value."""
    bar, *rest = check_bar(inches=True)
    assert isinstance(bar, Line)
    assert bar.end[0] - bar.start[0] == pytest.approx(101.6)
    long = [item.start[0] for item in rest if isinstance(item, Line) and item.end[1] == 2.0]
    assert long == pytest.approx([0.0, 50.8, 101.6])
    assert [item.text[:5] for item in rest if isinstance(item, Text)] == ["4 in."]
    assert stamp_of(BOARD, "ff", "1", units_named("in")).inches
    assert not STAMP.inches


@needs_raster
def test_pieces_laid_on_their_marks_give_back_the_drawing(tmp_path: Path) -> None:
    """Strokes every 20 mm, read from the paper: piece on piece, joint on joint, they stand where they were drawn."""
    (page,) = laid([RULER], frame())
    grey, found, edge = rastered(pdf_bytes([page], title="Ruler"), tmp_path, 1), [], 0.0
    assert len(page.windows) == 3
    for number, window in enumerate(page.windows):
        x, y = window.at
        row = grey[round((page.height_mm - y - window.seen.height + 3.0) * 300 / MM)] < 128
        marks = [i for i in window.drawing.items if isinstance(i, Line) and i.pen is Pen.JOIN]
        joints = sorted(mark.start[0] - window.seen.left + x for mark in marks)
        own = [at * MM / 300 for at in ink_centres(row)]
        strokes = [
            at for at in own if x < at < x + window.seen.width and min((abs(at - j) for j in joints), default=9.0) > 0.5
        ]
        # this piece's first joint is laid where the last piece's second joint was
        shift = edge - joints[0] if number else -x - 0.0 + window.seen.left
        found.append([at + shift for at in strokes])
        edge = joints[-1] + shift
    together = np.unique(np.round(np.concatenate(found), 0))
    for piece_strokes in found:
        nearest = 5.0 + 20.0 * np.round((np.array(piece_strokes) - 5.0) / 20.0)
        assert np.abs(piece_strokes - nearest).max() < 0.1
    assert together.tolist() == pytest.approx(np.arange(5.0, 700.0, 20.0).tolist())
    overlap = set(np.round(found[0])) & set(np.round(found[1]))
    assert len(overlap) <= OVERLAP_MM // 20.0 + 1


def test_pieces_of_several_drawings_share_pages_and_lie_apart_inside_them() -> None:
    """Eleven strips of 300 mm, 12 to 32 mm high, each in a piece of a page's width and a short one: one under another
    the 22 take 580 mm, four pages of 157. No piece would have had room under what stands on an earlier page.
    Kind: invariant."""
    heights = [12.0 + 2.0 * k for k in range(11)]
    drawings = [
        Drawing(
            name=f"strip {k}",
            box=Box(left=0.0, bottom=-9.0, right=300.0, top=60.0),
            items=(Line(start=(0.0, 0.0), end=(300.0, high)), Line(start=(0.0, high), end=(300.0, 0.0))),
        )
        for k, high in enumerate(heights)
    ]
    pages = laid(drawings, frame())
    room, seen = frame().room, []
    for page in pages:
        boxes = []
        for window in page.windows:
            (x, y), size = window.at, window.seen
            assert x >= room.left - 1e-9
            assert x + size.width <= room.right + 1e-9
            assert y >= room.bottom - 1e-9
            assert y + size.height <= room.top + 1e-9
            boxes.append((x, y, x + size.width, y + size.height))
            seen.append(window.drawing.name)
        for k, one in enumerate(boxes):
            for other in boxes[:k]:
                apart = one[0] >= other[2] or other[0] >= one[2] or one[1] >= other[3] or other[1] >= one[3]
                assert apart
    assert sorted(seen) == sorted([f"strip {k}" for k in range(11)] * 2)
    free = [min(window.at[1] for window in page.windows) - room.bottom for page in pages]
    for k, page in enumerate(pages):
        assert all(window.seen.height > left - 3.0 for window in page.windows for left in free[:k])
    assert len(pages) == 4


def test_a_label_stands_whole_on_one_piece_and_each_piece_names_its_drawing() -> None:
    """Labels every 7 mm, 30 mm wide, lying and turned: each is on one piece, inside its joints. Kind: invariant."""
    words = [Text(at=(7.0 * k, 4.0 + k % 3), text=f"label {k:03d} of many", turn_deg=0.0) for k in range(2, 95)]
    long = Drawing(name="rib 7", box=RULER.box, items=(*RULER.items, *words))
    cut, told = pieces(long, 200.0), []
    assert len(cut) == 4
    for piece in cut:
        texts = [item for item in piece.drawing.items if isinstance(item, Text)]
        joints = [i.start[0] for i in piece.drawing.items if isinstance(i, Line) and i.pen is Pen.JOIN]
        for text in texts:
            if text.text.startswith("label"):
                low, high = text.at[0], text.at[0] + width_mm(text.text, text.size_mm)
                assert all(high <= at or low >= at for at in joints)
                assert low >= piece.seen.left
                assert high <= piece.seen.right
                told.append(text.text)
        named = {text.text for text in texts if text.text.startswith("rib 7, ")}
        assert len(named) == len(joints)
    assert sorted(told) == [text.text for text in words]
    for left, right in pairwise(cut):
        assert left.seen.right - right.seen.left == pytest.approx(OVERLAP_MM)


def test_no_last_piece_is_too_short_to_hold() -> None:
    """700 mm in pieces of 237: 237 + 227 + 227 leaves 9 mm over, which would be a piece of 14."""
    *_, last = pieces(RULER, 237.0)
    assert last.seen.width >= LEAST_MM
    assert last.seen.right == 700.0


def test_a_roll_is_one_page_as_long_as_the_drawing() -> None:
    (page,) = laid([RULER], frame("roll"))
    assert page.width_mm == 700.0 + 2 * MARGIN_MM
    (seen,) = [window.seen for window in page.windows]
    assert (seen.width, seen.height) == (RULER.box.width, RULER.box.height)


def test_too_high_a_drawing_is_refused_and_the_way_out_named() -> None:
    upright = Line(start=(50.0, 0.0), end=(50.0, 398.8))
    high = Drawing(name="Bridge long", box=Box(left=0.0, bottom=0.0, right=100.0, top=700.0), items=(upright,))
    with pytest.raises(SheetError, match=r"^Bridge long is 400 mm high and a4 leaves 157 mm: take a roll, or DXF\.$"):
        laid([high], frame())
    with pytest.raises(SheetError, match=r"^Bridge long is 700 mm high and roll leaves 541 mm: take DXF\.$"):
        laid([high], frame("roll"))


def test_a_long_table_goes_on_over_the_page_with_its_head_and_loses_no_row() -> None:
    rows = 90
    grid = SheetGrid(
        columns=(
            SheetColumn(head="note", cells=tuple(map(str, range(rows)))),
            SheetColumn(head="before", unit="deg", box=True),
        ),
        rows=rows,
    )
    page_frame = frame(landscape=False)
    pages = laid_out([Heading(text="Notes"), grid, Sentences(lines=("One.", "Two."), numbered=True)], page_frame)
    assert len(pages) == 3
    written = [text for page in pages for text in texts(page)]
    assert [text for text in written if text.isdigit()] == [*map(str, range(rows)), "1", "2"]
    assert written.count("before") == 3
    for page in pages:
        assert "Ruler" in texts(page)
        own = [i for i in page.items if isinstance(i, Text) and i.at[1] > page_frame.room.bottom - 2.0]
        assert all(i.at[1] >= page_frame.room.bottom for i in own)


def test_a_table_is_parted_only_where_several_rows_stand_on_either_side() -> None:
    """18 rows of 6.2 mm on 156.8 mm of paper. Under 36 mm of figure, 3 of gap, 7.6 of heading and 8.4 of table head 16
    would fit and two would dangle, so five go over; under 80 mm of figure nine fit, and nine go over; under 115 mm
    three would stand alone, so all go over. Kind: hand count.
    """

    def rows_of(height_mm: float) -> list[int]:
        cells = tuple(f"row {k}" for k in range(18))
        grid = SheetGrid(columns=(SheetColumn(head="note", cells=cells),), rows=18)
        pages = laid_out([Figure(height_mm=height_mm, items=()), Heading(text="Notes"), grid], frame())
        counts = [sum(text.startswith("row ") for text in texts(page)) for page in pages]
        return [count for count in counts if count]

    assert rows_of(36.0) == [13, 5]
    assert rows_of(80.0) == [9, 9]
    assert rows_of(115.0) == [18]


def test_a_figure_higher_than_the_page_is_refused() -> None:
    with pytest.raises(SheetError, match=r"^A figure of 500 mm is higher than the paper's 157\.$"):
        laid_out([Figure(height_mm=500.0, items=())], frame())


def test_numbered_sentences_stay_together_under_their_heading() -> None:
    filler = Figure(height_mm=100.0, items=())
    steps = Sentences(lines=tuple(f"Step {k}." for k in range(15)), numbered=True)
    first, second = laid_out([Heading(text="A"), filler, Heading(text="B"), steps], frame())
    assert "A" in texts(first)
    assert "B" not in texts(first)
    assert {"B", "Step 0.", "Step 14."} <= set(texts(second))


def test_pages_of_a_run_are_numbered_through_with_what_stands_where() -> None:
    """Three sheets of one, three and two pages. Kind: hand value."""
    blank = Page(width_mm=210.0, height_mm=297.0, items=())
    run = numbered({"plate": [blank], "bridge": [blank] * 3, "ribs": [blank] * 2}, "2026-11-26")
    told = [[item.text for item in page.items if isinstance(item, Text)] for pages in run.values() for page in pages]
    contents = "of this run: plate 1, bridge 2–4, ribs 5–6 · printed 2026-11-26"
    assert told == [[f"page {k} of 6 {contents}"] for k in range(1, 7)]
    (alone,) = numbered({"plate": [blank]})["plate"]
    assert [item.text for item in alone.items] == ["page 1 of 1"]
