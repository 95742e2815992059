"""A board as a scene: plain arrays with names, units and meanings, before any window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints
from bellywork.board.board import Board
from bellywork.estimate.estimate import Estimate
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, Units
from bellywork.quantities import said
from bellywork.solids.parts import BodySolids, body_solids
from bellywork.solids.slab import Solid
from bellywork_viewer import palette as colours
from bellywork_viewer import words
from bellywork_viewer.coloured import COLOURS, Coloured
from bellywork_viewer.meshes import SIDES, box_along, marks, tube_faces, tube_vertices
from bellywork_viewer.palette import Palette
from bellywork_viewer.relief import contour_step_mm, contours, rib_colours
from bellywork_viewer.situation import Desk, Setting, Situation
from bellywork_viewer.surfaces import Label, Surface, taller, tube

PANEL_STEP_MM = 40.0
STRING_RADIUS_MM = 1.8  # drawn thicker than wire, or nobody would see it
BAR_RADIUS_MM = 4.0
RIM_RADIUS_MM = 7.0
STRUT_MM = 25.0  # how high a strut is drawn
BAND_LIFT_MM = 0.6  # over the bridge top, so that it does not flicker in it
MARK_MM = 5.0
CAP_COLUMNS = 6  # of points across a cap, as solids/parts.py makes it
MARK_ROW_MM = 2.8 * MARK_MM  # from one kind of mark to the next over it
HALO_MM = 1.4  # radius of the two dark lines beside the picked string


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """Everything that is drawn.

    surfaces   by name; labels; palette of the colours, what they show and in which units
    title      lines at the top: board, state, worst note
    marked     words for the marks that stand in the scene
    contour_mm step of the contour lines of height on the panel
    """

    surfaces: Mapping[str, Surface]
    labels: tuple[Label, ...]
    coloured: Coloured
    units: Units
    palette: Palette
    title: tuple[str, ...]
    marked: tuple[str, ...]
    contour_mm: float

    @property
    def contour_words(self) -> str:
        """What the lines on the panel mean."""
        return f"contour lines of the panel: each {said('panel_crown_mm', self.contour_mm, self.units)} of height"


class Stage:
    """A board's parts made once; a scene for each situation is then a few array operations.

    board   with its notes complete; desk: the numbers behind it
    """

    def __init__(
        self,
        board: Board | Instrument,
        *,
        rim: str | None = None,
        units: Units = METRIC,
        estimate: Estimate | None = None,
    ) -> None:
        """Make the parts and the mechanics of a board.

        estimate   that the board is the answer of, so that its band can be shown; None: it has none

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
        self.desk = Desk(ready=ready, panel_mm=whole.needed_body(what).outline.onto(points), estimate=estimate)
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
        self,
        situation: Situation,
        *,
        colour: str = "deviation",
        heights: float = 1.0,
        palette: Palette | None = None,
        picked: int = -1,
    ) -> Scene:
        """The scene of a situation.

        colour    one of `COLOURS`
        heights   1 draws everything true; more draws every height so many times, and the title says so
        palette   a palette to be kept, for pictures side by side
        picked    place in the arrays of the note to be made plain; below 0: none
        """
        coloured, values = COLOURS[colour], self.values(situation, colour)
        used = palette or coloured.palette(values, self.board.rules, self.units)
        notes = np.full(len(self.line.note), np.nan) if coloured.on_panel else values
        paths = self.string_paths_mm(situation) * [1.0, 1.0, heights]
        marked = self._marks(situation, paths)
        surfaces = (
            *(taller(surface, heights) for surface in self._wood(situation, values, coloured, used)),
            *(taller(surface, heights) for surface in self._still),
            *self._plate_at(situation.setting, paths, heights),
            *self._bands(paths, notes, used),
            self._strings(paths, notes, used),
            *([] if picked < 0 else self._halo(paths[picked])),
            *marked,
        )
        return Scene(
            surfaces={surface.name: surface for surface in surfaces},
            labels=(
                *words.octaves(situation, paths),
                *words.worst_and_picked(self.board, situation, coloured, paths, self.units, picked),
            ),
            coloured=coloured,
            units=self.units,
            palette=used,
            title=words.title(self.board, situation, self.units, heights),
            marked=tuple(_mark_words(situation, surface.name.removeprefix("mark ")) for surface in marked),
            contour_mm=contour_step_mm(self._heights_mm(situation), self.units),
        )

    def string_paths_mm(self, situation: Situation) -> Floats:
        """Every note's string as a broken line F, B1, B2, R: (notes, 4, 3), at the heights of a situation."""
        plan, line = self.plan, situation.line
        along = np.stack([plan.front_mm, plan.front_pin_mm, plan.rear_pin_mm, plan.rear_mm], axis=1)
        heights = [line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm]
        return np.concatenate([along, np.stack(heights, axis=1)[..., None]], axis=2)

    def _wood(self, situation: Situation, values: Floats, coloured: Coloured, used: Palette) -> list[Surface]:
        move = situation.panel_rise_mm - np.nan_to_num(situation.panel_sink_mm)
        out = []
        for k, solid in enumerate(self.solids.all):
            here = move[self._ends[k] : self._ends[k + 1]]
            vertices = solid.vertices_mm + np.concatenate([here, here])[:, None] * [0.0, 0.0, 1.0]
            if solid.kind == "cap" and solid.name in self._over:
                vertices = self._capped(vertices, solid, situation)
            if solid.kind == "rib":
                shown: dict[str, Any] = {"rgb": rib_colours(solid)}
            elif solid.kind == "panel" and coloured.on_panel:
                both = np.concatenate([values, values])
                shown = {"rgb": used.colours(both), "value": both, "flat": True}
            else:
                shown = {"colour": colours.SPRUCE if solid.kind == "panel" else colours.MAPLE}
            name = solid.kind if solid.kind == "panel" else f"{solid.kind} {solid.name}"
            out.append(Surface(name=name, vertices_mm=vertices, faces=solid.faces, **shown))
            if solid.kind == "panel" and (lines := self._contours(vertices, situation)) is not None:
                out.append(lines)
        return out

    def _contours(self, vertices: Floats, situation: Situation) -> Surface | None:
        heights = self._heights_mm(situation)
        return contours(self.solids.panel, vertices, heights, contour_step_mm(heights, self.units))

    def _heights_mm(self, situation: Situation) -> Floats:
        """Heights of the panel's underside over the rim as it stands, at the points of its plan."""
        here = slice(None, self._ends[1])
        sunk = np.nan_to_num(situation.panel_sink_mm[here])
        return np.asarray(self._bare_crown + situation.panel_rise_mm[here] - sunk)

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

    def _halo(self, path: Floats) -> list[Surface]:
        """A dark line on each side of a string, which leaves its colour to be seen."""
        way = (path[3] - path[0])[:2] / np.hypot(*(path[3] - path[0])[:2])
        side = (STRING_RADIUS_MM + HALO_MM) * np.array([-way[1], way[0], 0.0])
        return [tube(f"picked {k}", path + turn * side, HALO_MM, colours.INK) for k, turn in enumerate((-1.0, 1.0))]

    def _marks(self, situation: Situation, paths: Floats) -> list[Surface]:
        over = paths[:, 1:3].mean(axis=1) + np.array([0.0, 0.0, 2.0 * MARK_MM])
        # each kind in a row of its own, or they would merge where one note has two of them
        which: dict[str, Bools] = {
            "short": situation.short,
            "lifted": situation.lifted,
            "one-sided": situation.one_sided,
        }
        out = []
        for row, (kind, at) in enumerate(which.items()):
            if np.any(at):
                vertices, faces = marks(kind, over[at] + [0.0, 0.0, row * MARK_ROW_MM], MARK_MM)
                out.append(Surface(name=f"mark {kind}", vertices_mm=vertices, faces=faces, colour=colours.INK))
        return out

    def _plate(self) -> list[Surface]:
        """Rim, supports and struts, which no situation colours."""
        body = self.board.needed_body("The three-dimensional view")
        ring = np.vstack([body.outline.points_mm, body.outline.points_mm[:1]])
        out = [tube("rim", np.column_stack([ring, np.zeros(len(ring))]), RIM_RADIUS_MM, colours.RIM)]
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
                    out.append(tube(f"{name} {section}", bar, BAR_RADIUS_MM, colours.IRON))
        for strut in self.board.plate.struts:
            low = strut.underside_mm + float(setting.plate.lift_mm((strut.start_mm + strut.end_mm) / 2.0))
            sizes = strut.width_mm, heights * low, heights * low + STRUT_MM
            vertices, faces = box_along(strut.start_mm, strut.end_mm, *sizes)
            name = f"strut {strut.name}"
            out.append(Surface(name=name, vertices_mm=vertices, faces=faces, colour=colours.IRON, opacity=0.3))
        return out


def _mark_words(situation: Situation, kind: str) -> str:
    count = int({"short": situation.short, "lifted": situation.lifted, "one-sided": situation.one_sided}[kind].sum())
    return f"{words.MARK_WORDS[kind]}, {count} {'note' if count == 1 else 'notes'}"
