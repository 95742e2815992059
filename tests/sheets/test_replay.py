"""One drawing of every primitive, replayed to PDF and DXF and read back: lengths within 0.1 mm (ISO 32000-1: a unit of
a page is 1/72 in; DXF: $INSUNITS 4 is mm), the same bytes twice."""

import io
import subprocess
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from read_back import MM, ink_centres, needs_raster, rastered

from bellywork.errors import OutputError
from bellywork.sheets.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    DrawingWindow,
    Line,
    Page,
    Pen,
    Polyline,
    Text,
    TextAnchor,
)
from bellywork.sheets.dxf import dxf_bytes
from bellywork.sheets.lettering import width_mm, wrapped
from bellywork.sheets.pdf import pdf_bytes

ITEMS = (
    Line(start=(20.0, 20.0), end=(20.0, 60.0), pen=Pen.CUT),
    Line(start=(120.0, 20.0), end=(120.0, 60.0), pen=Pen.CUT),
    Polyline(points=((20.0, 70.0), (60.0, 70.0), (60.0, 80.0)), closed=True),
    Arc(centre=(100.0, -4900.0), radius_mm=5000.0, start_deg=89.5, end_deg=90.5, pen=Pen.CUT),
    Circle(centre=(150.0, 40.0), radius_mm=10.0),
    Text(at=(20.0, 120.0), text="C♯4 −0.5°", anchor=TextAnchor.LEFT),
)
DRAWING = Drawing(name="each", box=Box(left=0.0, bottom=0.0, right=200.0, top=140.0), items=ITEMS)
PAGE = Page(width_mm=210.0, height_mm=297.0, items=ITEMS)


@needs_raster
def test_lines_of_the_pdf_are_100_mm_apart(tmp_path: Path) -> None:
    grey = rastered(pdf_bytes([PAGE], title="each"), tmp_path, 1, dpi=600)
    row = grey[round((297.0 - 55.0) * 600 / MM)] < 128
    left, right = [x * MM / 600 for x in ink_centres(row)][:2]
    assert left == pytest.approx(20.0, abs=0.1)
    assert right - left == pytest.approx(100.0, abs=0.05)
    assert grey.shape == pytest.approx((297.0 * 600 / MM, 210.0 * 600 / MM), abs=1.0)


@needs_raster
def test_a_flat_arc_of_the_pdf_rises_as_a_circle(tmp_path: Path) -> None:
    """Invariant: x² + y² = R² over a chord of 80 mm at 5 m: 0.16 mm."""
    grey = rastered(pdf_bytes([PAGE], title="each"), tmp_path, 1, dpi=1200)
    heights = []
    for x in (60.3, 100.0, 139.7):
        column = grey[: round((297.0 - 85.0) * 1200 / MM), round(x * 1200 / MM)] < 128
        heights.append(297.0 - ink_centres(column)[-1] * MM / 1200)
    assert heights[1] == pytest.approx(100.0, abs=0.05)
    assert heights[1] - np.mean([heights[0], heights[2]]) == pytest.approx(39.7**2 / 1e4, abs=0.04)


@needs_raster
def test_a_window_cuts_off_and_never_scales(tmp_path: Path) -> None:
    window = DrawingWindow(drawing=DRAWING, seen=Box(left=100.0, bottom=0.0, right=200.0, top=140.0), at=(30.0, 50.0))
    page = Page(width_mm=210.0, height_mm=297.0, items=(), windows=(window,))
    grey = rastered(pdf_bytes([page], title="each"), tmp_path, 1)
    row = ink_centres(grey[round((297.0 - 50.0 - 55.0) * 300 / MM)] < 128)
    assert [x * MM / 300 for x in row] == pytest.approx([50.0], abs=0.1)


@needs_raster
def test_the_pdf_embeds_its_face_and_prints_sharp_and_minus(tmp_path: Path) -> None:
    (tmp_path / "each.pdf").write_bytes(pdf_bytes([PAGE], title="each"))
    text = subprocess.run(["pdftotext", tmp_path / "each.pdf", "-"], capture_output=True, text=True, check=True).stdout
    assert text.strip() == "C#4 −0.5°"
    fonts = subprocess.run(["pdffonts", tmp_path / "each.pdf"], capture_output=True, text=True, check=True).stdout
    assert all("TrueType" in line and " yes yes yes " in line for line in fonts.splitlines()[2:])


def test_the_dxf_reads_back_as_drawn() -> None:
    document = ezdxf.read(io.StringIO(dxf_bytes(DRAWING).decode()))
    assert document.header["$INSUNITS"] == 4
    assert not document.audit().errors
    space = document.modelspace()
    first, second = space.query("LINE")
    assert second.dxf.start.x - first.dxf.start.x == 100.0
    assert first.dxf.layer == "CUT"
    (arc,) = space.query("ARC")
    assert (arc.dxf.radius, arc.dxf.start_angle, arc.dxf.end_angle) == (5000.0, 89.5, 90.5)
    (circle,) = space.query("CIRCLE")
    assert (circle.dxf.center.x, circle.dxf.radius) == (150.0, 10.0)
    (polyline,) = space.query("LWPOLYLINE")
    assert polyline.closed
    assert [tuple(point[:2]) for point in polyline.get_points()] == [(20.0, 70.0), (60.0, 70.0), (60.0, 80.0)]
    (text,) = space.query("TEXT")
    assert text.dxf.text == "C#4 -0.5°"


def test_the_same_drawing_gives_the_same_bytes() -> None:
    assert dxf_bytes(DRAWING) == dxf_bytes(DRAWING)
    once = pdf_bytes([PAGE], title="each", date="2026-05-04")
    assert once == pdf_bytes([PAGE], title="each", date="2026-05-04")
    assert b"D:20260504000000" in once
    assert b"D:2000" not in once


def test_a_page_longer_than_pdf_allows_is_refused() -> None:
    with pytest.raises(OutputError, match=r"^A page of 6000 mm is longer than PDF allows \(5080 mm\); tile it on A4"):
        pdf_bytes([Page(width_mm=6000.0, height_mm=300.0, items=())], title="long")


def test_text_breaks_between_words_and_fits_its_room() -> None:
    lines = wrapped("Strings at tension and iron plates hurt people: local rules come first.", 3.0, 40.0)
    assert len(lines) > 2
    assert max(width_mm(line, 3.0) for line in lines) <= 40.0
    assert wrapped("unbreakable", 3.0, 1.0) == ["unbreakable"]
