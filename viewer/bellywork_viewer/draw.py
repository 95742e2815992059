"""A scene on a PyVista plotter: what is new is added, what is there is moved and coloured anew."""

from __future__ import annotations

from typing import Any

import numpy as np

from bellywork.board.arrays import Floats
from bellywork_viewer import palette as colours
from bellywork_viewer.cameras import ANGLE_DEG, LEFT, Camera, camera
from bellywork_viewer.picking import projected_px
from bellywork_viewer.scene import Scene, Stage
from bellywork_viewer.surfaces import Label

STEPS = 255  # of a scale bar's colours; odd, so that the middle of a symmetric one is neutral


def font_file() -> str:
    """A typeface that has ♯ and −, from matplotlib."""
    from matplotlib import font_manager

    return str(font_manager.findfont("DejaVu Sans"))


class Drawn:
    """A scene that stands on a plotter, or on one of its panes; `show` brings it to another scene.

    plotter   a PyVista plotter, or anything that takes its calls; pane: row and column on a plotter of several
    ends      whether the ends of the colours are told in words too
    """

    def __init__(
        self, plotter: Any, *, pane: tuple[int, int] | None = None, text_size: int = 11, ends: bool = True
    ) -> None:
        self.plotter, self.pane, self.text_size, self.ends = plotter, pane, text_size, ends
        self.meshes: dict[str, Any] = {}
        self._legend: object = None
        self._bar = " " * (1 if pane is None else 2 + pane[1])  # the plotter knows bars by their titles
        self._words: dict[str, object] = {}

    def show(self, scene: Scene) -> None:
        """Draw a scene, or change what is drawn into it; the plotter still has to render."""
        if self.pane is not None:
            self.plotter.subplot(*self.pane)
        for name in set(self.meshes) - set(scene.surfaces):
            self.plotter.remove_actor(self._named(name), render=False)
            del self.meshes[name]
        for name, surface in scene.surfaces.items():
            there = self.meshes.get(name)
            if (
                there is not None
                and there.n_points == len(surface.vertices_mm)
                and (surface.rgb is None) == ("rgb" not in there.point_data)
            ):
                there.points = np.asarray(surface.vertices_mm, dtype=np.float32)
                if surface.rgb is not None:
                    there.point_data["rgb"] = surface.rgb
                continue
            self._add(name, scene)
        self._write(scene)
        self._scale_bar(scene)

    def look(self, from_where: Camera) -> None:
        """Move the camera."""
        if self.pane is not None:
            self.plotter.subplot(*self.pane)
        self.plotter.camera_position = [from_where.place_mm, from_where.at_mm, from_where.up]
        seen = self.plotter.camera
        if from_where.half_height_mm is not None:
            seen.enable_parallel_projection()
            seen.parallel_scale = from_where.half_height_mm
        else:
            seen.disable_parallel_projection()
            seen.view_angle = ANGLE_DEG
        self.plotter.reset_camera_clipping_range()

    def look_from(self, preset: str, stage: Stage, scene: Scene, aspect: float, *, left: float = LEFT) -> None:
        """Move the camera to a preset, as it stands for a scene; `aspect` is width over height.

        left   share of the width on the left that stays free
        """
        self.look(preset_camera(preset, stage, scene, aspect, left=left))

    def on_screen_px(self, points_mm: Floats) -> Floats:
        """Where points (…, 3) stand on the picture, (…, 2) from its lower left corner; NaN behind the camera."""
        import pyvista as pv

        if self.pane is not None:
            self.plotter.subplot(*self.pane)
        seen = self.plotter.renderer
        matrix = seen.GetActiveCamera().GetCompositeProjectionTransformMatrix(seen.GetTiledAspectRatio(), -1.0, 1.0)
        return projected_px(points_mm, pv.array_from_vtkmatrix(matrix), seen.GetSize(), seen.GetOrigin())

    def _named(self, name: str) -> str:
        return name if self.pane is None else f"{self.pane} {name}"

    def _add(self, name: str, scene: Scene) -> None:
        import pyvista as pv

        surface = scene.surfaces[name]
        mesh = pv.PolyData.from_regular_faces(np.asarray(surface.vertices_mm, dtype=np.float32), surface.faces)
        how: dict[str, Any] = {"color": surface.colour}
        if surface.rgb is not None:
            mesh.point_data["rgb"] = surface.rgb
            how = {"scalars": "rgb", "rgb": True}
        self.plotter.add_mesh(
            mesh,
            name=self._named(name),
            lighting=not surface.flat,
            opacity=surface.opacity,
            show_scalar_bar=False,
            render=False,
            reset_camera=False,
            ambient=0.0 if surface.flat else 0.25,
            diffuse=1.0 if surface.flat else 0.8,
            **how,
        )
        self.meshes[name] = mesh

    def _write(self, scene: Scene) -> None:
        """Title, marks and labels; only what has changed is written anew."""
        lines = "\n".join([*scene.title, *scene.marked, scene.contour_words])
        if self._words.get("title") != lines:
            text = self.plotter.add_text(
                lines, name=self._named("title"), position="upper_left", font_size=self.text_size, color=colours.INK,
                font_file=font_file(), render=False,
            )  # fmt: skip
            backed(text)
            self._words["title"] = lines
        for kind, size, ink in (
            ("octave", 1.0, (70, 70, 78)),
            ("worst", 1.15, colours.INK),
            ("picked", 1.3, colours.INK),
        ):
            labels: tuple[Label, ...] = tuple(label for label in scene.labels if label.kind == kind)
            if self._words.get(kind) == labels:
                continue
            self._words[kind] = labels
            name = self._named(f"labels {kind}")
            self.plotter.remove_actor(name, render=False)
            if not labels:
                continue
            self.plotter.add_point_labels(
                np.array([label.place_mm for label in labels]), [label.text for label in labels], name=name,
                font_size=round(1.5 * self.text_size * size), text_color=ink, font_file=font_file(), bold=False,
                shape=None if kind == "octave" else "rounded_rect", shape_color=colours.PAPER, shape_opacity=0.85,
                show_points=False, always_visible=True, render=False, reset_camera=False, margin=3,
            )  # fmt: skip

    def _scale_bar(self, scene: Scene) -> None:
        key = scene.palette, scene.coloured.name
        if self._legend == key:
            return
        import pyvista as pv

        coloured, measure = scene.coloured, scene.coloured.quantity.measure
        if self._legend is not None:
            self.plotter.remove_scalar_bar(self._bar)
        low, high = scene.palette.low, scene.palette.high
        ends = measure.outside(low, scene.units), measure.outside(high, scene.units)
        table = pv.LookupTable(scalar_range=ends, n_values=STEPS)
        shown = scene.palette.colours(np.linspace(low, high, STEPS))
        table.values = np.column_stack([shown, np.full(STEPS, 255, np.uint8)])
        mapper = pv.DataSetMapper()
        mapper.lookup_table = table
        mapper.scalar_range = ends
        self.plotter.add_scalar_bar(
            title=self._bar, mapper=mapper, n_labels=5 if self.ends else 3, fmt="%.4g",
            label_font_size=round(1.4 * self.text_size),
            color=colours.INK, position_x=0.15, position_y=0.045, width=0.7, height=0.055, vertical=False,
            fill=True, background_color=colours.PAPER,
            render=False,
        )  # fmt: skip
        said = [(coloured.heading(scene.units), 0.5, 0.105, "center")]
        if self.ends:
            said += [(coloured.low, 0.15, 0.012, "left"), (coloured.high, 0.85, 0.012, "right")]
        for word, x, y, side in said:
            text = self.plotter.add_text(
                word, name=self._named(f"scale {side}"), position=(x, y), viewport=True, font_size=self.text_size,
                color=colours.INK, font_file=font_file(), render=False,
            )  # fmt: skip
            text.prop.justification_horizontal = side
            backed(text)
        self._legend = key


def backed(text: Any, opacity: float = 0.9) -> None:
    """Paper behind words, so that they stay readable over the board."""
    text.prop.background_color = colours.PAPER
    text.prop.background_opacity = opacity


def preset_camera(preset: str, stage: Stage, scene: Scene, aspect: float, *, left: float = LEFT) -> Camera:
    """The camera of a preset for a scene."""
    corners = [
        np.min([surface.vertices_mm.min(axis=0) for surface in scene.surfaces.values()], axis=0),
        np.max([surface.vertices_mm.max(axis=0) for surface in scene.surfaces.values()], axis=0),
    ]
    labels = np.array([label.place_mm for label in scene.labels if label.kind == "octave"]).reshape(-1, 3)
    return camera(
        preset,
        bounds_mm=np.array(corners),
        labels_mm=labels,
        line=stage.line,
        plan=stage.plan,
        aspect=aspect,
        left=left,
    )
