"""A drawing replayed to DXF, 1:1 in mm, the same bytes from the same drawing; each pen on a layer of its own."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from bellywork.sheets.drawing import Arc, Circle, Drawing, Item, Line, Pen, Polyline, Text, TextAnchor
from bellywork.sheets.lettering import CAPITAL, printable

if TYPE_CHECKING:
    from ezdxf.layouts import Modelspace

MARK = "999\nbellywork result\n"  # group 999 is a comment, allowed before the first section
LIGHTER = 8  # colour index: grey
MILLIMETRES = 4  # $INSUNITS


def dxf_bytes(drawing: Drawing) -> bytes:
    """The drawing as an ASCII DXF file (R2010), lengths in mm. Fills are left out: a cutter needs none."""
    import ezdxf

    as_before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no clock, no random identifiers
    try:
        document = ezdxf.new("R2010", setup=["linetypes"], units=MILLIMETRES)
        for pen in Pen:
            document.layers.add(
                pen.name,
                color=LIGHTER if pen.grey else 7,
                linetype="DASHED" if pen.dashes_mm else "CONTINUOUS",
                lineweight=round(100 * pen.width_mm),
            )
        document.header["$LTSCALE"] = 4.0
        space = document.modelspace()
        for item in drawing.items:
            _add(space, item)
        out = io.StringIO()
        document.write(out)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = as_before
    return (MARK + out.getvalue()).encode()


def _add(space: Modelspace, item: Item) -> None:
    match item:
        case Line():
            space.add_line(item.start, item.end, dxfattribs={"layer": item.pen.name})
        case Polyline():
            if item.pen is not None:
                space.add_lwpolyline(item.points, close=item.closed, dxfattribs={"layer": item.pen.name})
        case Circle():
            space.add_circle(item.centre, item.radius_mm, dxfattribs={"layer": item.pen.name})
        case Arc():
            layer = {"layer": item.pen.name}
            space.add_arc(item.centre, item.radius_mm, item.start_deg, item.end_deg, dxfattribs=layer)
        case Text():
            _add_text(space, item)


def _add_text(space: Modelspace, item: Text) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {
        TextAnchor.LEFT: TextEntityAlignment.LEFT,
        TextAnchor.MIDDLE: TextEntityAlignment.CENTER,
        TextAnchor.RIGHT: TextEntityAlignment.RIGHT,
    }
    entity = space.add_text(
        printable(item.text).replace("−", "-"),  # not in every CAD program's face
        height=CAPITAL * item.size_mm,
        rotation=item.turn_deg,
        dxfattribs={"layer": Pen.MARK.name},
    )
    entity.set_placement(item.at, align=align[item.anchor])
