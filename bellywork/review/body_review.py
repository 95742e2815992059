"""A look over the body: what lies outside the outline, off its bridge, or not where its parts add up to."""

from __future__ import annotations

import math
from difflib import get_close_matches
from typing import Any

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.body import Body, Bridge
from bellywork.board.state import State
from bellywork.board.strings import StringLine, StringPlan
from bellywork.findings import Finding, Level, Place
from bellywork.geometry.crown_surface import crown_surface
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.taper import thickness_field
from bellywork.measures import counted

RIB_BEYOND_MM = 25.0  # ribs are let into the rim by about this much
OUTSIDE_MM = 1.0
MEASURED_OUTSIDE_MM = 50.0
OFF_BRIDGE_MM = 3.0
HEIGHT_MM = 3.0
FAR_OFF_MM = 40.0  # more than a bridge is wide: another bridge's pins, or another board's
FLATTEST_RIB = 4.0  # trade: 38 mm by 12.7 mm is the flattest seen
SLIPS = {"cm": 10.0, "in": 25.4, "thou": 0.0254, "ft": 304.8, "m": 1000.0}  # mm in each
ALONG_GRAIN_DEG = 45.0


def body_findings(board: Board) -> list[Finding]:
    """Findings on the body of a board that has one, alone and against the strings in plan."""
    import shapely

    body = board.body
    if body is None:
        return []
    panel = shapely.Polygon(body.outline.points_mm)
    if not panel.is_valid:
        return [_crossing(shapely.is_valid_reason(panel))]
    found = [*_ribs(body, panel), *_turned_ribs(body), *_bridges(body, panel), *_overlapping(body)]
    found += _points(board, body, panel)
    if board.strings is not None:
        found += _names(board.strings, body)
        if board.plan is not None:
            outside = _pins_outside(body, board.strings, board.plan)
            found += outside or _over_bridges(board, body, board.strings, board.plan)
    return found


def _crossing(reason: str) -> Finding:
    where = ", ".join(f"{float(number):.0f}" for number in reason.partition("[")[2].rstrip("]").split())
    return Finding(
        code="outline-crossing",
        place=Place(file="outline.csv"),
        found=f"sides that cross or touch at ({where}) mm",
        expected="corners in order along the rim, once round",
        remedy="Put the corners in order; look for one that stands twice or has x and y in each other's place.",
    )


def _ribs(body: Body, panel: Any) -> list[Finding]:
    import shapely

    found, lengthwise = [], []
    along = np.array([np.cos(np.radians(body.panel.grain_deg)), np.sin(np.radians(body.panel.grain_deg))])
    for rib in body.ribs:
        place = Place(file="ribs.csv")
        inside = shapely.intersection(panel, shapely.LineString([rib.start_mm, rib.end_mm]))
        beyond = shapely.distance(panel, shapely.points([rib.start_mm, rib.end_mm]))
        if not inside.length > 0.0:
            found.append(
                Finding(
                    code="rib-off-board",
                    place=place,
                    found=f"rib {rib.name} nowhere on the board",
                    expected="a rib that crosses the outline's inside",
                    remedy="Check the ends: x runs from bass to treble, y from keyboard to tail or bottom.",
                )
            )
            continue
        if beyond.max() > RIB_BEYOND_MM:
            end = ("start", "end")[int(np.argmax(beyond))]
            found.append(
                Finding(
                    code="rib-outside",
                    place=Place(file="ribs.csv", column=f"{end}_x"),
                    found=f"the {end} of rib {rib.name} {beyond.max():.0f} mm outside the outline",
                    expected=f"at most {RIB_BEYOND_MM:g} mm, let into the rim",
                    remedy="Check that end's x and y.",
                )
            )
        cosine = abs(float(along @ (rib.end_mm - rib.start_mm))) / rib.length_mm
        if math.degrees(math.acos(min(cosine, 1.0))) < ALONG_GRAIN_DEG:
            lengthwise.append(rib.name)
    if lengthwise:
        found.append(
            Finding(
                code="rib-along-grain",
                place=Place(file="board.toml", column="panel.grain_deg"),
                found=f"a grain that {'ribs' if len(lengthwise) > 1 else 'rib'} {', '.join(lengthwise)} nearly follow",
                expected=f"ribs across the grain, {ALONG_GRAIN_DEG:g}° off it or more",
                remedy="Check the angle: it is counted from x, counter-clockwise as seen from the strings.",
                level=Level.ADVICE,
            )
        )
    return found


def _bridges(body: Body, panel: Any) -> list[Finding]:
    import shapely

    found = []
    for bridge in body.bridges:
        beyond = shapely.distance(panel, shapely.points(bridge.line_mm))
        if beyond.max() > OUTSIDE_MM:
            x, y = bridge.line_mm[np.argmax(beyond)]
            found.append(
                Finding(
                    code="bridge-outside",
                    place=Place(file="bridges.csv", column="x"),
                    found=f"bridge {bridge.name} at ({x:.0f}, {y:.0f}) mm, {beyond.max():.0f} mm outside the outline",
                    expected="a bridge that stands on the panel",
                    remedy="Check that point's x and y.",
                )
            )
    return found


def _points(board: Board, body: Body, panel: Any) -> list[Finding]:
    """Places where the panel was measured or is pressed, outside it."""
    import shapely

    pushes = np.array([push.place_mm for push in board.preload]).reshape(-1, 2)
    found = []
    for file, places, limit, level in (
        ("thickness.csv", body.panel.thickness_points_mm[:, :2], MEASURED_OUTSIDE_MM, Level.ADVICE),
        ("crown.csv", body.panel.crown_points_mm[:, :2], MEASURED_OUTSIDE_MM, Level.ADVICE),
        ("preload.csv", pushes, OUTSIDE_MM, Level.WRONG),
    ):
        beyond = shapely.distance(panel, shapely.points(places))
        single = file == "thickness.csv" and len(places) == 1  # one thickness for the whole panel has no place
        if len(places) and not single and beyond.max() > limit:
            x, y = places[np.argmax(beyond)]
            found.append(
                Finding(
                    code="point-outside", place=Place(file=file, column="x"),
                    found=f"a point at ({x:.0f}, {y:.0f}) mm, {beyond.max():.0f} mm outside the outline",
                    expected="points on the panel", remedy="Check that point's x and y.", level=level,
                )
            )  # fmt: skip
    return found


def _names(line: StringLine, body: Body) -> list[Finding]:
    known = [bridge.name for bridge in body.bridges]
    found = []
    for name in dict.fromkeys(line.bridge) if known else ():
        if name not in known:
            near = get_close_matches(name, known, n=1)
            found.append(
                Finding(
                    code="bridge-unknown",
                    place=Place(file="notes.csv", column="bridge", note=int(line.note[line.bridge.index(name)])),
                    found=f"'{name}'",
                    expected=f"a bridge of bridges.csv: {', '.join(known)}",
                    remedy=f"Did you mean {near[0]}?" if near else "Write the same names in both tables.",
                )
            )
    return found


def _over_bridges(board: Board, body: Body, line: StringLine, plan: StringPlan) -> list[Finding]:
    """Pins that stand beside their bridge, and bridge tops that do not lie where the parts under them put them."""
    _, here, there = np.intersect1d(line.note, plan.note, return_indices=True)
    crown, thickness = crown_surface(body), thickness_field(body.panel)
    found = []
    for bridge in body.bridges:
        on = np.array([line.bridge[i] == bridge.name for i in here], dtype=bool)
        if not np.any(on):
            continue
        notes = line.note[here[on]]
        pins = np.stack([plan.front_pin_mm[there[on]], plan.rear_pin_mm[there[on]]])
        middle = pins.mean(axis=0)
        along, beside = _along(bridge, pins.reshape(-1, 2))
        away = (beside - _at(bridge, along, "width") / 2.0).reshape(2, -1).max(axis=0)
        if np.any(away > OFF_BRIDGE_MM):
            found.append(_pins_off(bridge, notes, away, pins, body))
            continue
        if board.measured_in is State.BARE and line.levelled:
            at = _along(bridge, middle)[0]
            parts = crown.rise_mm(middle) + thickness(middle) + _at(bridge, at, "root") + _at(bridge, at, "cap")
            measured = (line.bridge_front_mm + line.bridge_rear_mm)[here[on]] / 2.0
            if np.any(np.abs(measured - parts) > HEIGHT_MM):
                found.append(_height(bridge, notes, measured, parts))
    return found


def _pins_outside(body: Body, line: StringLine, plan: StringPlan) -> list[Finding]:
    """Pins that stand outside the outline, where no board carries them."""
    notes, _, there = np.intersect1d(line.note, plan.note, return_indices=True)
    for row, pins in (("front", plan.front_pin_mm[there]), ("rear", plan.rear_pin_mm[there])):
        off = ~body.outline.holds(pins)
        if off.any():
            x, y = pins[off][0]
            where = f"of {notes_in_words(notes[off].tolist())} outside the outline, at ({x:.0f}, {y:.0f}) mm"
            return [
                Finding(
                    code="pin-outside",
                    place=Place(file="string_plan.csv", column=f"{row}_pin_x", note=int(notes[off][0])),
                    found=f"the {row} pin{'s' if off.sum() > 1 else ''} {where}",
                    expected="pins that stand on the panel",
                    remedy="Check x and y there: x runs from bass to treble, y from keyboard to tail or bottom; "
                    "or the outline.",
                )
            ]
    return []


def _pins_off(bridge: Bridge, notes: Any, away: Floats, pins: Floats, body: Body) -> Finding:
    """Pins beside their bridge, with the likely cause; far beside it their forces would go astray."""
    worst, off = int(np.argmax(away)), away > OFF_BRIDGE_MM
    words = notes_in_words(notes[off].tolist())
    remedy = f"Check string_plan.csv and bridges.csv at {words}."
    other = next((each for each in body.bridges if each is not bridge and _on(each, pins[:, off])), None)
    if other is not None:
        remedy = f"They stand on the bridge {other.name}: is the column bridge of notes.csv right at {words}?"
    elif _on(bridge, pins[:, off, ::-1]):
        remedy = f"With x and y exchanged they stand on it: check the columns of string_plan.csv at {words}."
    return Finding(
        code="pins-off-bridge",
        place=Place(file="string_plan.csv", column="front_pin_x", note=int(notes[worst])),
        found=f"pins {away[worst]:.0f} mm beside the bridge {bridge.name}",
        expected=f"pins on the bridge, within {OFF_BRIDGE_MM:g} mm",
        remedy=remedy,
        level=Level.WRONG if away[worst] > FAR_OFF_MM else Level.ADVICE,
    )


def _on(bridge: Bridge, pins: Floats) -> bool:
    """Whether all these pins, (…, 2), stand on a bridge."""
    along, beside = _along(bridge, pins.reshape(-1, 2))
    return bool(np.all(beside - _at(bridge, along, "width") / 2.0 <= OFF_BRIDGE_MM))


def _height(bridge: Bridge, notes: Any, measured: Floats, parts: Floats) -> Finding:
    apart = np.abs(measured - parts)
    worst, ratio = int(np.argmax(apart)), float(np.median(parts / measured))
    unit = next((unit for unit, factor in SLIPS.items() if 0.9 < ratio / factor < 1.1), None)
    where = notes_in_words(notes[apart > HEIGHT_MM].tolist())
    remedy = (
        "Heights count from the glue line of the panel's underside on the rim: check what they were measured "
        f"from, and root and cap, at {where}."
    )
    if unit is not None:
        remedy = f"They look like heights in {unit}: correct the unit in the headers of notes.csv."
    return Finding(
        code="bridge-height-disagrees",
        place=Place(file="notes.csv", column="bridge_front", note=int(notes[worst])),
        found=f"the top of bridge {bridge.name} at {measured[worst]:.1f} mm, but crown, panel, root and cap add up to "
        f"{parts[worst]:.1f} mm",
        expected=f"the same within {HEIGHT_MM:g} mm",
        remedy=remedy,
        level=Level.ADVICE if unit is None else Level.WRONG,
    )


def _overlapping(body: Body) -> list[Finding]:
    """Bridges that lie on one another."""
    import shapely

    found = []
    for k, one in enumerate(body.bridges):
        for other in body.bridges[k + 1 :]:
            apart = float(shapely.distance(shapely.LineString(one.line_mm), shapely.LineString(other.line_mm)))
            least = (float(one.width_mm.min()) + float(other.width_mm.min())) / 2.0
            if apart < least / 2.0:
                found.append(
                    Finding(
                        code="bridges-overlap",
                        place=Place(file="bridges.csv", column="x"),
                        found=f"the bridges {one.name} and {other.name} {apart:.0f} mm apart at their centre lines",
                        expected=f"bridges beside each other: half of both widths is {least:.0f} mm",
                        remedy="Check their points: has one the points of the other, or x and y exchanged?",
                    )
                )
    return found


def _turned_ribs(body: Body) -> list[Finding]:
    """Ribs that lie on their side: no rib is so much wider than high."""
    flat = [rib for rib in body.ribs if rib.width_mm > FLATTEST_RIB * rib.height_mm]
    if not flat:
        return []
    more = f" (and {counted(len(flat) - 1, 'rib')} more like it)" if len(flat) > 1 else ""
    return [
        Finding(
            code="rib-flat",
            place=Place(file="ribs.csv", column="width"),
            found=f"rib {flat[0].name} {flat[0].width_mm:g} mm wide and {flat[0].height_mm:g} mm high{more}",
            expected=f"ribs at most {FLATTEST_RIB:g} times as wide as high",
            remedy="Check that width and height have not changed places.",
            level=Level.ADVICE,
        )
    ]


def _along(bridge: Bridge, points: Floats) -> tuple[Floats, Floats]:
    """How far along the bridge each point lies, and how far beside its centre line."""
    import shapely

    line, spots = shapely.LineString(bridge.line_mm), shapely.points(points)
    return shapely.line_locate_point(line, spots), shapely.distance(line, spots)


def _at(bridge: Bridge, along: Floats, size: str) -> Floats:
    """A size of the bridge at distances along it."""
    run = np.append(0.0, np.cumsum(np.hypot(*np.diff(bridge.line_mm, axis=0).T)))
    return np.asarray(np.interp(along, run, getattr(bridge, f"{size}_mm")))
