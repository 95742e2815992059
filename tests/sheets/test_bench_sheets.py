"""The sheets of the sample grand, read back: templates lie where the board says, tables say what the schedule says."""

import io
import math
import re
from dataclasses import replace
from pathlib import Path
from shutil import copytree

import ezdxf
import numpy as np
import pytest
from read_back import MM, ink_centres, needs_raster, rastered

from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import plane
from bellywork.board import Board, PianoKind
from bellywork.errors import MissingLayer, SheetError
from bellywork.estimate.bands import Boards, plane_bands
from bellywork.estimate.estimate import estimated
from bellywork.files.read import BoardFile, read_board
from bellywork.geometry.string_line import bearing, topped
from bellywork.instrument import prepared
from bellywork.sheets.bearing_sheet import CAUTIONS as BEARING
from bellywork.sheets.bearing_sheet import SEQUENCE, BearingStages
from bellywork.sheets.bench import Bench
from bellywork.sheets.bridge_sheet import bridge_sheet, top_profiles
from bellywork.sheets.crown_sheets import CAUTIONS as CROWN
from bellywork.sheets.drawing import Page, Pen, Text
from bellywork.sheets.dxf import dxf_bytes
from bellywork.sheets.flow import Sentences, SheetGrid
from bellywork.sheets.frame import PAPERS, Stamp, stamp_of
from bellywork.sheets.pdf import pdf_bytes
from bellywork.sheets.plate_sheet import CAUTIONS as PLATE
from bellywork.sheets.plate_sheet import plate_sheet
from bellywork.sheets.rib_sheet import caul_radii, rib_sheet
from bellywork.sheets.sheet_pages import Sheet, worded

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
GRAND = SAMPLES / "seven_foot_grand"


@pytest.fixture(scope="module")
def grand() -> BoardFile:
    return read_board(GRAND)


@pytest.fixture(scope="module")
def schedule(grand: BoardFile) -> PlaneTable:
    return plane(grand.board, plate_first=True)


@pytest.fixture(scope="module")
def stamp(grand: BoardFile) -> Stamp:
    return stamp_of(grand.board, grand.fingerprint, "0.1.0")


def grids(sheet: Sheet) -> list[SheetGrid]:
    return [block for block in sheet.blocks if isinstance(block, SheetGrid)]


def cells(grid: SheetGrid, head: str) -> list[float]:
    (column,) = [column for column in grid.columns if column.head == head]
    return [float(text.replace("−", "-")) for text in column.cells]


def within(page: Page, texts: list[Text]) -> bool:
    return all(0.0 < t.at[0] < page.width_mm and 0.0 < t.at[1] < page.height_mm for t in texts)


@pytest.fixture(scope="module")
def as_it_is(grand: BoardFile) -> Bench:
    return Bench(grand.board)


@pytest.fixture(scope="module")
def bench(as_it_is: Bench) -> Sheet:
    return as_it_is.sheet("bearing")


@pytest.fixture(scope="module")
def stages(as_it_is: Bench) -> BearingStages:
    return as_it_is.stages


def test_the_bearing_sheet_has_boxes_beside_predictions(stages: BearingStages, bench: Sheet) -> None:
    notes = grids(bench)[0]
    shown = [int(note) - 1 for note in cells(notes, "note")]
    assert notes.rows == len(shown) == 15
    boxes = [column.head for column in notes.columns if column.box]
    assert boxes == ["before", "preloaded", "planed", "strung"]
    predicted = [column.cells for column in notes.columns if column.head == "predicted"]
    schedule = stages.schedule
    for values, texts in zip(
        (stages.before_deg, stages.preloaded_deg, stages.planed_deg, stages.strung_deg), predicted
    ):
        assert [float(t.replace("−", "-")) for t in texts] == pytest.approx(values[shown], abs=0.0051)
    assert cells(notes, "block") == pytest.approx(schedule.block_mm[shown], abs=0.0051)
    assert cells(notes, "cut rear") == pytest.approx(schedule.faired_rear_mm[shown], abs=0.0051)
    assert cells(notes, "cap left") == pytest.approx(schedule.cap_left_mm[shown], abs=0.0051)
    assert len(SEQUENCE) == 10


def test_the_sheets_of_an_upright_name_its_own_parts(bench: Sheet) -> None:
    """Common practice, no source: an upright has no nose, spine or belly rail; its posts take the plate's bolts."""
    of_a_grand = {"nose", "spine", "belly"}
    for kind, there in ((PianoKind.GRAND, of_a_grand), (PianoKind.UPRIGHT, set())):
        told = " ".join(sentence for each in (SEQUENCE, BEARING, CROWN, PLATE) for sentence in worded(each, kind))
        assert set(re.findall(r"[a-z]+", told)) & of_a_grand == there
        assert "{" not in told
        assert ("bolts to the posts" in told) == (kind is PianoKind.UPRIGHT)
    (steps,) = (block for block in bench.blocks if isinstance(block, Sentences) and block.numbered)
    assert steps.lines == worded(SEQUENCE, PianoKind.GRAND)
    assert bench.cautions == worded(BEARING, PianoKind.GRAND)
    upright = replace(read_board(GRAND).board, kind=PianoKind.UPRIGHT)
    assert plate_sheet(upright, plane(upright)).cautions == worded(PLATE, PianoKind.UPRIGHT)


def test_a_bridge_planed_to_the_kerf_has_the_net_of_the_planed_one(stages: BearingStages) -> None:
    """Invariant of thread and block: the floor of the kerf makes the same net bearing as the wanted top."""
    now = stages.schedule.now.line
    kerfed = topped(now, now.bridge_front_mm - stages.kerf_front_mm, now.bridge_rear_mm - stages.kerf_rear_mm)
    assert bearing(kerfed).net_deg == pytest.approx(stages.planed_deg, abs=1e-6)


def test_strung_meets_the_target_and_preload_lowers_the_bearing(stages: BearingStages) -> None:
    assert stages.strung_deg == pytest.approx(stages.schedule.faired.target_net_deg, abs=0.1)
    assert np.all(stages.preloaded_deg < stages.before_deg)


def test_the_template_lies_where_the_board_says_in_dxf(grand: BoardFile, schedule: PlaneTable, stamp: Stamp) -> None:
    """Against the board's own tables: pin to pin distances in plan and heights of the top, within 0.1 mm."""
    sheet = bridge_sheet(grand.board, schedule)
    whole = sheet.whole(stamp)
    assert whole is not None
    space = ezdxf.read(io.StringIO(dxf_bytes(whole).decode())).modelspace()
    curves = {pen: list(space.query(f'LWPOLYLINE[layer=="{pen.name}"]')) for pen in (Pen.NOW, Pen.CUT)}
    plan, line = grand.board.needed_plan("this"), schedule.now.line
    k = 0
    for bridge in dict.fromkeys(line.bridge):
        at = np.array([name == bridge for name in line.bridge])
        for pins, top, depth in (
            (plan.front_pin_mm[at], line.bridge_front_mm[at], schedule.faired_front_mm[at]),
            (plan.rear_pin_mm[at], line.bridge_rear_mm[at], schedule.faired_rear_mm[at]),
        ):
            now, wanted = (np.array([p[:2] for p in curves[pen][k].get_points()]) for pen in (Pen.NOW, Pen.CUT))
            steps = np.hypot(*(pins[1:] - pins[:-1]).T)
            assert np.diff(now[:, 0]) == pytest.approx(steps, abs=0.01)
            assert np.diff(now[:, 1]) == pytest.approx(np.diff(top), abs=0.01)
            assert now[:, 1] - wanted[:, 1] == pytest.approx(depth, abs=0.01)
            assert now[:, 0] == pytest.approx(wanted[:, 0])
            k += 1
    assert k == len(curves[Pen.NOW]) == 4
    bars = [e for e in space.query("LINE") if abs(e.dxf.end.x - e.dxf.start.x) == 100.0 and e.dxf.start.y < -200.0]
    assert len(bars) == 1
    written = {text.dxf.text for text in space.query("TEXT")}
    assert {"Seven-foot grand, invented", stamp.lines[2]} <= written


@needs_raster
def test_the_printed_template_shows_now_and_wanted_at_their_heights(
    grand: BoardFile, schedule: PlaneTable, stamp: Stamp, tmp_path: Path
) -> None:
    sheet = bridge_sheet(grand.board, schedule)
    pages = sheet.pages(PAPERS["a4"], stamp)
    first = top_profiles(grand.board, schedule)[0]
    grey = rastered(pdf_bytes(pages, title="Bridge"), tmp_path, 1, dpi=600)
    window = pages[0].windows[0]
    x = float((first.along_mm[3] + first.along_mm[4]) / 2.0)

    def column_at(along: float) -> np.ndarray:
        return grey[:, round((window.at[0] - window.seen.left + along) * 600 / MM)] < 128

    def ink_heights(column: np.ndarray) -> list[float]:
        return [pages[0].height_mm - y * MM / 600 for y in ink_centres(column)]

    inks = ink_heights(column_at(x))
    base = min(inks, key=lambda y: abs(y - (window.at[1] - window.seen.bottom)))
    assert base == pytest.approx(window.at[1] - window.seen.bottom, abs=0.1)
    now, wanted = (float(np.interp(x, first.along_mm, h)) - first.base_mm for h in (first.now_mm, first.wanted_mm))
    heights = [y - base for y in inks]
    assert min(abs(h - wanted) for h in heights) < 0.1
    dashes = [h for step in range(0, 120, 8) for h in ink_heights(column_at(x + step * MM / 600))]
    assert min(abs(h - base - now) for h in dashes) < 0.1


def test_the_template_needs_the_plan(schedule: PlaneTable) -> None:
    board = Board(name="lengths only", strings=schedule.now.line)
    with pytest.raises(MissingLayer, match=r"^A bridge height template needs the strings' points in plan"):
        bridge_sheet(board, schedule)


def test_ribs_are_drawn_at_full_size(grand: BoardFile, stamp: Stamp) -> None:
    """Closed form: an arc of radius R through both ends of a chord L rises R − √(R² − L²/4)."""
    assert grand.board.body is not None
    ribs = sorted(grand.board.body.ribs, key=lambda rib: rib.length_mm)
    whole = rib_sheet(grand.board).whole(stamp)
    assert whole is not None
    space = ezdxf.read(io.StringIO(dxf_bytes(whole).decode())).modelspace()
    arcs = list(space.query("ARC"))[: len(ribs)]
    undersides = list(space.query('LWPOLYLINE[layer=="CUT"]'))[: len(ribs)]
    for rib, arc, underside in zip(ribs, arcs, undersides):
        turn = math.radians(arc.dxf.end_angle - arc.dxf.start_angle)
        assert arc.dxf.radius == rib.crown_radius_mm
        assert 2.0 * arc.dxf.radius * math.sin(turn / 2.0) == pytest.approx(rib.length_mm, abs=0.01)
        points = np.array([p[:2] for p in underside.get_points()])
        ends = arc.start_point.y - points[[0, -1], 1]
        assert ends == pytest.approx(rib.end_height_mm, abs=0.01)
        top = arc.dxf.center.y + math.sqrt(arc.dxf.radius**2 - 0.0)
        middle = top - np.interp(arc.dxf.center.x, *points.T)
        assert middle == pytest.approx(rib.height_mm, abs=0.05)


def test_cauls_have_each_radius_once(grand: BoardFile) -> None:
    assert grand.board.body is not None
    cauls = caul_radii(grand.board.body.ribs)
    assert len({radius for radius, _ in cauls}) == len(cauls)
    falls = grids(rib_sheet(grand.board))[1]
    # closed form: x²/2R, its error x⁴/8R³ below 0.001 mm here
    assert cells(falls, "at 100 mm") == pytest.approx([100.0**2 / (2.0 * r) for r, _ in cauls], abs=0.006)


def test_a_rib_sheet_needs_ribs(grand: BoardFile) -> None:
    from dataclasses import replace

    assert grand.board.body is not None
    bald = replace(grand.board, body=replace(grand.board.body, ribs=()))
    with pytest.raises(SheetError, match=r"^The board has no ribs to draw: describe them in ribs\.csv\.$"):
        rib_sheet(bald)
    with pytest.raises(MissingLayer, match=r"^A rib sheet needs the board itself"):
        rib_sheet(replace(grand.board, body=None))


def test_the_dowel_schedule_says_how_each_support_moves(grand: BoardFile, schedule: PlaneTable) -> None:
    dowels = grids(plate_sheet(grand.board, schedule))[0]
    assert schedule.plate is not None
    assert cells(dowels, "move") == pytest.approx(schedule.plate.move_mm, abs=0.0051)
    now, wanted = cells(dowels, "height now"), cells(dowels, "height wanted")
    assert np.subtract(wanted, now) == pytest.approx(schedule.plate.move_mm, abs=0.0101)


def test_every_page_has_stamp_cautions_and_bar_and_nothing_outside(
    grand: BoardFile, schedule: PlaneTable, stamp: Stamp, bench: Sheet
) -> None:
    sheets = (bench, bridge_sheet(grand.board, schedule), rib_sheet(grand.board), plate_sheet(grand.board, schedule))
    for sheet in sheets:
        for paper in PAPERS.values():
            for page in sheet.pages(paper, stamp):
                texts = [item for item in page.items if isinstance(item, Text)]
                written = " ".join(text.text for text in texts)
                assert all(line in written for line in stamp.lines)
                assert "local rules and licensed practice come first." in written
                assert all(caution.split()[0] in written for caution in sheet.cautions)
                assert ("100 mm. Print at 100 %" in written) == bool(page.windows)
                assert within(page, texts)


def test_a_learned_boards_sheet_tells_the_band_of_what_is_predicted(tmp_path: Path) -> None:
    """One load pressed on the lopsided board: the sheet opens with the words of `plane`, and beside the strung bearing
    and the cut stand the half widths of the estimate's own bands."""
    folder = copytree(SAMPLES / "lopsided_board", tmp_path / "lopsided")
    (folder / "trials.csv").write_text(
        "trial,at,force_N,read,sink_mm,uncertainty_mm\n1,C4,100,C4,0.20,0.02\n", encoding="utf-8"
    )
    board = read_board(folder).board
    estimate = estimated(prepared(board))
    work = Bench(board, estimate=estimate)
    sheet, bands = work.sheet("bearing"), plane_bands(Boards.of(estimate), work.schedule).bands
    opening = next(block for block in sheet.blocks if isinstance(block, Sentences))
    assert opening.lines == work.told.headline
    assert any("± is the band in which 95 of 100 such boards lie" in line for line in opening.lines)
    shown = np.flatnonzero(work.schedule.now.reference)
    predicted = [column.cells for column in grids(sheet)[0].columns if column.head == "predicted"][-1]
    (cut,) = [column.cells for column in grids(sheet)[0].columns if column.head == "cut front"]
    for cells_, key in ((predicted, "planed_net_deg"), (cut, "faired_front_mm")):
        low, high = bands[key]
        for place, cell in zip(shown.tolist(), cells_):
            value, half = (float(text) for text in cell.replace("−", "-").split(" ± "))
            digits = len(cell.rpartition(".")[2])
            assert value == pytest.approx((low + high)[place] / 2.0, abs=0.51 * 10.0**-digits)
            assert half == pytest.approx((high - low)[place] / 2.0, abs=0.51 * 10.0**-digits)


def test_no_kerf_is_told_where_the_thread_runs_over_the_top() -> None:
    """The old grand is short of wood at every note: nothing can be sawn there."""
    work = Bench(read_board(SAMPLES / "old_small_grand").board)
    short = work.schedule.faired_front_mm < -0.3
    assert short.any()
    assert np.isnan(work.stages.kerf_front_mm[short]).all()
    assert not (work.stages.kerf_front_mm <= 0.0).any()
