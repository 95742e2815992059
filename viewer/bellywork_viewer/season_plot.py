"""The year as a picture: net bearing along the scale at each humidity, and the crown of the ribs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bellywork.conventions import note_name
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork_viewer.figure import figure, octaves, saved

if TYPE_CHECKING:
    from bellywork.seasons.year import Season


def drawn(year: Season, board: str, path: Path, units: Units = METRIC) -> None:
    """Draw a season into a PNG or SVG file, by the name's ending.

    Raises OutputError where matplotlib is not installed, or the file cannot be written or is somebody else's.
    """
    drawing = figure(10, 7.5)
    from matplotlib import colormaps

    colours = colormaps["cividis"](np.linspace(0.0, 0.95, len(year.rh_percent)))
    above, below = drawing.subplots(2, 1, height_ratios=(3, 2))
    rise = QUANTITIES["rise_mm"]
    for k, rh in enumerate(year.rh_percent):
        above.plot(year.note, year.net_deg[k], color=colours[k], lw=2.0)
        above.annotate(f"{rh:g} %", (year.note[-1], year.net_deg[k, -1]), xytext=(4, 0), textcoords="offset points",
                       va="center", fontsize=8)  # fmt: skip
        risen = rise.outside((rib.rise_mm[k] for rib in year.ribs), units)
        below.plot(range(len(year.ribs)), risen, "o-", color=colours[k], lw=1.5, ms=4)
    above.axhline(0.0, color="black", lw=1.0)
    if year.lost is not None:
        k = int(np.flatnonzero(year.rh_percent == year.lost[1])[0])
        at = year.lost[0], year.net_deg[k, year.note.index(year.lost[0])]
        above.plot(*at, "v", color="black", ms=9)
        words = f"lost first: {note_name(year.lost[0])} at {year.lost[1]:g} %"
        above.annotate(words, at, xytext=(8, -12), textcoords="offset points")
    above.set_title(f"{board}: net bearing under the strings, {year.rh_percent[0]:g} to {year.rh_percent[-1]:g} % RH")
    above.set_ylabel(QUANTITIES["net_strung_deg"].axis(units))
    octaves(above, year.note)
    below.set_title("Crown of the bare board: rise of each rib's middle over its span")
    below.set_ylabel(rise.axis(units))
    span = QUANTITIES["span_mm"]
    below.set_xticks(
        range(len(year.ribs)), [f"{rib.rib}\n{span.text(rib.span_mm, units)}" for rib in year.ribs], fontsize=8
    )
    below.set_xlabel(f"rib, and its {span.axis(units)}")
    below.grid(alpha=0.3)
    saved(drawing, path)
