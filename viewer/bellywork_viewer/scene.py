"""A board as a scene: plain arrays with names, units and meanings, before any window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.board import Board
from bellywork.conventions import note_name
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, Units
from bellywork.quantities import said
from bellywork.solids.parts import BodySolids, body_solids
from bellywork.solids.slab import Solid
from bellywork_viewer import palette as colours
from bellywork_viewer.coloured import COLOURS, Coloured
from bellywork_viewer.meshes import SIDES, box_along, marks, tube_faces, tube_vertices
from bellywork_viewer.palette import Palette, Rgb
from bellywork_viewer.situation import Desk, Setting, Shown, Situation

PANEL_STEP_MM = 40.0
STRING_RADIUS_MM = 1.8  # drawn thicker than wire, or nobody would see it
BAR_RADIUS_MM = 4.0
RIM_RADIUS_MM = 7.0
STRUT_MM = 25.0  # how high a strut is drawn
BAND_LIFT_MM = 0.6  # over the bridge top, so that it does not flicker in it
MARK_MM = 5.0
APART_MM = 250.0  # between labelled notes
CAP_COLUMNS = 6  # of points across a cap, as solids/parts.py makes it
LABEL_MM = 45.0  # from a front termination to the name of its note
STATE_WORDS = {Shown.PLANED: "strung after planing", Shown.STRUNG: "strung as it is now"}
MARK_WORDS = {
    "short": "cone: wood is short",
    "lifted": "diamond: no bearing, the strings lift",
    "one-sided": "cube: front or rear alone is negative",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Surface:
    """One mesh of a scene.

    name              what it is
    vertices_mm       (vertices, 3)
    faces             (faces, 3)
    colour            of all of it, or None where `rgb` holds one per vertex
    rgb, value        colours (vertices, 3), and the numbers they stand for (vertices,), NaN where none
    note              note that each vertex belongs to; 0: none
    opacity           1 is solid
    flat              True: drawn in its plain colour without any light, so that the colour can be read
    """

    name: str
    vertices_mm: Floats
    faces: Ints
    colour: tuple[int, int, int] | None = None
    rgb: Rgb | None = None
    value: Floats | None = None
    note: Ints | None = None
    opacity: float = 1.0
    flat: bool = False


@dataclass(frozen=True, kw_only=True)
class Label:
    """Words at a place; kind: "octave" or "worst"."""

    text: str
    place_mm: tuple[float, float, float]
    kind: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """Everything that is drawn.

    surfaces   by name; labels; palette of the colours, what they show and in which units
    title      lines at the top: board, state, worst note
    marked     words for the marks that stand in the scene
    """

    surfaces: Mapping[str, Surface]
    labels: tuple[Label, ...]
    coloured: Coloured
    units: Units
    palette: Palette
    title: tuple[str, ...]
    marked: tuple[str, ...]


class Stage:
    """A board's parts made once; a scene for each situation is then a few array operations.

    board   with its notes complete; desk: the numbers behind it
    """

    def __init__(self, board: Board | Instrument, *, rim: str | None = None, units: Units = METRIC) -> None:
        """Make the parts and the mechanics of a board.

        Raises MissingLayer where string line, plan, scale or body are lacking.
        """
        self.units = units
        what = "The three-dimensional view"
        ready = prepared(board, rim=rim)
        whole = ready.board
        self.board, self.line, self.plan = whole, whole.needed_strings(what), whole.needed_plan(what)
        whole.needed_scale(what)
        self.solids: BodySolids = body_solids(whole.needed_body(what), step_mm=PANEL_STEP_MM)
        wooden = self.solids.all
        self._ends = np.cumsum([0, *(len(solid.plan.points_mm) for solid in wooden)])
        points = np.concatenate([solid.plan.points_mm for solid in wooden])
        self.desk = Desk(ready=ready, panel_mm=whole.needed_body(what).outline.onto(points))
        self._bare_crown = self.solids.panel.vertices_mm[: self._ends[1], 2]
        self._string_faces = tube_faces(len(self.line.note), 4)
        self._over = {cap.name: self._pins_over(cap) for cap in self.solids.caps if cap.name in self.line.bridge}
        self._still = self._plate()

    def scene(self, setting: Setting, *, colour: str = "deviation", heights: float = 1.0) -> Scene:
        """The scene for a setting, as `drawn` gives it."""
        return self.drawn(self.desk.situation(setting), colour=colour, heights=heights)

    def values(self, situation: Situation, colour: str) -> Floats:
        """The numbers that a colour stands for: one per note, or one per point of the panel."""
        coloured = COLOURS[colour]
        values: Floats = coloured.of(situation)
        if not coloured.on_panel:
            return values
        on_panel: Floats = values[: self._ends[1]] + (self._bare_crown if colour == "crown" else 0.0)
        return on_panel

    def drawn(
        self, situation: Situation, *, colour: str = "deviation", heights: float = 1.0, palette: Palette | None = None
    ) -> Scene:
        """The scene of a situation.

        colour    one of `COLOURS`
        heights   1 draws everything true; more draws every height so many times, and the title says so
        palette   a palette to be kept, for pictures side by side
        """
        coloured, values = COLOURS[colour], self.values(situation, colour)
        used = palette or coloured.palette(values, self.board.rules)
        notes = np.full(len(self.line.note), np.nan) if coloured.on_panel else values
        paths = self.string_paths_mm(situation) * [1.0, 1.0, heights]
        marked = self._marks(situation, paths)
        surfaces = (
            *(_taller(surface, heights) for surface in self._wood(situation, values, coloured, used)),
            *(_taller(surface, heights) for surface in self._still),
            *self._plate_at(situation.setting, paths, heights),
            *self._bands(paths, notes, used),
            self._strings(paths, notes, used),
            *marked,
        )
        return Scene(
            surfaces={surface.name: surface for surface in surfaces},
            labels=self._labels(situation, coloured, paths),
            coloured=coloured,
            units=self.units,
            palette=used,
            title=self._title(situation, heights),
            marked=tuple(MARK_WORDS[surface.name.removeprefix("mark ")] for surface in marked),
        )

    def string_paths_mm(self, situation: Situation) -> Floats:
        """Every note's string as a broken line F, B1, B2, R: (notes, 4, 3), at the heights of a situation."""
        plan, line = self.plan, situation.line
        along = np.stack([plan.front_mm, plan.front_pin_mm, plan.rear_pin_mm, plan.rear_mm], axis=1)
        heights = [line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm]
        return np.concatenate([along, np.stack(heights, axis=1)[..., None]], axis=2)

    def nearest_note(self, place_mm: Floats) -> int:
        """Place in the arrays of the note whose string passes nearest to a point, in plan."""
        at = np.asarray(place_mm)[:2]
        start, end = self.plan.front_mm, self.plan.rear_mm
        run = end - start
        share = np.clip(np.einsum("nk,nk->n", at - start, run) / np.einsum("nk,nk->n", run, run), 0.0, 1.0)
        return int(np.argmin(np.hypot(*(start + share[:, None] * run - at).T)))

    def _wood(self, situation: Situation, values: Floats, coloured: Coloured, used: Palette) -> list[Surface]:
        move = situation.panel_rise_mm - np.nan_to_num(situation.panel_sink_mm)
        out = []
        for k, solid in enumerate(self.solids.all):
            here = move[self._ends[k] : self._ends[k + 1]]
            vertices = solid.vertices_mm + np.concatenate([here, here])[:, None] * [0.0, 0.0, 1.0]
            if solid.kind == "cap" and solid.name in self._over:
                vertices = self._capped(vertices, solid, situation)
            if solid.kind == "panel" and coloured.on_panel:
                both = np.concatenate([values, values])
                shown: dict[str, Any] = {"rgb": used.colours(both), "value": both, "flat": True}
            else:
                shown = {"colour": {"panel": colours.SPRUCE, "rib": colours.RIB}.get(solid.kind, colours.MAPLE)}
            name = solid.kind if solid.kind == "panel" else f"{solid.kind} {solid.name}"
            out.append(Surface(name=name, vertices_mm=vertices, faces=solid.faces, **shown))
        return out

    def _capped(self, vertices: Floats, cap: Solid, situation: Situation) -> Floats:
        """The cap with its top at the strings that cross it: that is where it was measured, and planed."""
        here, nearest = self._over[cap.name]
        line, n = situation.line, len(cap.plan.points_mm)
        top = np.concatenate([line.bridge_front_mm[here], line.bridge_rear_mm[here]])[nearest]
        out = vertices.copy()
        described = out[n:, 2].reshape(-1, CAP_COLUMNS)[:, CAP_COLUMNS // 2 - 1 : CAP_COLUMNS // 2 + 1].mean(axis=1)
        lift = top - STRING_RADIUS_MM / 2.0 - np.repeat(described, CAP_COLUMNS)
        out[n:, 2] = np.maximum(out[n:, 2] + lift, out[:n, 2] + 0.2)
        return out

    def _pins_over(self, cap: Solid) -> tuple[Ints, Ints]:
        """Notes on a bridge, and for each point of its cap the nearest of their pins, front pins first."""
        here = self.line.bridges[cap.name]
        pins = np.concatenate([self.plan.front_pin_mm[here], self.plan.rear_pin_mm[here]])
        away = np.hypot(*(cap.plan.points_mm[:, None] - pins[None]).transpose(2, 0, 1))
        return here, np.argmin(away, axis=1)

    def _strings(self, paths: Floats, values: Floats, used: Palette) -> Surface:
        each = 4 * SIDES
        shown = used.colours(values)
        if np.all(np.isnan(values)):
            shown[:] = colours.STEEL
        return Surface(
            name="strings",
            vertices_mm=tube_vertices(paths, STRING_RADIUS_MM),
            faces=self._string_faces,
            rgb=np.repeat(shown, each, axis=0),
            value=np.repeat(values, each),
            note=np.repeat(self.line.note, each),
            flat=True,
        )

    def _bands(self, paths: Floats, values: Floats, used: Palette) -> list[Surface]:
        """The bridge tops, a quadrangle for each note over both its pins, half way to its neighbours."""
        if np.all(np.isnan(values)):
            return []
        pins = paths[:, 1:3] + [0.0, 0.0, BAND_LIFT_MM]
        over = (pins[:, 1] - pins[:, 0]) / 2.0  # as wide again as the pin rows are apart
        tops = np.stack([pins[:, 0] - over, pins[:, 1] + over], axis=1)
        out = []
        for bridge, here in self.line.bridges.items():
            if len(here) < 2:
                continue
            edges = (tops[here[:-1]] + tops[here[1:]]) / 2.0
            first, last = (1.5 * tops[here[k]] - 0.5 * tops[here[m]] for k, m in ((0, 1), (-1, -2)))
            edges = np.concatenate([first[None], edges, last[None]])
            quads = np.concatenate([edges[:-1], edges[1:, ::-1]], axis=1)
            faces = (np.array([[0, 3, 2], [0, 2, 1]])[None] + 4 * np.arange(len(here))[:, None, None]).reshape(-1, 3)
            out.append(
                Surface(
                    name=f"band {bridge}",
                    vertices_mm=quads.reshape(-1, 3),
                    faces=faces,
                    rgb=np.repeat(used.colours(values[here]), 4, axis=0),
                    value=np.repeat(values[here], 4),
                    note=np.repeat(self.line.note[here], 4),
                    flat=True,
                )
            )
        return out

    def _marks(self, situation: Situation, paths: Floats) -> list[Surface]:
        over = paths[:, 1:3].mean(axis=1) + np.array([0.0, 0.0, 2.0 * MARK_MM])
        which: dict[str, Bools] = {
            "short": situation.short,
            "lifted": situation.lifted,
            "one-sided": situation.one_sided,
        }
        out = []
        for kind, at in which.items():
            if np.any(at):
                vertices, faces = marks(kind, over[at], MARK_MM)
                out.append(Surface(name=f"mark {kind}", vertices_mm=vertices, faces=faces, colour=colours.INK))
        return out

    def _labels(self, situation: Situation, coloured: Coloured, paths: Floats) -> tuple[Label, ...]:
        out = []
        way = paths[:, 0] - paths[:, 3]
        ahead = paths[:, 0] + LABEL_MM * way / np.linalg.norm(way, axis=1)[:, None]
        for k, note in enumerate(self.line.note.tolist()):
            if note_name(note)[0] == "C" and "♯" not in note_name(note):
                x, y, z = ahead[k].tolist()
                out.append(Label(text=note_name(note), place_mm=(x, y, z), kind="octave"))
        shown = COLOURS["deviation"] if coloured.on_panel else coloured
        told = shown.of(situation)
        least = 0.0 if shown.neutral is None else shown.neutral(self.board.rules)
        for k in worst_notes(told, paths[:, 1], least=least):
            x, y, z = (paths[k, 1] + [0.0, 0.0, 22.0]).tolist()
            words = f"{note_name(int(self.line.note[k]))}  {shown.words(float(told[k]), self.units)}"
            out.append(Label(text=words, place_mm=(x, y, z), kind="worst"))
        return tuple(out)

    def _title(self, situation: Situation, heights: float) -> tuple[str, ...]:
        k = situation.worst
        setting = situation.setting
        changed = [
            f"plate {said('plate_up_mm', setting.plate_up_mm, self.units)}" if setting.plate_up_mm else "",
            f"tilt {said('tilt_x_mm_per_m', setting.tilt_x_mm_per_m, self.units)} in x, "
            f"{said('tilt_y_mm_per_m', setting.tilt_y_mm_per_m, self.units)} in y"
            if setting.tilt_x_mm_per_m or setting.tilt_y_mm_per_m
            else "",
            f"{setting.rh_percent:g} % RH" if setting.rh_percent is not None else "",
            f"target {said('target_net_deg', setting.net_deg)} everywhere" if setting.net_deg is not None else "",
            f"heights drawn {heights:g} times" if heights != 1.0 else "",
        ]
        state = STATE_WORDS.get(setting.shown, setting.shown.value)
        tolerance = self.board.rules.bearing_tolerance_deg
        worst = (
            f"farthest from target: note {int(self.line.note[k])} ({note_name(int(self.line.note[k]))}), "
            f"{said('deviation_deg', float(situation.deviation_deg[k]))}"
            if abs(situation.deviation_deg[k]) > tolerance
            else f"every note within {tolerance:g}° of its target"
        )
        return self.board.name, ", ".join([state, *(each for each in changed if each)]), worst

    def _plate(self) -> list[Surface]:
        """Rim, supports and struts, which no situation colours."""
        body = self.board.needed_body("The three-dimensional view")
        ring = np.vstack([body.outline.points_mm, body.outline.points_mm[:1]])
        out = [_tube("rim", np.column_stack([ring, np.zeros(len(ring))]), RIM_RADIUS_MM, colours.RIM)]
        for support in self.board.plate.supports:
            half = np.array([8.0, 0.0])
            vertices, faces = box_along(support.place_mm - half, support.place_mm + half, 16.0, 0.0, support.height_mm)
            out.append(Surface(name=f"support {support.name}", vertices_mm=vertices, faces=faces, colour=colours.IRON))
        return out

    def _plate_at(self, setting: Setting, paths: Floats, heights: float) -> list[Surface]:
        """Terminations at their heights, section by section, and struts over the bridge."""
        out = []
        for end, name in ((0, "front termination"), (3, "rear rest")):
            for section, here in self.line.sections.items():
                bar = paths[here, end] - [0.0, 0.0, BAR_RADIUS_MM + STRING_RADIUS_MM]
                if len(here) > 1:
                    out.append(_tube(f"{name} {section}", bar, BAR_RADIUS_MM, colours.IRON))
        for strut in self.board.plate.struts:
            low = strut.underside_mm + float(setting.plate.lift_mm((strut.start_mm + strut.end_mm) / 2.0))
            sizes = strut.width_mm, heights * low, heights * (low + STRUT_MM)
            vertices, faces = box_along(strut.start_mm, strut.end_mm, *sizes)
            name = f"strut {strut.name}"
            out.append(Surface(name=name, vertices_mm=vertices, faces=faces, colour=colours.IRON, opacity=0.3))
        return out


def _tube(name: str, path: Floats, radius_mm: float, colour: tuple[int, int, int]) -> Surface:
    vertices, faces = tube_vertices(path[None], radius_mm), tube_faces(1, len(path))
    return Surface(name=name, vertices_mm=vertices, faces=faces, colour=colour)


def _taller(surface: Surface, heights: float) -> Surface:
    return surface if heights == 1.0 else replace(surface, vertices_mm=surface.vertices_mm * [1.0, 1.0, heights])


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
