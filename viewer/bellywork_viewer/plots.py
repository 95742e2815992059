"""Flat plots that belong to the view: bearing along the scale, bridge profile, downforce; the string line alone."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.plane_table import PlaneTable
from bellywork.board.targets import PlaningRules
from bellywork.conventions import note_name
from bellywork.estimate.bands import Band
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES, said
from bellywork_viewer.figure import BAND, FRONT, NET, REAR, figure, octaves, saved

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STRETCH = 20.0  # heights of the string line alone are drawn so many times


def plots(
    table: BearingTable,
    schedule: PlaneTable,
    rules: PlaningRules,
    board: str,
    units: Units = METRIC,
    *,
    bands: Mapping[str, Band] | None = None,
) -> dict[str, Figure]:
    """The plots of a board by their names: "bearing", "bridge" and, where the strings are known, "downforce".

    table      the bearing to be shown; schedule: what is wanted and what to plane
    bands      95 % ranges of the table's net bearing and of the schedule's depths, by quantity; None: not known
    """
    known = bands or {}
    out = {"bearing": _bearing(table, rules, board, known), "bridge": _bridge(schedule, rules, board, units, known)}
    if np.any(np.isfinite(table.downforce_N)):
        out["downforce"] = _downforce(table, board, units)
    return out


def written(figures: dict[str, Figure], folder: Path, *, ending: str = ".png") -> list[Path]:
    """Write figures as PNG, or as `ending` says, into a folder, made where it is not there; returns the files."""
    from bellywork.errors import OutputError

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = (error.strerror or "unknown").lower()
        raise OutputError(f"The folder {folder} cannot be made ({why}); give one that you may write to.") from None
    paths = [folder / f"{name}{ending}" for name in figures]
    for drawn, path in zip(figures.values(), paths):
        saved(drawn, path)
    return paths


def string_line(table: BearingTable, rules: PlaningRules, board: str, units: Units = METRIC) -> Figure:
    """A board of which only the string line is known, flat: bearing along the scale, and reference notes from the side.

    Heights in the lower part are over the straight line from front termination to rear rest, drawn STRETCH times.
    """
    drawing: Figure = figure(10.5, 8.0)
    above, below = drawing.subplots(2, 1, height_ratios=(2, 3))
    _bearing_axes(above, table, rules)
    above.set_title(f"{board}: bearing of the {table.state.value} board")
    line = table.line
    shown = np.flatnonzero(table.reference)
    length = QUANTITIES["string_deflection_mm"]
    unit = length.outside([1.0], units)[0]
    step = unit * (STRETCH * max(float(np.nanmax(np.abs(table.string_deflection_mm[shown]))), 1.0) * 0.9)
    for row, k in enumerate(shown):
        run = unit * np.cumsum([0.0, line.speaking_mm[k], line.rows_mm[k], line.back_mm[k]])
        high = [line.front_height_mm[k], line.bridge_front_mm[k], line.bridge_rear_mm[k], line.rear_height_mm[k]]
        over = unit * (np.array(high) - np.interp(run, run[[0, -1]], [high[0], high[-1]]))
        base = -row * step
        x = run - run[1]
        below.plot(x[[0, -1]], [base, base], color=BAND, lw=1.5)
        below.plot(x, base + STRETCH * over, "-", color=NET, lw=1.6)
        below.plot(x[1:3], base + STRETCH * over[1:3], "o", color=FRONT, ms=4)
        words = f"{note_name(int(line.note[k]))}  {table.net_deg[k]:+.2f}°  ({table.deviation_deg[k]:+.2f}°)"
        below.annotate(words, (x[-1], base), xytext=(8, -3), textcoords="offset points", fontsize=9)
    below.set_yticks([])
    below.set_xlabel(f"{length.unit(units)} along the string from the front pins")
    below.set_title(
        f"reference notes from the side, heights drawn {STRETCH:g} times; net bearing, and how far from the target",
        fontsize=10,
    )
    below.margins(x=0.12)
    below.spines[["left", "right", "top"]].set_visible(False)
    return drawing


def _bearing(table: BearingTable, rules: PlaningRules, board: str, bands: Mapping[str, Band]) -> Figure:
    drawing: Figure = figure(10.5, 5.0)
    axes = drawing.subplots()
    _bearing_axes(axes, table, rules, bands.get("net_deg"))
    axes.set_title(f"{board}: bearing of the {table.state.value} board")
    return drawing


def _bearing_axes(axes: Any, table: BearingTable, rules: PlaningRules, band: Band | None = None) -> None:
    tolerance = rules.bearing_tolerance_deg
    for section in dict.fromkeys(table.section):
        here = np.flatnonzero([name == section for name in table.section])
        note = table.note[here]
        first = section == table.section[0]
        axes.fill_between(
            note, table.target_net_deg[here] - tolerance, table.target_net_deg[here] + tolerance, color=BAND,
            label=f"target ± {tolerance:g}°" if first else None,
        )  # fmt: skip
        if band is not None:
            _banded(axes, note, band[0][here], band[1][here], NET, label="net, 95 % band" if first else None)
        for values, colour, style, name in (
            (table.front_deg, FRONT, "--", "front"),
            (table.rear_deg, REAR, ":", "rear"),
            (table.net_deg, NET, "-", "net"),
        ):
            axes.plot(note, values[here], style, color=colour, lw=2.0, label=name if first else None, **_seen(note))
        axes.annotate(section, (note.mean(), 1.0), xycoords=("data", "axes fraction"), xytext=(0, -12),
                      textcoords="offset points", ha="center", fontsize=8, color="#555555")  # fmt: skip
    k = int(np.flatnonzero(table.note == table.worst_note)[0])
    axes.plot(table.note[k], table.net_deg[k], "o", ms=9, mfc="none", mec="black", mew=1.5)
    left = table.note[k] < (table.note[0] + table.note[-1]) / 2.0  # the words go inwards, not over the axis
    axes.annotate(
        f"{table.name[k]}  {table.deviation_deg[k]:+.2f}° from target", (table.note[k], table.net_deg[k]),
        xytext=(8 if left else -8, 8), textcoords="offset points", ha="left" if left else "right", fontsize=9,
    )  # fmt: skip
    axes.axhline(0.0, color="black", lw=1.0)
    axes.margins(y=0.22)
    axes.set_ylabel(f"bearing, {QUANTITIES['net_deg'].unit()}")
    axes.legend(loc="best", fontsize=9, ncols=4)
    octaves(axes, table.note.tolist())


def _bridge(schedule: PlaneTable, rules: PlaningRules, board: str, units: Units, bands: Mapping[str, Band]) -> Figure:
    """The depth to cut at both pin rows along each bridge; where wood is short, how much: the depth below zero."""
    now, depth = schedule.now.line, QUANTITIES["plane_front_mm"]
    drawing: Figure = figure(10.5, 3.2 * len(now.bridges) + 0.6)
    short_mm = np.minimum(schedule.plane_front_mm, schedule.plane_rear_mm)
    rows = {name: bands.get(name, (getattr(schedule, name),) * 2) for name in ("faired_front_mm", "faired_rear_mm")}
    cut = np.concatenate([*(end for ends in rows.values() for end in ends), short_mm[schedule.short], [0.0]])
    low, high = depth.outside([float(cut.min()), float(max(cut.max(), rules.fair_tolerance_mm))], units)
    for axes, (bridge, here) in zip(np.atleast_1d(drawing.subplots(len(now.bridges), 1)), now.bridges.items()):
        note = now.note[here]
        axes.axhline(0.0, color="black", lw=1.0)
        for row, colour, style, name in (
            ("faired_front_mm", FRONT, "--", "front pins"),
            ("faired_rear_mm", REAR, "-", "rear pins"),
        ):
            values = depth.outside(getattr(schedule, row)[here], units)
            axes.plot(note, values, style, color=colour, lw=2.0, label=name, **_seen(note))
            if row in bands:
                less, more = (depth.outside(end[here], units) for end in bands[row])
                _banded(axes, note, less, more, colour, label=f"{name}, 95 % band")
        short = here[schedule.short[here]]
        if len(short):
            over = depth.outside(short_mm[short], units)
            axes.plot(now.note[short], over, "^", color="black", ms=6, label="wood is short")
        # the same scale on every bridge, so that a depth looks the same
        axes.set_ylim(low - 0.08 * (high - low), high + 0.12 * (high - low))
        axes.set_title(f"{board}: to cut off the {bridge} bridge, {schedule.working.value} board", fontsize=10)
        axes.set_ylabel(f"{depth.unit(units)} to cut")
        axes.legend(fontsize=8, ncols=3)
        octaves(axes, note.tolist())
    return drawing


def _downforce(table: BearingTable, board: str, units: Units) -> Figure:
    drawing: Figure = figure(10.5, 4.2)
    axes = drawing.subplots()
    force = QUANTITIES["downforce_N"]
    axes.bar(table.note, force.outside(table.downforce_N, units), color=NET, width=0.8)
    for section in dict.fromkeys(table.section):
        here = np.flatnonzero([name == section for name in table.section])
        pressed = said("total.downforce_N", table.section_downforce_N[section], units)
        axes.annotate(
            f"{section}\n{pressed}", (table.note[here].mean(), 1.0),
            xycoords=("data", "axes fraction"), xytext=(0, -24), textcoords="offset points", ha="center", fontsize=9,
        )  # fmt: skip
    axes.set_ylim(0.0, 1.3 * max(force.outside([float(np.nanmax(table.downforce_N))], units)))
    axes.set_ylabel(force.axis(units))
    whole = said("total.downforce_N", table.total_downforce_N, units)
    axes.set_title(f"{board}: downforce of the {table.state.value} board, {whole} in all")
    octaves(axes, table.note.tolist())
    return drawing


def _banded(axes: Any, note: Any, low: Any, high: Any, colour: str, *, label: str | None) -> None:
    """The range of a line in its own colour, paler."""
    axes.fill_between(note, low, high, color=colour, alpha=0.2, lw=0.0, label=label)


def _seen(notes: Any) -> dict[str, Any]:
    """A line through one note alone is a point."""
    return {"marker": "o"} if len(notes) == 1 else {}
