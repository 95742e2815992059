"""Tables of the body and the plate: outline, thickness, crown, ribs, bridges, supports, struts, preload."""

from __future__ import annotations

import math

import numpy as np

from bellywork.board.body import Body, Bridge, Outline, Panel, Rib
from bellywork.board.plate import Plate, PlateSupport, Strut
from bellywork.board.state import Climate, Push, Reading, State
from bellywork.board.strings import StringPlan
from bellywork.board.wood import Wood
from bellywork.board.woods import wood, wood_names
from bellywork.errors import BoardError
from bellywork.files.gather import Gathered, nearest
from bellywork.files.settings import Settings
from bellywork.files.tables import Row, Table
from bellywork.findings import Place

TOML = "board.toml"
STRUT_CLEARANCE_MM = 3.0  # common practice, no source: room for a bridge pin's head and a duster


def body(tables: dict[str, Table], settings: Settings, gathered: Gathered) -> Body | None:
    """The body, where there is an outline; None, with findings, where it cannot be put together."""
    if "outline" not in tables:
        for name in ("ribs", "bridges", "thickness", "crown"):
            if name in tables:
                gathered.add("outline-missing", Place(file=tables[name].file), "no outline", "the table outline.csv",
                             "Add the panel's outline: without it ribs and bridges have no board.")  # fmt: skip
        return None
    outline = _outline(tables["outline"], settings, gathered)
    panel = _panel(tables, settings, gathered)
    ribs = tuple(made for row in tables.get("ribs", ()) if (made := _rib(row, settings, gathered)))
    bridges = _bridges(tables["bridges"], settings, gathered) if "bridges" in tables else ()
    if outline is None or panel is None:
        return None
    return Body(outline=outline, panel=panel, ribs=ribs, bridges=bridges)


def plate(tables: dict[str, Table], gathered: Gathered) -> Plate:
    """Supports and struts of the plate."""
    supports = []
    for row in tables.get("supports", ()):
        low, high = row.value("lowest_move"), row.value("highest_move")
        if not low <= 0.0 <= high:
            gathered.add("limits-reversed", row.place("lowest_move"), f"moves from {low:g} to {high:g} mm",
                         "a lowest move of 0 or less and a highest of 0 or more",
                         "Check that the two columns have not changed places.")  # fmt: skip
            continue
        supports.append(
            PlateSupport(
                name=row.word("support"), place_mm=_point(row, ""), height_mm=row.value("height"),
                lowest_move_mm=low, highest_move_mm=high,
            )
        )  # fmt: skip
    struts = [
        Strut(
            name=row.word("strut"), start_mm=_point(row, "start_"), end_mm=_point(row, "end_"),
            width_mm=row.value("width"), underside_mm=row.value("underside"),
            clearance_mm=row.value("clearance", STRUT_CLEARANCE_MM),
        )
        for row in tables.get("struts", ())
    ]  # fmt: skip
    return Plate(supports=tuple(supports), struts=tuple(struts))


def preload(table: Table, plan: StringPlan | None, gathered: Gathered) -> tuple[Push, ...]:
    """What presses on the preloaded board; a push at a note presses midway between its pin rows."""
    pushes = []
    for row in table:
        force, sink = row.cells.get("force"), row.cells.get("sink")
        if (force is None) == (sink is None):
            gathered.add("push-form", row.place("force"), "both" if force is not None else "neither",
                         "a force or a sink", "Fill one of the two cells.")  # fmt: skip
            continue
        by_note, by_point = row.cells.get("note") is not None, None not in (row.cells.get("x"), row.cells.get("y"))
        if by_note == by_point:
            gathered.add("push-place", row.place("x"), "a point and a note" if by_note else "no place",
                         "x and y, or a note", "Fill one of the two.")  # fmt: skip
            continue
        place = _point(row, "") if by_point else _note_place(row, plan, gathered)
        if place is not None:
            pushes.append(
                Push(
                    place_mm=place,
                    force_N=None if force is None else float(force),
                    sink_mm=None if sink is None else float(sink),
                )
            )
    return tuple(pushes)


def readings(table: Table, gathered: Gathered) -> tuple[Reading, ...]:
    """Readings of crown and bearing."""
    out = []
    for row in table:
        stem = "angle" if row.word("kind").endswith("_deg") else "value"
        if row.cells.get(stem) is None:
            gathered.add("cell-empty", row.place(stem), "an empty cell", f"the reading of {row.word('kind')}",
                         "Fill the cell.")  # fmt: skip
            continue
        uncertainty = row.cells.get("uncertainty")
        out.append(
            Reading(
                kind=row.word("kind"),
                place=row.word("place"),
                value=row.value(stem),
                state=State(row.word("state")),
                climate=Climate(
                    rh_percent=_or_none(row, "rh"),
                    temperature_C=_or_none(row, "temperature"),
                    date=row.word("date"),
                ),
                position_mm=_or_none(row, "position"),
                span_mm=_or_none(row, "span"),
                uncertainty=None if uncertainty is None else float(uncertainty),
            )
        )
    return tuple(out)


def _outline(table: Table, settings: Settings, gathered: Gathered) -> Outline | None:
    rows = list(table)
    if len(rows) > 3 and np.allclose(_point(rows[0], ""), _point(rows[-1], "")):
        rows = rows[:-1]
    points = np.array([_point(row, "") for row in rows]).reshape(-1, 2)
    support = [settings.rim] * len(rows)
    for k, row in enumerate(rows):
        name = row.word("support")
        if name and name not in settings.rims:
            gathered.add("rim-unknown", row.place("support"), f"'{name}'", "a kind of rim support",
                         nearest(name, settings.rims))  # fmt: skip
        elif name:
            support[k] = settings.rims[name]
    if len(points) < 3:
        if table.sound:
            gathered.add("outline-open", Place(file=table.file), f"{len(points)} corners", "three corners or more",
                         "Give the outline's corners in order along the rim.")  # fmt: skip
        return None
    x, y = points.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2.0
    if abs(area) < 1.0:
        gathered.add("outline-open", Place(file=table.file), "corners that enclose nothing", "a closed outline",
                     "Give the outline's corners in order along the rim.")  # fmt: skip
        return None
    if area < 0.0:
        # side k ran from point k to k + 1; walked backwards it starts at what was its end
        points, support = points[::-1], [*support[-2::-1], support[-1]]
    return Outline(points_mm=points, support=tuple(support))


def _panel(tables: dict[str, Table], settings: Settings, gathered: Gathered) -> Panel | None:
    before = len(gathered.findings)
    thickness = np.array([[*_point(row, ""), row.value("thickness")] for row in tables.get("thickness", ())])
    if not len(thickness) and settings.thickness_mm is not None:
        thickness = np.array([[0.0, 0.0, settings.thickness_mm]])
    for key, missing, expected in (
        ("panel.wood", settings.panel_wood is None, "the panel's wood"),
        ("panel.grain_deg", math.isnan(settings.grain_deg), "direction of the grain, counter-clockwise from x"),
        ("panel.thickness_mm", not len(thickness), "the panel's thickness here, or the table thickness.csv"),
    ):
        said = any(finding.place.column.startswith(key.rsplit("_", 1)[0]) for finding in gathered.findings)
        if missing and not said:
            gathered.add("key-missing", Place(file=TOML, column=key), "no such key", expected, "Add it under [panel].")
    if len(gathered.findings) > before or settings.panel_wood is None or math.isnan(settings.grain_deg):
        return None
    if not len(thickness):
        return None
    crown = np.array([[*_point(row, ""), row.value("rise")] for row in tables.get("crown", ())]).reshape(-1, 3)
    return Panel(
        wood=settings.panel_wood, grain_deg=settings.grain_deg, thickness_points_mm=thickness, crown_points_mm=crown
    )


def _rib(row: Row, settings: Settings, gathered: Gathered) -> Rib | None:
    start, end, height = _point(row, "start_"), _point(row, "end_"), row.value("height")
    length = float(np.hypot(*(end - start)))
    timber = _wood(row, "wood", settings, gathered)
    feathers = row.value("start_feather", 0.0), row.value("end_feather", 0.0)
    ends = row.value("start_height", height), row.value("end_height", height)
    radius = row.value("radius", math.inf)
    if length <= 0.0:
        gathered.add("rib-without-length", row.place("end_x"), "both ends at one point", "two different ends",
                     "Give the two ends of the rib's centre line.")  # fmt: skip
        return None
    if sum(feathers) > length:
        gathered.add("feather-too-long", row.place("start_feather"), f"feathers of {sum(feathers):.0f} mm together",
                     f"at most the rib's length, {length:.0f} mm", "Measure the feathers again.")  # fmt: skip
        return None
    if max(ends) > height:
        gathered.add("end-too-high", row.place("start_height"), f"{max(ends):g} mm at an end",
                     f"at most the full height, {height:g} mm", "Check heights and end heights.")  # fmt: skip
        return None
    if radius < length / 2.0:
        gathered.add("radius-too-small", row.place("radius"), f"a radius of {radius:.0f} mm",
                     f"more than half of the rib's length, {length / 2.0:.0f} mm",
                     "Check the radius and its unit: ribs run from about 7 m to 30 m.")  # fmt: skip
        return None
    if timber is None:
        return None
    return Rib(
        name=row.word("rib"),
        wood=timber,
        start_mm=start,
        end_mm=end,
        width_mm=row.value("width"),
        height_mm=height,
        end_height_mm=ends,
        feather_mm=feathers,
        crown_radius_mm=radius,
    )


def _bridges(table: Table, settings: Settings, gathered: Gathered) -> tuple[Bridge, ...]:
    out = []
    names = dict.fromkeys(row.word("bridge") for row in table)
    for name in names:
        rows = [row for row in table if row.word("bridge") == name]
        if len(rows) < 2:
            gathered.add("bridge-one-point", rows[0].place("bridge"), f"one point of bridge {name}", "two or more",
                         "Give the bridge's centre line from end to end.")  # fmt: skip
            continue
        line = np.array([_point(row, "") for row in rows])
        twice = np.flatnonzero(np.hypot(*np.diff(line, axis=0).T) < 1e-6)
        if len(twice):
            gathered.add("bridge-point-twice", rows[int(twice[0]) + 1].place("x"), "the point before it again",
                         "each point once", "Take one of the two rows away.")  # fmt: skip
            continue
        root = _wood(rows[0], "wood", settings, gathered)
        cap = _wood(rows[0], "cap_wood", settings, gathered) if rows[0].word("cap_wood") else root
        if root is None or cap is None:
            continue
        sizes = {stem: np.array([row.value(stem, 0.0) for row in rows]) for stem in ("width", "root", "cap", "notch")}
        out.append(
            Bridge(
                name=name, root_wood=root, cap_wood=cap, line_mm=line, width_mm=sizes["width"],
                root_mm=sizes["root"], cap_mm=sizes["cap"], notch_mm=sizes["notch"],
            )
        )  # fmt: skip
    return tuple(out)


def _wood(row: Row, stem: str, settings: Settings, gathered: Gathered) -> Wood | None:
    name = row.word(stem)
    if name in settings.woods:
        return settings.woods[name]
    try:
        return wood(name)
    except BoardError:
        gathered.add("wood-unknown", row.place(stem), f"'{name}'",
                     "a wood built in or described under [woods] in board.toml",
                     nearest(name, [*settings.woods, *wood_names()]))  # fmt: skip
        return None


def _note_place(row: Row, plan: StringPlan | None, gathered: Gathered) -> np.ndarray | None:
    at = np.empty(0, dtype=int) if plan is None else np.flatnonzero(plan.note == row.note())
    if plan is None or not len(at):
        gathered.add("note-without-place", row.place("note"), f"a push at note {row.note()}",
                     "a note that stands in string_plan.csv", "Give x and y instead.")  # fmt: skip
        return None
    return np.asarray((plan.front_pin_mm[at[0]] + plan.rear_pin_mm[at[0]]) / 2.0)


def _point(row: Row, prefix: str) -> np.ndarray:
    return np.array([row.value(f"{prefix}x"), row.value(f"{prefix}y")])


def _or_none(row: Row, stem: str) -> float | None:
    return None if row.cells.get(stem) is None else row.value(stem)
