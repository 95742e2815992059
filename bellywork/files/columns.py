"""The tables of a board folder and their columns: the one place that readers, starters and the reference go by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bellywork.conventions import UNITS, Dimension


class Kind(Enum):
    """What a cell holds: a number of some dimension, a note, or a word."""

    NUMBER = "number"
    NOTE = "note"
    WORD = "word"


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column: its name without the unit, what it holds, its bounds in bellywork's own unit, and what it means."""

    stem: str
    meaning: str
    kind: Kind = Kind.NUMBER
    dimension: Dimension = Dimension.NUMBER
    required: bool = True
    above: float | None = None
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()

    @property
    def suffixes(self) -> tuple[str, ...]:
        """The unit suffixes that a header may end with."""
        if self.kind is not Kind.NUMBER:
            return ("",)
        return tuple(name for name, unit in UNITS.items() if unit.dimension is self.dimension)

    @property
    def usual(self) -> str:
        """The header in bellywork's own unit."""
        return f"{self.stem}_{self.suffixes[0]}" if self.suffixes[0] else self.stem


def _length(stem: str, meaning: str, *, required: bool = True, above: float | None = None,
            least: float | None = None) -> Column:  # fmt: skip
    return Column(
        stem=stem, meaning=meaning, dimension=Dimension.LENGTH, required=required, above=above, least=least, most=1e6
    )


def _word(stem: str, meaning: str, *, required: bool = True, choices: tuple[str, ...] = ()) -> Column:
    return Column(stem=stem, meaning=meaning, kind=Kind.WORD, required=required, choices=choices)


_NOTE = Column(stem="note", meaning="1 to 88, or a name: A0, C♯4 (or C#4), C8", kind=Kind.NOTE)
_NOTE_OR_NONE = Column(stem="note", meaning="1 to 88, or a name", kind=Kind.NOTE, required=False)
_STATES = ("bare", "preloaded", "strung")
READING_KINDS = ("thread", "straightedge", "bridge_height", "front_deg", "rear_deg", "plate_height")

TABLES: dict[str, tuple[Column, ...]] = {
    "notes": (
        _NOTE,
        _word("section", "section between plate struts"),
        _word("bridge", "the bridge that carries the note"),
        _length("speaking", "front termination to front pin, along the string", above=0.0),
        _length("rows", "front pin to rear pin, along the string", above=0.0),
        _length("back", "rear pin to rear rest, along the string", above=0.0),
        _length("front_height", "height of the string at the front termination"),
        _length("bridge_front", "height of the bridge top at the front pin"),
        _length("bridge_rear", "height of the bridge top at the rear pin"),
        _length("rear_height", "height of the string at the rear rest"),
        _length("cap", "thickness of the bridge cap", required=False, above=0.0),
    ),
    "scale": (
        _NOTE,
        Column(stem="unisons", meaning="strings of the note", least=1, most=3),
        _length("wire", "diameter of the plain or core wire", above=0.0),
        _length("outer", "overall diameter of a wound string; blank where plain", required=False, above=0.0),
        _word("wrap", "what a string is wound with; blank where plain", required=False),
    ),
    "string_plan": (
        _NOTE,
        *(
            _length(f"{point}_{axis}", f"{axis} of the {what}")
            for point, what in (
                ("front", "front termination"),
                ("front_pin", "front pin"),
                ("rear_pin", "rear pin"),
                ("rear", "rear rest"),
            )
            for axis in "xy"
        ),
    ),
    "outline": (
        _length("x", "corner of the panel on the rim's glue line"),
        _length("y", "the same"),
        _word("support", "how the rim holds the side from here to the next corner", required=False),
    ),
    "thickness": (
        _length("x", "where the panel was measured"),
        _length("y", "the same"),
        _length("thickness", "thickness of the panel there", above=0.0),
    ),
    "crown": (
        _length("x", "where the bare crown was measured"),
        _length("y", "the same"),
        _length("rise", "rise of the panel's underside over the rim's glue line"),
    ),
    "ribs": (
        _word("rib", "name or number of the rib"),
        _length("start_x", "one end of its centre line"),
        _length("start_y", "the same"),
        _length("end_x", "the other end"),
        _length("end_y", "the same"),
        _length("width", "width", above=0.0),
        _length("height", "full height", above=0.0),
        _length("start_height", "height left at the start; blank: full", required=False, above=0.0),
        _length("end_height", "height left at the end; blank: full", required=False, above=0.0),
        _length("start_feather", "length of the feather at the start; blank: none", required=False, least=0.0),
        _length("end_feather", "length of the feather at the end; blank: none", required=False, least=0.0),
        _length("radius", "radius of the crown along the rib; blank: flat", required=False, above=0.0),
        _word("wood", "its wood"),
    ),
    "bridges": (
        _word("bridge", "name of the bridge; one row for each point, in order along it"),
        _length("x", "point on its centre line"),
        _length("y", "the same"),
        _length("width", "width there", above=0.0),
        _length("root", "height of the root there", above=0.0),
        _length("cap", "thickness of the cap there", above=0.0),
        _length("notch", "depth of the notches there; blank: not notched", required=False, least=0.0),
        _word("wood", "wood of the root"),
        _word("cap_wood", "wood of the cap; blank: as the root", required=False),
    ),
    "supports": (
        _word("support", "name or number of the dowel, boss or block"),
        _length("x", "where it stands"),
        _length("y", "the same"),
        _length("height", "its height now"),
        _length("lowest_move", "how far it can still be lowered, a number of 0 or less"),
        _length("highest_move", "how far it can still be raised"),
    ),
    "struts": (
        _word("strut", "name or number of the strut"),
        _length("start_x", "one end of its centre line"),
        _length("start_y", "the same"),
        _length("end_x", "the other end"),
        _length("end_y", "the same"),
        _length("width", "width", above=0.0),
        _length("underside", "height of its underside"),
        _length("clearance", "clearance to keep over the bridge top; blank: 3 mm", required=False, least=0.0),
    ),
    "targets": (
        _word("section", "section that the target is for", required=False),
        _NOTE_OR_NONE,
        Column(stem="net", meaning="net angle wanted", dimension=Dimension.ANGLE, required=False, least=-5, most=10),
        _length("block", "block wanted on the rear rest", required=False),
        _length("string_deflection", "string deflection wanted at the bridge", required=False),
        Column(stem="unison_force", meaning="downforce wanted for the note's strings together",
               dimension=Dimension.FORCE, required=False),
        Column(stem="front_share", meaning="share of the net on the speaking side; blank: 0.5", required=False,
               least=0, most=1),
    ),
    "preload": (
        _length("x", "where it presses; or give the note", required=False),
        _length("y", "the same", required=False),
        _NOTE_OR_NONE,
        Column(stem="force", meaning="how hard, down", dimension=Dimension.FORCE, required=False),
        _length("sink", "or how far it is pressed down", required=False),
    ),
    "sink": (
        _NOTE,
        _length("preloaded", "sink from bare to preloaded", required=False),
        _length("strung", "sink from bare to strung", required=False),
    ),
    "readings": (
        _word("kind", "what was read", choices=READING_KINDS),
        _word("place", "rib, note or support"),
        _length("position", "where along the span", required=False, least=0.0),
        _length("span", "the span of thread or straightedge", required=False, above=0.0),
        _length("value", "the reading, where it is a length", required=False),
        Column(stem="angle", meaning="the reading, where it is an angle", dimension=Dimension.ANGLE, required=False),
        _word("state", "state that it was read in", choices=_STATES),
        _word("date", "date, as 2026-05-01", required=False),
        Column(stem="rh", meaning="relative humidity", dimension=Dimension.SHARE, required=False, least=0, most=100),
        Column(stem="temperature", meaning="temperature", dimension=Dimension.TEMPERATURE, required=False, least=-30,
               most=60),
        _length("uncertainty", "how far it may be off (of a length)", required=False, above=0.0),
    ),
}  # fmt: skip
