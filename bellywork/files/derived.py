"""What follows from less: strings in plan from their lengths, bridges through their pins, ribs from edge to edge."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Bridge
from bellywork.board.strings import StringLine, StringPlan
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row

BEYOND_MM = 25.0  # bridges run on past their last note; common practice, no source
STRINGS = ("front", "front_pin", "rear_pin", "rear")


def string_points(row: Row, lengths: Row | None, gathered: Gathered) -> dict[str, Floats] | None:
    """The four points of a string in plan, (2,) each; None, which is said, where they do not follow.

    The front pin's y is as far off as the speaking length says, towards the tail; the other points lie straight on.

    lengths   the note's row in the table of notes
    """
    given = {point: (row.maybe(f"{point}_x"), row.maybe(f"{point}_y")) for point in STRINGS}
    half = [point for point in ("rear_pin", "rear") if (given[point][0] is None) != (given[point][1] is None)]
    if half:
        gathered.add("plan-half", row.place(f"{half[0]}_x", row.note()), f"one coordinate of the {half[0]} point",
                     "both of them or neither", "Fill the other cell, or blank this one.")  # fmt: skip
        return None
    lacking = [point for point in STRINGS if given[point][1] is None]
    if lacking and lengths is None:
        gathered.add("plan-without-lengths", row.place(f"{lacking[0]}_y", row.note()), f"no {lacking[0]}_y",
                     "the note in notes.csv, from whose lengths it follows",
                     "Add the note there, or give the point here.")  # fmt: skip
        return None
    front = np.array([row.value("front_x"), row.value("front_y")])
    points = {"front": front}
    pin = given["front_pin"]
    if pin[1] is None and lengths is not None:
        aside, speaking = row.value("front_pin_x") - front[0], lengths.value("speaking")
        if abs(aside) >= speaking:
            gathered.add("plan-too-far", row.place("front_pin_x", row.note()),
                         f"a front pin {abs(aside):.0f} mm aside of the front termination",
                         f"less than the speaking length, {speaking:g} mm",
                         "Check the two x and the speaking length.")  # fmt: skip
            return None
        points["front_pin"] = front + np.array([aside, np.sqrt(speaking**2 - aside**2)])
    else:
        points["front_pin"] = np.array(pin, dtype=float)
    along = points["front_pin"] - front
    along = along / np.hypot(*along)
    for before, point, stem in (("front_pin", "rear_pin", "rows"), ("rear_pin", "rear", "back")):
        if given[point][1] is not None or lengths is None:
            points[point] = np.array(given[point], dtype=float)
        else:
            points[point] = points[before] + along * lengths.value(stem)
    return points


def through_pins(name: str, plan: StringPlan, line: StringLine) -> tuple[Floats, dict[int, float]]:
    """The centre line of a bridge midway between the pins of its notes, run on beyond the last ones; and how far along
    it each of these notes lies, in mm.
    """
    carried = {note for note, bridge in zip(line.note.tolist(), line.bridge) if bridge == name}
    at = np.flatnonzero([note in carried for note in plan.note.tolist()])
    middle = plan.middle_mm[at]
    if len(middle) < 2:
        return middle, {}
    ends = []
    for last, inner in ((middle[0], middle[1]), (middle[-1], middle[-2])):
        ends.append(last + (last - inner) / np.hypot(*(last - inner)) * BEYOND_MM)
    drawn = np.vstack([ends[0], middle, ends[1]])
    run = np.append(0.0, np.cumsum(np.hypot(*np.diff(drawn, axis=0).T)))
    return drawn, dict(zip(plan.note[at].tolist(), run[1:-1].tolist()))


def edge_to_edge(point_mm: Floats, angle_deg: float, outline_mm: Floats) -> tuple[Floats, Floats] | None:
    """Both ends of the straight line through a point in a direction, where it meets the outline; the stretch on which
    the point lies, or the nearest. None where it does not meet the board.
    """
    import shapely

    way = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    far = float(np.ptp(outline_mm, axis=0).sum() + np.abs(point_mm - outline_mm).max())
    cut = shapely.intersection(
        shapely.Polygon(outline_mm), shapely.LineString([point_mm - far * way, point_mm + far * way])
    )
    parts = [part for part in getattr(cut, "geoms", [cut]) if part.length > 0.0]
    if not parts:
        return None
    nearest = min(parts, key=lambda part: shapely.distance(part, shapely.Point(point_mm)))
    first, last = np.array(nearest.coords[0]), np.array(nearest.coords[-1])
    return (first, last) if (last - first) @ way > 0.0 else (last, first)


def caps_mm(line: StringLine, plan: StringPlan | None, bridges: tuple[Bridge, ...]) -> Floats:
    """Cap at each note of the line: as measured, else as its bridge has it between the note's pins; NaN unknown."""
    caps = np.array(line.cap_mm)
    if plan is None or not np.any(np.isnan(caps)):
        return caps
    import shapely

    known: Mapping[str, Bridge] = {bridge.name: bridge for bridge in bridges}
    for k, (note, name) in enumerate(zip(line.note.tolist(), line.bridge)):
        there = np.flatnonzero(plan.note == note)
        bridge = known.get(name)
        if np.isnan(caps[k]) and len(there) and bridge is not None:
            run = np.append(0.0, np.cumsum(np.hypot(*np.diff(bridge.line_mm, axis=0).T)))
            at = shapely.line_locate_point(shapely.LineString(bridge.line_mm), shapely.Point(plan.middle_mm[there[0]]))
            caps[k] = float(np.interp(at, run, bridge.cap_mm)) or np.nan
    return caps
