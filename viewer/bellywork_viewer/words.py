"""The words of a scene: its title, and the labels at the octaves, the worst notes and the picked one."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.conventions import note_name
from bellywork.measures import Units
from bellywork.quantities import said
from bellywork_viewer.coloured import COLOURS, Coloured
from bellywork_viewer.situation import Shown, Situation
from bellywork_viewer.surfaces import Label

APART_MM = 250.0  # between labelled notes
LABEL_MM = 45.0  # from a front termination to the name of its note
OVER_MM = 22.0  # from a bridge to the words over it
STATE_WORDS = {Shown.PLANED: "strung after planing", Shown.STRUNG: "strung as it is now"}
MARK_WORDS = {
    "short": "cone: wood is short",
    "lifted": "diamond: no bearing, the strings lift",
    "one-sided": "cube: front or rear alone is negative",
}


def title(board: Board, situation: Situation, units: Units, heights: float) -> tuple[str, ...]:
    """Lines at the top: board, state and what was changed, worst note."""
    k, setting = situation.worst, situation.setting
    changed = [
        f"plate {said('plate_up_mm', setting.plate_up_mm, units)}" if setting.plate_up_mm else "",
        f"tilt {said('tilt_x_mm_per_m', setting.tilt_x_mm_per_m, units)} in x, "
        f"{said('tilt_y_mm_per_m', setting.tilt_y_mm_per_m, units)} in y"
        if setting.tilt_x_mm_per_m or setting.tilt_y_mm_per_m
        else "",
        f"{setting.rh_percent:g} % RH" if setting.rh_percent is not None else "",
        f"targets {said('deviation_deg', setting.target_shift_deg)}" if setting.target_shift_deg else "",
        f"heights drawn {heights:g} times" if heights != 1.0 else "",
    ]
    state = STATE_WORDS.get(setting.shown, setting.shown.value)
    tolerance = board.rules.bearing_tolerance_deg
    worst = (
        f"farthest from target: note {int(situation.line.note[k])} ({note_name(int(situation.line.note[k]))}), "
        f"{said('deviation_deg', float(situation.deviation_deg[k]))}"
        if abs(situation.deviation_deg[k]) > tolerance
        else f"every note within {tolerance:g}° of its target"
    )
    return board.name, ", ".join([state, *(each for each in changed if each)]), worst


def octaves(situation: Situation, paths_mm: Floats) -> tuple[Label, ...]:
    """The Cs, in front of their strings."""
    way = paths_mm[:, 0] - paths_mm[:, 3]
    ahead = paths_mm[:, 0] + LABEL_MM * way / np.linalg.norm(way, axis=1)[:, None]
    names = [note_name(note) for note in situation.line.note.tolist()]
    return tuple(
        Label(text=name, place_mm=_three(ahead[k]), kind="octave")
        for k, name in enumerate(names)
        if name[0] == "C" and "♯" not in name
    )


def worst(board: Board, situation: Situation, coloured: Coloured, paths_mm: Floats, units: Units) -> tuple[Label, ...]:
    """The notes with the greatest values; a number that is a section's stands once, under the section's name."""
    shown = COLOURS["deviation"] if coloured.on_panel else coloured
    told = shown.of(situation)
    if shown.by_section:
        at = {int(here[len(here) // 2]): name for name, here in situation.line.sections.items()}
    else:
        least = 0.0 if shown.neutral is None else shown.neutral(board.rules)
        places = worst_notes(told, paths_mm[:, 1], least=least)
        at = {k: note_name(int(situation.line.note[k])) for k in places}
    return tuple(
        Label(
            text=f"{name}  {shown.words(float(told[k]), units)}",
            place_mm=_three(paths_mm[k, 1] + [0.0, 0.0, OVER_MM]),
            kind="worst",
        )
        for k, name in at.items()
    )


def picked(situation: Situation, at: int, paths_mm: Floats) -> Label:
    """The name and the deviation of the picked note, over its front termination."""
    name, off = note_name(int(situation.line.note[at])), float(situation.deviation_deg[at])
    place = _three(paths_mm[at, 0] + [0.0, 0.0, OVER_MM])
    return Label(text=f"{name}  {said('deviation_deg', off)}", place_mm=place, kind="picked")


def worst_and_picked(
    board: Board, situation: Situation, coloured: Coloured, paths_mm: Floats, units: Units, at: int
) -> tuple[Label, ...]:
    """The notes with the greatest values, then the picked one; where it is among them it is named once."""
    chosen = () if at < 0 else (picked(situation, at, paths_mm),)
    told = {label.text for label in chosen}
    return (*(each for each in worst(board, situation, coloured, paths_mm, units) if each.text not in told), *chosen)


def worst_notes(values: Floats, places_mm: Floats, *, least: float = 0.0, count: int = 3) -> list[int]:
    """Places in the arrays of the notes with the greatest values by size, the greatest first, none near another.

    least   values no greater than this are not worth a label
    """
    size = np.abs(np.where(np.isfinite(values), values, 0.0))
    found: list[int] = []
    for k in np.argsort(-size).tolist():
        apart = all(np.hypot(*(places_mm[k] - places_mm[other])[:2]) > APART_MM for other in found)
        if size[k] > least and apart and len(found) < count:
            found.append(k)
    return found


def _three(point: Floats) -> tuple[float, float, float]:
    x, y, z = (float(each) for each in point)
    return x, y, z
