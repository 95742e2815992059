"""The years of a strung board as a picture: bearing and crown against the time since the stringing, on a log axis."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bellywork.conventions import note_name
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork_viewer.figure import figure, saved

if TYPE_CHECKING:
    from bellywork.seasons.outlook import Outlook

MOST_LINES = 6
BAR_POINTS = 1.7  # width of a bar of the bearing's band
FIRST = 1.0 / 24.0  # where a log axis begins
TICKS = {FIRST: "1 h", 1.0: "1 d", 7.0: "1 w", 30.4375: "1 m", 182.625: "6 m", 365.25: "1 y", 3652.5: "10 y",
         18262.5: "50 y"}  # fmt: skip


def drawn(
    years: Outlook, board: str, path: Path, units: Units = METRIC, *, against: tuple[str, Outlook] | None = None
) -> None:
    """Draw an outlook into a PNG or SVG file, by the name's ending: its middle as lines, bands at the times asked for.

    against   another board's name and its outlook, whose bearing is dashed, in the same colours

    Raises OutputError where matplotlib is not installed, or the file cannot be written or is somebody else's.
    """
    drawing = figure(10, 10)
    from matplotlib import colormaps
    from matplotlib.transforms import ScaledTranslation

    service, life = years.service, years.life
    strung = np.flatnonzero(np.array(service.strung))
    since = np.maximum(service.day[strung] - life.before_days, FIRST)
    bearing, crown, across = drawing.subplots(3, 1, height_ratios=(3, 2, 2), sharex=True)
    chosen = _spread(np.flatnonzero(years.reference))
    for place, colour in zip(chosen, colormaps["cividis"](np.linspace(0.0, 0.9, len(chosen)))):
        name = note_name(years.note[place])
        bearing.plot(since, service.net_deg[strung, place], color=colour, lw=1.6, label=name)
        ends = [part["net_deg"][:, place] for part in (years.low, years.high)]
        points = BAR_POINTS * (chosen.index(place) - (len(chosen) - 1) / 2.0)  # bars beside each other, not upon
        aside = bearing.transData + ScaledTranslation(points / 72.0, 0.0, drawing.dpi_scale_trans)
        days = np.maximum(years.day, FIRST)
        bearing.vlines(days, *ends, color=colour, lw=BAR_POINTS, alpha=0.7, transform=aside)
        if against is not None and years.note[place] in against[1].note:
            other = against[1]
            on = np.flatnonzero(np.array(other.service.strung))
            then = np.maximum(other.service.day[on] - other.life.before_days, FIRST)
            net = other.service.net_deg[on, other.note.index(years.note[place])]
            bearing.plot(then, net, color=colour, lw=1.2, ls="--")
    bearing.axhline(0.0, color="black", lw=1.0)
    bearing.set_ylabel(QUANTITIES["years.net_deg"].axis(units))
    beside = "" if against is None else f"\ndashed: {against[0]}"
    bearing.set_title(f"{board}: net bearing under the strings, in air of {life.air.name}{beside}")
    rise = QUANTITIES["years.rise_mm"]
    ribs = _spread(np.arange(len(years.rib)))
    for place, colour in zip(ribs, colormaps["cividis"](np.linspace(0.0, 0.9, len(ribs)))):
        risen = rise.outside(service.rib_rise_mm[strung, place], units)
        crown.plot(since, risen, color=colour, lw=1.6, label=f"rib {years.rib[place]}")
        risen_ends = [rise.outside(part["rib_rise_mm"][:, place], units) for part in (years.low, years.high)]
        crown.vlines(np.maximum(years.day, FIRST), *risen_ends, color=colour, lw=4.0, alpha=0.35)
    crown.set_ylabel(rise.axis(units))
    crown.set_title("Crown of ribs under the strings")
    stress, crushed = QUANTITIES["across_MPa"], QUANTITIES["set_permille"]
    across.plot(since, stress.outside(service.across_MPa[strung], units), color="tab:blue", lw=1.6)
    pressed = [stress.outside(part["across_MPa"], units) for part in (years.low, years.high)]
    across.vlines(np.maximum(years.day, FIRST), *pressed, color="tab:blue", lw=4.0, alpha=0.35)
    across.set_ylabel(stress.axis(units), color="tab:blue")
    right = across.twinx()
    right.plot(since, crushed.outside(1000.0 * service.set_strain[strung], units), color="tab:brown", lw=1.6, ls="--")
    right.set_ylabel(crushed.axis(units), color="tab:brown")
    right.set_ylim(bottom=0.0)
    across.set_title("Stress across the grain that 2 % of the panel exceeds (pressed negative), and its set")
    for axes in (bearing, crown):
        axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)
    for axes in (bearing, crown, across):
        axes.set_xscale("log")
        axes.grid(alpha=0.3)
    ticks = {day: word for day, word in TICKS.items() if day <= since[-1] * 1.001}
    across.set_xticks(list(ticks), list(ticks.values()))
    across.minorticks_off()
    across.set_xlabel("since the stringing; bars: where 95 of 100 such boards lie")
    saved(drawing, path)


def _spread(places: np.ndarray) -> list[int]:
    """At most so many of these places, evenly spread."""
    picked = np.linspace(0, len(places) - 1, min(MOST_LINES, len(places))).round().astype(int)
    return [int(place) for place in places[np.unique(picked)]]
