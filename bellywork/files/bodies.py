"""Tables of the body: outline, thickness, crown, ribs, bridges."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Bridge, Outline, Panel, Rib
from bellywork.board.strings import StringLine, StringPlan
from bellywork.conventions import note_name
from bellywork.files.columns import TOML
from bellywork.files.derived import edge_to_edge, through_pins
from bellywork.files.gather import Gathered, nearest
from bellywork.files.own_woods import wood_named
from bellywork.files.settings import Settings
from bellywork.files.tables import Row, Table
from bellywork.findings import Place
from bellywork.measures import counted

SAME_PLACE_MM = 1.0
# Common practice, no source: the largest boards need half of the area, and no part of one is as narrow
LARGEST_M2 = 6.0
NARROWEST_MM = 10.0


def body(
    tables: dict[str, Table],
    settings: Settings,
    gathered: Gathered,
    line: StringLine | None = None,
    plan: StringPlan | None = None,
) -> Body | None:
    """The body, where there is an outline; None where there is none, or, with findings, where it cannot be one.

    line, plan   the strings, through whose pins bridges are drawn that give no points of their own
    """
    if "outline" not in tables:
        for name in ("ribs", "bridges", "thickness", "crown"):
            if name in tables:
                gathered.add("outline-missing", Place(file=tables[name].file), "no outline", "the table outline.csv",
                             "Add the panel's outline: without it ribs and bridges have no board.")  # fmt: skip
        return None
    outline = _outline(tables["outline"], settings, gathered) if tables["outline"].sound else None
    panel = _panel(tables, settings, gathered)
    ribs = ribs_of(tables.get("ribs"), settings, gathered, None if outline is None else outline.points_mm)
    bridges = _bridges(tables["bridges"], settings, gathered, line, plan) if "bridges" in tables else ()
    if outline is None or panel is None:
        return None
    return Body(outline=outline, panel=panel, ribs=ribs, bridges=bridges)


def ribs_of(
    table: Table | None, settings: Settings, gathered: Gathered, outline_mm: Floats | None = None
) -> tuple[Rib, ...]:
    """The ribs of a table that can be ribs; the others are said.

    outline_mm   corners of the panel, where ribs that give one point only are to end
    """
    for number, row in enumerate(table or (), start=1):
        row.cells["rib"] = row.cells.get("rib") or str(number)
    names_once(table, "rib", gathered)
    ribs = [_rib(row, settings, gathered, outline_mm) for row in table or ()]
    return tuple(rib for rib in ribs if rib is not None)


def names_once(table: Table | None, stem: str, gathered: Gathered) -> None:
    """Say which names stand a second time."""
    rows: dict[str, int] = {}
    for row in table or ():
        name = row.word(stem)
        if name in rows:
            gathered.add("name-twice", row.place(stem), f"'{name}' again", "each name once",
                         f"It stands in row {rows[name]} too: rename or take away one of the two.")  # fmt: skip
        rows.setdefault(name, row.number)


def point(row: Row, prefix: str = "") -> Floats:
    """The point (x, y) of a row."""
    return np.array([row.value(f"{prefix}x"), row.value(f"{prefix}y")])


def _points_twice(rows: list[Row], gathered: Gathered) -> bool:
    """Whether a point stands twice running, which is said."""
    twice = [after for before, after in pairwise(rows) if np.hypot(*(point(after) - point(before))) < 1e-6]
    for row in twice:
        gathered.add("point-twice", row.place("x"), "the point before it again", "each point once",
                     "Take one of the two rows away.")  # fmt: skip
    return bool(twice)


def _measured(table: Table | None, stem: str, gathered: Gathered) -> Floats:
    """Points with what was measured there, shape (points, 3); two that cannot both be right are said.

    Two places nearer than 1 mm are one, and no panel and no crown rises by more than it runs.
    """
    rows = list(table or ())
    points = np.array([[*point(row), row.value(stem)] for row in rows]).reshape(-1, 3)
    for k in range(1, len(points)):
        apart = np.hypot(*(points[:k, :2] - points[k, :2]).T)
        against = np.flatnonzero(np.abs(points[:k, 2] - points[k, 2]) + SAME_PLACE_MM * (apart < SAME_PLACE_MM) > apart)
        if len(against):
            other = rows[against[0]]
            gathered.add(
                "points-contradict",
                rows[k].place(stem),
                f"{points[k, 2]:g} mm here and {other.value(stem):g} mm in row {other.number}, "
                f"{apart[against[0]]:.3g} mm away",
                "one measurement at each place, with no step between two",
                "Keep the row that is right.",
            )
    return points


def _too_small_or_large(points: Floats, area: float, table: Table, gathered: Gathered) -> bool:
    """Whether an outline is beyond any instrument, which is said; the time to compute it is bounded by this."""
    width, depth = np.ptp(points, axis=0)
    around = float(np.hypot(*(points - np.roll(points, 1, axis=0)).T).sum())
    across = 2.0 * abs(area) / around  # the width of a strip of this area and length of edge
    if width * depth <= LARGEST_M2 * 1e6 and across >= NARROWEST_MM:
        return False
    found = f"a board of {width:.0f} by {depth:.0f} mm" + (f", {across:.2g} mm wide" if across < NARROWEST_MM else "")
    gathered.add("outline-size", Place(file=table.file), found,
                 f"a board that fits in {LARGEST_M2:g} m² and is nowhere a sliver",
                 "Check the corners and their unit; a full concert grand is about 1.5 by 2.1 m.")  # fmt: skip
    return True


def _outline(table: Table, settings: Settings, gathered: Gathered) -> Outline | None:
    rows = list(table)
    if len(rows) > 3 and np.allclose(point(rows[0]), point(rows[-1])):
        rows = rows[:-1]
    points = np.array([point(row) for row in rows])
    support = [settings.rim] * len(rows)
    for k, row in enumerate(rows):
        name = row.word("support")
        if name and name not in settings.rims:
            gathered.add(
                "rim-unknown", row.place("support"), f"'{name}'", "a kind of rim support", nearest(name, settings.rims)
            )
        elif name:
            support[k] = settings.rims[name]
    x, y = points.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0
    if len(points) < 3 or abs(area) < 1.0:
        found = counted(len(points), "corner") if len(points) < 3 else "corners that enclose nothing"
        gathered.add("outline-open", Place(file=table.file), found, "three corners or more, with a board between them",
                     "Give the outline's corners in order along the rim.")  # fmt: skip
        return None
    if _points_twice(rows, gathered) or _too_small_or_large(points, area, table, gathered):
        return None
    if area < 0.0:
        # side k ran from point k to k + 1; walked backwards it starts at what was its end
        points, support = points[::-1], [*support[-2::-1], support[-1]]
    return Outline(points_mm=points, support=tuple(support))


def _panel(tables: dict[str, Table], settings: Settings, gathered: Gathered) -> Panel | None:
    thickness = _measured(tables.get("thickness"), "thickness", gathered)
    crown = _measured(tables.get("crown"), "rise", gathered)
    if "thickness" in tables and settings.thickness_mm is not None:
        gathered.add("thickness-twice", Place(file=TOML, column="panel.thickness_mm"),
                     "a thickness here and a table of it", "one of the two",
                     "Take the key or the table thickness.csv away.")  # fmt: skip
    if "thickness" not in tables and settings.thickness_mm is not None:
        thickness = np.array([[0.0, 0.0, settings.thickness_mm]])
    said = {finding.place.column for finding in gathered.findings}
    for key, missing, expected in (
        ("panel.wood", settings.panel_wood is None, "the panel's wood"),
        ("panel.grain_deg", settings.grain_deg is None, "direction of the grain, counter-clockwise from x"),
        ("panel.thickness_mm", "thickness" not in tables and not len(thickness),
         "the panel's thickness here, or the table thickness.csv"),
    ):  # fmt: skip
        if missing and not any(column.startswith(key.removesuffix("_deg").removesuffix("_mm")) for column in said):
            gathered.add("key-missing", Place(file=TOML, column=key), "no such key", expected, "Add it under [panel].")
    if settings.panel_wood is None or settings.grain_deg is None or not len(thickness):
        return None
    return Panel(
        wood=settings.panel_wood,
        grain_deg=settings.grain_deg,
        thickness_points_mm=thickness,
        crown_points_mm=crown,
    )


def _ends(row: Row, settings: Settings, outline_mm: Floats | None, gathered: Gathered) -> tuple[Floats, Floats] | None:
    """Both ends of a rib: as given, or where its line meets the outline; None, which is said, where neither."""
    if row.maybe("start_x") is not None or row.maybe("start_y") is not None:
        row.cells.update(start_x=row.value("start_x", 0.0), start_y=row.value("start_y", 0.0))
    blank = [stem for stem in ("start_x", "start_y", "end_x", "end_y") if row.maybe(stem) is None]
    if not blank:
        return point(row, "start_"), point(row, "end_")
    angle = settings.ribs.get("angle")
    if blank != ["end_x", "end_y"] or angle is None:
        gathered.add("rib-end-missing", row.place(blank[0]), f"no {', no '.join(blank)}",
                     "both ends, or a point of it and angle_deg under [ribs] in board.toml",
                     "Fill the cells, or give the direction of the ribs.")  # fmt: skip
        return None
    ends = None if outline_mm is None else edge_to_edge(point(row, "start_"), angle, outline_mm)
    if ends is None and outline_mm is not None:
        gathered.add("rib-off-board", row.place("start_x"), f"rib {row.word('rib')} nowhere on the board",
                     "a point from which the rib's direction crosses the board",
                     "Check the point: x runs from bass to treble, y from keyboard to tail or bottom.")  # fmt: skip
    return ends


def _rib(row: Row, settings: Settings, gathered: Gathered, outline_mm: Floats | None) -> Rib | None:
    """A rib; everything that is wrong with it is said."""
    found = _ends(row, settings, outline_mm, gathered)
    if found is None:
        return None
    start, end = found
    height, shared = row.value("height"), settings.ribs
    length = float(np.hypot(*(end - start)))
    feather = shared.get("feather", 0.0)
    feathers = row.value("start_feather", feather), row.value("end_feather", row.value("start_feather", feather))
    low = shared.get("end_height", height)
    ends = row.value("start_height", low), row.value("end_height", row.value("start_height", low))
    radius, width = row.value("radius", math.inf), row.value("width", shared.get("width", math.nan))
    before = gathered.grave
    for stem, missing in (("width", math.isnan(width)), ("wood", not row.word("wood", shared.get("wood", "")))):
        if missing:
            gathered.add(
                "cell-empty", row.place(stem), "an empty cell, and nothing under [ribs] in board.toml",
                f"the {stem} of the rib", "Fill the cell, or say under [ribs] what all ribs have.",
            )  # fmt: skip
            return None
    timber = wood_named(row.word("wood", shared.get("wood", "")), settings.woods, row.place("wood"), gathered)
    if length <= 0.0:
        gathered.add("rib-without-length", row.place("end_x"), "both ends at one point", "two different ends",
                     "Give the two ends of the rib's centre line.")  # fmt: skip
    elif sum(feathers) > length:
        gathered.add("feather-too-long", row.place("start_feather"), f"feathers of {sum(feathers):.0f} mm together",
                     f"at most the rib's length, {length:.0f} mm", "Measure the feathers again.")  # fmt: skip
    if max(ends) > height:
        stem = "start_height" if ends[0] > height else "end_height"
        gathered.add("end-too-high", row.place(stem), f"{max(ends):g} mm at an end",
                     f"at most the full height, {height:g} mm", "Check height and end heights.")  # fmt: skip
    if radius < length / 2.0:
        gathered.add("radius-too-small", row.place("radius"), f"a radius of {radius:.0f} mm",
                     f"more than half of the rib's length, {length / 2.0:.0f} mm",
                     "Check the radius and its unit: crowned ribs have about 7 m to 30 m.")  # fmt: skip
    if timber is None or gathered.grave > before:
        return None
    return Rib(
        name=row.word("rib"),
        wood=timber,
        start_mm=start,
        end_mm=end,
        width_mm=width,
        height_mm=height,
        end_height_mm=ends,
        feather_mm=feathers,
        crown_radius_mm=radius,
    )


def _bridges(
    table: Table, settings: Settings, gathered: Gathered, line: StringLine | None, plan: StringPlan | None
) -> tuple[Bridge, ...]:
    named: dict[str, list[Row]] = {}
    for row in table:
        named.setdefault(row.word("bridge"), []).append(row)
    out = [_bridge(name, rows, settings, gathered, line, plan) for name, rows in named.items()] if table.sound else []
    return tuple(bridge for bridge in out if bridge is not None)


def _drawn(
    name: str, rows: list[Row], line: StringLine | None, plan: StringPlan | None, gathered: Gathered
) -> tuple[Floats, Floats, Floats] | None:
    """The centre line of a bridge that is read at notes, and how far along it each of its corners and each row lies.

    None, which is said, where it does not follow.
    """
    if line is None or plan is None:
        gathered.add("bridge-without-pins", rows[0].place("note"), f"bridge {name} by notes, and no strings in plan",
                     "string_plan.csv, through whose pins it is drawn",
                     "Add that table, or give points of its centre line.")  # fmt: skip
        return None
    drawn, along = through_pins(name, plan, line)
    strange = [row for row in rows if row.note() not in along]
    if strange or len(along) < 2:
        row = (strange or rows)[0]
        gathered.add("note-strange", row.place("note", row.note()), f"note {row.note()} ({note_name(row.note())})",
                     f"a note of string_plan.csv on the bridge {name}, of which there are two or more",
                     "Read the bridge's sizes at such a note.")  # fmt: skip
        return None
    run = np.append(0.0, np.cumsum(np.hypot(*np.diff(drawn, axis=0).T)))
    return drawn, run, np.array([along[row.note()] for row in rows])


def _bridge(
    name: str,
    rows: list[Row],
    settings: Settings,
    gathered: Gathered,
    line: StringLine | None,
    plan: StringPlan | None,
) -> Bridge | None:
    """A bridge from its rows; everything that is wrong with it is said."""
    before, first = gathered.grave, rows[0]
    by_note = [row for row in rows if row.maybe("note") is not None]
    lacking = [row for row in rows if (row.maybe("note") is None) == (row.maybe("x") is None or row.maybe("y") is None)]
    if lacking or 0 < len(by_note) < len(rows):
        row = (lacking or by_note)[0]
        gathered.add("bridge-place", row.place("x"), f"bridge {name} neither by points alone nor by notes alone",
                     "x and y in all of its rows, or a note in all of them",
                     "Leave one way of saying where.")  # fmt: skip
        return None
    if by_note:
        rows = sorted(rows, key=Row.note)
    elif len(rows) < 2:
        gathered.add("bridge-one-point", first.place("bridge"), f"one point of bridge {name}", "two or more",
                     "Give the bridge's centre line from end to end.")  # fmt: skip
    if not by_note:
        _points_twice(rows, gathered)
    root = wood_named(first.word("wood"), settings.woods, first.place("wood"), gathered)
    capped = "cap_wood" if first.word("cap_wood") else "wood"
    cap = wood_named(first.word(capped), settings.woods, first.place(capped), gathered) if capped != "wood" else root
    for row in rows:
        for stem in ("wood", "cap_wood"):
            if row.word(stem) != first.word(stem):
                gathered.add("bridge-of-two-woods", row.place(stem), f"'{row.word(stem)}'",
                             f"'{first.word(stem)}', as in row {first.number}",
                             "Give a bridge one wood for its root and one for its cap.")  # fmt: skip
        if row.value("notch", 0.0) >= row.value("root") + row.value("cap"):
            gathered.add("notch-too-deep", row.place("notch"), f"a notch of {row.value('notch'):g} mm",
                         f"less than root and cap, {row.value('root') + row.value('cap'):g} mm",
                         "Measure the notch again.")  # fmt: skip
    if root is None or cap is None or gathered.grave > before:
        return None
    sizes = {stem: np.array([row.value(stem, 0.0) for row in rows]) for stem in ("width", "root", "cap", "notch")}
    points = np.array([point(row) for row in rows])
    if by_note:
        drawn = _drawn(name, rows, line, plan, gathered)
        if drawn is None:
            return None
        points, run, at = drawn
        sizes = {stem: np.interp(run, at, values) for stem, values in sizes.items()}
    return Bridge(
        name=name,
        root_wood=root,
        cap_wood=cap,
        line_mm=points,
        width_mm=sizes["width"],
        root_mm=sizes["root"],
        cap_mm=sizes["cap"],
        notch_mm=sizes["notch"],
    )
