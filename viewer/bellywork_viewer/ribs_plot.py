"""Rib schemes as pictures: compliance along the bridge, crown left, stress, and what a search traded for what."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bellywork_viewer.figure import figure, octaves

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from bellywork.schemes.compared import Comparison
    from bellywork.schemes.search import Search

# apart in lightness, dash and mark as well as in hue
LOOKS = (
    ("#1b2a5c", "-", "o"), ("#c25b00", "--", "s"), ("#2f8f83", ":", "^"), ("#8a4fa3", "-.", "D"), ("#777770", "-", "v"),
)  # fmt: skip


def ribs_plots(comparison: Comparison, search: Search | None, board: str) -> dict[str, Figure]:
    """Figures by name: "compliance", "bearing", "crown_left", "stress", and "pareto" after a search."""
    out = {
        "compliance": _along(
            comparison, "compliance_mm_per_N", 1e3, "µm per N", f"{board}: compliance of the bridge top"
        ),
        "bearing": _along(comparison, "net_deg", 1.0, "degrees", f"{board}: net bearing, strung"),
        "crown_left": _crown(comparison, board),
        "stress": _stress(comparison, board),
    }
    if search is not None:
        out["pareto"] = _pareto(search, board)
    return out


def _along(comparison: Comparison, name: str, factor: float, unit: str, title: str) -> Figure:
    drawing: Figure = figure(10.5, 4.6)
    axes = drawing.subplots()
    for k, result in enumerate(comparison.schemes):
        colour, dash, _ = LOOKS[k % len(LOOKS)]
        axes.plot(result.note, factor * getattr(result, name), dash, color=colour, lw=2.0, label=result.name)
    if name == "compliance_mm_per_N":
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter("{x:g}")
        axes.yaxis.set_minor_formatter("{x:.1g}")
        for k, jump in enumerate(comparison.schemes[0].jumps):
            if "end" not in jump.where:
                axes.axvline(float(np.mean(jump.notes)), color="#aaaaaa", lw=1.0, label="break" if k == 0 else None)
    axes.set_title(title)
    axes.set_ylabel(unit)
    axes.legend(fontsize=9)
    octaves(axes, comparison.schemes[0].note.tolist())
    return drawing


def _crown(comparison: Comparison, board: str) -> Figure:
    drawing: Figure = figure(10.5, 4.6)
    axes = drawing.subplots()
    for k, result in enumerate(comparison.schemes):
        colour, dash, mark = LOOKS[k % len(LOOKS)]
        place = np.linspace(0.0, 1.0, len(result.ribs)) if len(result.ribs) > 1 else np.zeros(len(result.ribs))
        left = [rib.crown_left_mm for rib in result.ribs]
        axes.plot(place, left, dash, marker=mark, color=colour, lw=1.8, ms=5, label=f"{result.name}, strung")
        axes.plot(place, [rib.crown_mm for rib in result.ribs], dash, color=colour, lw=0.8, alpha=0.6)
    axes.axhline(0.0, color="black", lw=1.0)
    axes.set_xticks([0.0, 1.0], ["first rib (treble)", "last rib (bass)"])
    axes.set_title(f"{board}: crown left over each rib; thin: bare")
    axes.set_ylabel("rise of the middle, mm")
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
        bending.bar(at, [100.0 * rib.bending_share for rib in result.ribs], width, color=colour, label=result.name)
        shear.bar(at, [100.0 * rib.shear_share for rib in result.ribs], width, color=colour)
    for axes, what in ((bending, "bending"), (shear, "shear")):
        axes.set_ylabel(f"{what}, % of lasting strength")
        axes.grid(alpha=0.3, axis="y")
    shear.set_xticks(range(most), [str(k + 1) for k in range(most)])
    shear.set_xlabel("rib, from the treble")
    bending.set_title(f"{board}: stress of each rib")
    bending.legend(fontsize=9)
    return drawing


def _pareto(search: Search, board: str) -> Figure:
    drawing: Figure = figure(8.5, 5.6)
    axes = drawing.subplots()
    tried = np.array([[each.ribs_kg, each.sink_mm, each.missed] for each in search.tried])
    axes.plot(tried[:, 0], tried[:, 1], ".", color="#bbbbb5", ms=5, label=f"{len(tried)} rules tried")
    front = np.array([[each.ribs_kg, each.sink_mm, each.unevenness] for each in search.pareto])
    shown = axes.scatter(front[:, 0], front[:, 1], c=front[:, 2], cmap="cividis", s=34, zorder=3,
                         label="no other beats these in all three")  # fmt: skip
    drawing.colorbar(shown, ax=axes, label="unevenness of the compliance along the long bridge")
    best = search.best
    axes.plot(best.ribs_kg, best.sink_mm, "*", color="black", ms=16, zorder=4, label="best under the wish")
    if np.isfinite(search.wish.sink_most_mm):
        axes.axhline(search.wish.sink_most_mm, color="#c25b00", ls="--", lw=1.2, label="sink allowed")
    axes.set_xlabel("ribs, kg")
    axes.set_ylabel("greatest sink of any note, mm")
    axes.set_title(f"{board}: what is traded for what")
    axes.grid(alpha=0.3)
    axes.legend(fontsize=9)
    return drawing
