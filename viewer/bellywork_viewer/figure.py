"""Flat figures: how they are begun and written."""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bellywork.conventions import note_name
from bellywork.errors import OutputError
from bellywork.files.write import write_result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ENDINGS = (".png", ".svg")
OCTAVES = range(4, 89, 12)  # the Cs

# Colours that stay apart for colour-blind eyes, in lightness too
NET, FRONT, REAR, BAND = "#1b2a5c", "#c25b00", "#5b8fd0", "#d9d9d4"


def figure(width_in: float, height_in: float) -> Figure:
    """An empty figure; raises OutputError where matplotlib is not installed."""
    try:
        import matplotlib
    except ImportError:
        raise OutputError("Drawing needs matplotlib: pip install 'bellywork[viewer]'.") from None
    matplotlib.use("Agg")
    matplotlib.rcParams["svg.hashsalt"] = "bellywork"
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained")


def saved(drawn: Figure, path: Path) -> None:
    """Write a figure as PNG or SVG by its name's ending: whole or not at all, the same bytes for the same figure.

    Raises OutputError where the ending is another, the file cannot be written or is somebody else's.
    """
    if path.suffix not in ENDINGS:
        raise OutputError(f"Found the picture file '{path}', expected a name that ends in {' or '.join(ENDINGS)}.")
    out = io.BytesIO()
    marks = {"Date": None, "Creator": "bellywork"} if path.suffix == ".svg" else {"Software": "bellywork"}
    if drawn.get_layout_engine() is not None:
        drawn.draw_without_rendering()  # lays it out; laid out again from there it would come out a little otherwise
        drawn.set_layout_engine("none")
    drawn.savefig(out, format=path.suffix[1:], dpi=110, metadata=marks)
    write_result(path, out.getvalue())


def octaves(axes: Any, notes: Iterable[int]) -> None:
    """Name the Cs along an axis of note numbers; where there are none, the notes at its ends."""
    there = sorted(set(notes))
    named = [n for n in OCTAVES if n in there] or sorted({there[0], there[-1]})
    axes.set_xticks(named, [note_name(n) for n in named])
    axes.set_xlabel("note")
    axes.grid(alpha=0.3)
