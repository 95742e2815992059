"""What a scene is made of: meshes with their colours, and words at places."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bellywork.board.arrays import Floats, Ints
from bellywork_viewer.meshes import tube_faces, tube_vertices
from bellywork_viewer.palette import Rgb


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
    """Words at a place; kind: "octave", "worst" or "picked"."""

    text: str
    place_mm: tuple[float, float, float]
    kind: str


def tube(name: str, path_mm: Floats, radius_mm: float, colour: tuple[int, int, int]) -> Surface:
    """A tube along one path (points, 3)."""
    vertices, faces = tube_vertices(path_mm[None], radius_mm), tube_faces(1, len(path_mm))
    return Surface(name=name, vertices_mm=vertices, faces=faces, colour=colour)


def taller(surface: Surface, heights: float) -> Surface:
    """The surface with every height drawn so many times."""
    return surface if heights == 1.0 else replace(surface, vertices_mm=surface.vertices_mm * [1.0, 1.0, heights])
