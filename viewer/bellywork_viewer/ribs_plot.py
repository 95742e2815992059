"""Rib schemes as pictures: compliance along the bridge, crown left, stress, and what a search traded for what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES
from bellywork_viewer.figure import figure, octaves

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from bellywork.schemes.compared import Comparison
    from bellywork.schemes.search import Candidate, Search

# apart in lightness, dash and mark as well as in hue
LOOKS = (
    ("#1b2a5c", "-", "o"), ("#c25b00", "--", "s"), ("#2f8f83", ":", "^"), ("#8a4fa3", "-.", "D"), ("#777770", "-", "v"),
)  # fmt: skip


def ribs_plots(comparison: Comparison, search: Search | None, board: str, units: Units = METRIC) -> dict[str, Figure]:
    """Figures by name: "compliance", "bearing", "crown_left", "stress", and "pareto" after a search."""
    out = {
        "compliance": _along(comparison, "compliance_mm_per_N", f"{board}: compliance of the bridge top", units),
        "bearing": _along(comparison, "net_deg", f"{board}: net bearing, strung", units),
        "crown_left": _crown(comparison, board, units),
        "stress": _stress(comparison, board),
    }
    if search is not None:
        out["pareto"] = _pareto(search, board, units)
    return out


def _along(comparison: Comparison, name: str, title: str, units: Units) -> Figure:
    drawing: Figure = figure(10.5, 4.6)
    axes, quantity = drawing.subplots(), QUANTITIES[name]
    for k, result in enumerate(comparison.schemes):
        colour, dash, _ = LOOKS[k % len(LOOKS)]
        values = quantity.outside(getattr(result, name), units)
        axes.plot(result.note, values, dash, color=colour, lw=2.0, label=result.name)
    if name == "compliance_mm_per_N":
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter("{x:g}")
        axes.yaxis.set_minor_formatter("{x:.1g}")
        for k, jump in enumerate(comparison.schemes[0].jumps):
            if "end" not in jump.where:
                axes.axvline(float(np.mean(jump.notes)), color="#aaaaaa", lw=1.0, label="break" if k == 0 else None)
    axes.set_title(title)
    axes.set_ylabel(quantity.axis(units))
    axes.legend(fontsize=9)
    octaves(axes, comparison.schemes[0].note.tolist())
    return drawing


def _crown(comparison: Comparison, board: str, units: Units) -> Figure:
    drawing: Figure = figure(10.5, 4.6)
    axes, crown = drawing.subplots(), QUANTITIES["crown_mm"]
    for k, result in enumerate(comparison.schemes):
        colour, dash, mark = LOOKS[k % len(LOOKS)]
        place = np.linspace(0.0, 1.0, len(result.ribs)) if len(result.ribs) > 1 else np.zeros(len(result.ribs))
        left = crown.outside((rib.crown_left_mm for rib in result.ribs), units)
        bare = crown.outside((rib.crown_mm for rib in result.ribs), units)
        axes.plot(place, left, dash, marker=mark, color=colour, lw=1.8, ms=5, label=f"{result.name}, strung")
        axes.plot(place, bare, dash, color=colour, lw=0.8, alpha=0.6)
    axes.axhline(0.0, color="black", lw=1.0)
    axes.set_xticks([0.0, 1.0], ["first rib (treble)", "last rib (bass)"])
    axes.set_title(f"{board}: crown left over each rib; thin: bare")
    axes.set_ylabel(crown.axis(units))
    axes.grid(alpha=0.3)
    axes.legend(fontsize=9)
    return drawing


def _stress(comparison: Comparison, board: str) -> Figure:
    drawing: Figure = figure(10.5, 7.0)
    bending, shear = drawing.subplots(2, 1, sharex=True)
    most = max((len(result.ribs) for result in comparison.schemes), default=1)
    width = 0.8 / len(comparison.schemes)
    for k, result in enumerate(comparison.schemes):
        at = np.arange(len(result.ribs)) + (k - (len(comparison.schemes) - 1) / 2.0) * width
        colour = LOOKS[k % len(LOOKS)][0]
        bending.bar(
            at,
            QUANTITIES["bending_share"].outside(rib.bending_share for rib in result.ribs),
            width,
            color=colour,
            label=result.name,
        )
        shear.bar(at, QUANTITIES["shear_share"].outside(rib.shear_share for rib in result.ribs), width, color=colour)
    for axes, name in ((bending, "bending_share"), (shear, "shear_share")):
        axes.set_ylabel(f"{QUANTITIES[name].axis()} of the lasting strength")
        axes.grid(alpha=0.3, axis="y")
    shear.set_xticks(range(most), [str(k + 1) for k in range(most)])
    shear.set_xlabel("rib, from the treble")
    bending.set_title(f"{board}: stress of each rib")
    bending.legend(fontsize=9)
    return drawing


def _pareto(search: Search, board: str, units: Units) -> Figure:
    drawing: Figure = figure(8.5, 5.6)
    axes = drawing.subplots()
    mass, sink = QUANTITIES["ribs_kg"], QUANTITIES["most_sink_mm"]

    def told(found: Sequence[Candidate]) -> tuple[list[float], list[float]]:
        return mass.outside((each.ribs_kg for each in found), units), sink.outside(
            (each.sink_mm for each in found), units
        )

    axes.plot(*told(search.tried), ".", color="#bbbbb5", ms=5, label=f"{len(search.tried)} rules tried")
    uneven = [each.unevenness for each in search.pareto]
    shown = axes.scatter(
        *told(search.pareto), c=uneven, cmap="cividis", s=34, zorder=3, label="no other beats these in all three"
    )
    drawing.colorbar(shown, ax=axes, label=QUANTITIES["unevenness"].axis())
    axes.plot(*told([search.best]), "*", color="black", ms=16, zorder=4, label="best under the wish")
    if np.isfinite(search.wish.sink_most_mm):
        axes.axhline(
            sink.outside([search.wish.sink_most_mm], units)[0], color="#c25b00", ls="--", lw=1.2, label="sink allowed"
        )
    axes.set_xlabel(mass.axis(units))
    axes.set_ylabel(sink.axis(units))
    axes.set_title(f"{board}: what is traded for what")
    axes.grid(alpha=0.3)
    axes.legend(fontsize=9)
    return drawing
