"""Reading sheets back: PDF as a raster of grey, DXF through its library."""

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

MM = 25.4
needs_raster = pytest.mark.skipif(
    shutil.which("pdftoppm") is None,
    reason="pdftoppm (poppler-utils) is not installed here, so no page can be rastered",
)


def rastered(pdf: bytes, folder: Path, page: int, dpi: int = 300) -> np.ndarray:
    """One page (from 1) as an array of grey, row 0 on top; 0 black, 255 white."""
    whole = folder / "whole.pdf"
    whole.write_bytes(pdf)
    done = subprocess.run(
        ["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), "-gray", str(whole)],
        capture_output=True,
        check=True,
    )
    stream = io.BytesIO(done.stdout)
    assert stream.readline() == b"P5\n"
    width, height = map(int, stream.readline().split())
    assert stream.readline() == b"255\n"
    return np.frombuffer(stream.read(), np.uint8).reshape(height, width)


def ink_centres(dark: np.ndarray) -> list[float]:
    """Middle of each run of True, in pixels from the start."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    return [(a + b) / 2.0 for a, b in zip(edges[::2], edges[1::2])]
