"""Solids as files for CNC and for other programs: STL and PLY in mm, one file for each part; GLB with all of them."""

from __future__ import annotations

from typing import Any

import numpy as np

from bellywork.errors import BoardError
from bellywork.solids.parts import BodySolids
from bellywork.solids.slab import Solid

FORMATS = ("stl", "ply", "glb")
COLOURS = {"panel": (226, 197, 148), "rib": (206, 172, 122), "root": (176, 132, 92), "cap": (142, 98, 66)}  # our own
METRES = 0.001  # glTF is in metres and has y up; the scene is turned so
STL_HEAD = b"bellywork result, mm".ljust(80)
UPRIGHT = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0], [0, 0, 0, 1.0]])


def solid_files(solids: BodySolids, kind: str) -> dict[str, bytes]:
    """The solids as files by name, the same bytes for the same board.

    kind   "stl" or "ply": a file for each part, in mm, axes as everywhere here (x along the keyboard from bass to
           treble, y to the tail, z to the strings); "glb": one file with every part by its name, in metres and y up as
           that format wants it

    Raises BoardError for another kind.

    >>> from bellywork.board import Body, Outline, Panel
    >>> from bellywork.board.rims import rim_support
    >>> from bellywork.board.woods import wood
    >>> from bellywork.solids.parts import body_solids
    >>> plain = Body(
    ...     outline=Outline(points_mm=[[0, 0], [1000, 0], [1000, 500], [0, 500]], support=(rim_support("glued"),) * 4),
    ...     panel=Panel(wood=wood("sitka_spruce"), grain_deg=0, thickness_points_mm=[[0, 0, 8]]))
    >>> list(solid_files(body_solids(plain), "stl"))
    ['solid panel.stl']
    """
    if kind == "glb":
        return {"solids.glb": _glb(solids)}
    if kind not in FORMATS:
        raise BoardError(f"Found '{kind}' as a kind of solid file, expected one of {', '.join(FORMATS)}.")
    return {f"solid {part_name(solid)}.{kind}": _part(solid, kind) for solid in solids.all}


def part_name(solid: Solid) -> str:
    """Name of a part: "panel", "rib 3", "root long", "cap long"; letters that no file system likes become dashes."""
    name = solid.kind if solid.kind == "panel" else f"{solid.kind} {solid.name}"
    return "".join("-" if letter in '/\\:*?"<>|' else letter for letter in name)


def _part(solid: Solid, kind: str) -> bytes:
    data: bytes = solid.mesh().export(file_type=kind)
    if kind == "stl":
        return STL_HEAD + data[80:]
    head, end, body = data.partition(b"end_header\n")
    lines = [line for line in head.split(b"\n") if line and not line.startswith(b"comment")]
    return b"\n".join([lines[0], lines[1], b"comment bellywork result, mm", *lines[2:]]) + b"\n" + end + body


def _glb(solids: BodySolids) -> bytes:
    import trimesh
    from trimesh.visual.material import PBRMaterial
    from trimesh.visual.texture import TextureVisuals

    scene = trimesh.Scene()
    for solid in solids.all:
        mesh = solid.mesh()
        mesh.apply_scale(METRES)
        mesh.apply_transform(UPRIGHT)
        material = PBRMaterial(
            name=f"{solid.kind}, {solid.wood.replace('_', ' ')}",
            baseColorFactor=(*COLOURS[solid.kind], 255),
            metallicFactor=0.0,
            roughnessFactor=0.8,
        )
        mesh.visual = TextureVisuals(material=material)
        scene.add_geometry(mesh, node_name=part_name(solid), geom_name=part_name(solid))

    def signed(tree: dict[str, Any]) -> None:
        tree["asset"]["generator"] = "bellywork result"

    data: bytes = scene.export(file_type="glb", tree_postprocessor=signed)
    return data
