"""The tables of a board folder and their columns: the one place that reader, starter folders and file reference go by.

Every number has bounds, common practice, no source: far outside what a piano has, so that a slip of unit, of column or
of decimal sign is caught and no instrument is refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from bellywork.board.state import WHOLE
from bellywork.conventions import UNITS, Dimension, Unit

TOML = "board.toml"
REMARK = "remark"  # a column of any table that is not read
WORKBOOK = "board.xlsx"


class Kind(Enum):
    """What a cell holds."""

    NUMBER = "number"
    NOTE = "note"
    WORD = "word"
    DATE = "date"


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column: its name without the unit, what it holds, its bounds in bellywork's own unit, and what it means.

    runs_on   a blank cell says what the row above it says
    between   blank cells between filled ones say what lies straight between these, over the note or the row
    """

    stem: str
    meaning: str
    kind: Kind = Kind.NUMBER
    dimension: Dimension = Dimension.NUMBER
    required: bool = True
    least: float = 0.0
    most: float = 0.0
    whole: bool = False
    choices: tuple[str, ...] = ()
    runs_on: bool = False
    between: bool = False

    @property
    def units(self) -> dict[str, Unit]:
        """The headers that the column may have, each with the unit that it stands for."""
        if self.kind is not Kind.NUMBER:
            return {self.stem: UNITS[""]}
        return {
            f"{self.stem}_{suffix}" if suffix else self.stem: unit
            for suffix, unit in UNITS.items()
            if unit.dimension is self.dimension
        }

    @property
    def usual(self) -> str:
        """The header in bellywork's own unit."""
        return next(iter(self.units))


@dataclass(frozen=True, kw_only=True)
class TableForm:
    """A table: what one row is, and its columns in the usual order."""

    row: str
    columns: tuple[Column, ...]


def _length(
    stem: str,
    meaning: str,
    least: float,
    most: float,
    *,
    required: bool = True,
    runs_on: bool = False,
    between: bool = False,
) -> Column:
    return Column(
        stem=stem,
        meaning=meaning,
        dimension=Dimension.LENGTH,
        required=required,
        least=least,
        most=most,
        runs_on=runs_on,
        between=between,
    )


def _height(stem: str, meaning: str, *, required: bool = True) -> Column:
    return _length(stem, meaning, -500, 1000, required=required)


def _point(prefix: str, meaning: str, *, required: bool = True) -> tuple[Column, Column]:
    return tuple(_length(f"{prefix}{axis}", f"{meaning}, {axis}", -5000, 5000, required=required) for axis in "xy")  # type: ignore[return-value]


def _word(
    stem: str, meaning: str, *, required: bool = True, choices: tuple[str, ...] = (), runs_on: bool = False
) -> Column:
    return Column(stem=stem, meaning=meaning, kind=Kind.WORD, required=required, choices=choices, runs_on=runs_on)


_NOTE = Column(stem="note", meaning="1 to 88, or a name: A0, C♯4 (or C#4), C8", kind=Kind.NOTE)
_READING_KINDS = ("thread", "straightedge", "bridge_height", "front_deg", "rear_deg", "plate_height")

TABLES: dict[str, TableForm] = {
    "notes": TableForm(row="one note; all 88, or reference notes only", columns=(
        _NOTE,
        _word("section", "section between plate struts; blank: as the row above", runs_on=True),
        _word("bridge", "the bridge that carries the note; blank: as the row above", runs_on=True),
        _length("speaking", "front termination to front pin, along the string", 20, 3000),
        _length("rows", "front pin to rear pin, along the string; blank: straight between the notes before and behind "
                "on its bridge", 2, 100, between=True),
        _length("back", "rear pin to rear rest, along the string; blank: likewise", 5, 1000, between=True),
        _height("front_height", "height at the front termination: the string's underside, or the bar above it (see "
                "front)", required=False),
        _height("bridge_front", "height of the bridge top at the front pin", required=False),
        _height("bridge_rear", "height of the bridge top at the rear pin", required=False),
        _height("rear_height", "height of the rear rest, where the string lies on it; all four in one row, or one of "
                "the other ways of reading", required=False),
        _word("front", "what the string bears on in front, where front_height was read: agraffe or pin, its underside; "
              "capo, the bar on its top; blank: agraffe", required=False, choices=("agraffe", "capo", "pin")),
        _length("gap_front", "or bridge top at the front pin over a thread from front termination to rear rest, under "
                "it negative", -30, 60, required=False),
        _length("gap_rear", "the same at the rear pin", -30, 60, required=False),
        _length("block", "or the block on the rear rest whose thread just touches the bridge", -30, 60, required=False),
        Column(stem="front_bearing", meaning="or front bearing by an angle gauge", dimension=Dimension.ANGLE,
               required=False, least=-10, most=15),
        Column(stem="rear_bearing", meaning="and rear bearing by it", dimension=Dimension.ANGLE, required=False,
               least=-10, most=15),
        _length("dial", "or a dial, its plunger on the bridge and its feet on the string", -5, 10, required=False),
        _length("dial_span", "from foot to foot of that dial", 10, 500, required=False),
        _length("cap", "thickness of the bridge cap; blank: as bridges.csv has it there, or not known", 0.5, 100,
                required=False),
    )),
    "scale": TableForm(row="one note's strings", columns=(
        _NOTE,
        Column(stem="unisons", meaning="strings of the note; blank: as the row above", least=1, most=3, whole=True,
               runs_on=True),
        _length("wire", "diameter of the plain or core wire", 0.3, 3, required=False),
        Column(stem="wire_number", meaning="or its number in the gauge that board.toml names, as 16 1/2",
               required=False, least=5, most=40),
        _length("outer", "overall diameter of a wound string; blank: plain", 0.5, 20, required=False),
        _word("wrap", "what the string is wound with; blank: plain", required=False),
        _length("spread", "distance between the note's outer strings, square to them; blank: as the row above, or not "
                "told", 1, 40, required=False, runs_on=True),
    )),
    "string_plan": TableForm(row="one note's string as seen from above", columns=(
        _NOTE,
        _length("front_x", "front termination, x; blank: straight between the notes before and behind", -5000, 5000,
                between=True),
        _length("front_y", "front termination, y; blank: likewise", -5000, 5000, between=True),
        _length("front_pin_x", "front pin, x", -5000, 5000),
        _length("front_pin_y", "front pin, y; blank: as far off as the speaking length says, towards tail or bottom",
                -5000, 5000, required=False),
        *_point("rear_pin_", "rear pin; blank: straight on by the pin-row spacing", required=False),
        *_point("rear_", "rear rest; blank: straight on by the back length", required=False),
    )),
    "outline": TableForm(row="one corner of the panel on the rim's glue line, in order round it", columns=(
        *_point("", "corner"),
        _word("support", "how the rim holds the side from here to the next corner; blank: as [rim] says",
              required=False),
    )),
    "thickness": TableForm(row="one place where the panel's thickness was measured", columns=(
        *_point("", "place"),
        _length("thickness", "thickness of the panel there", 1, 50),
    )),
    "crown": TableForm(row="one place where the crown of the bare board was measured", columns=(
        *_point("", "place"),
        _length("rise", "rise of the panel's underside over the rim's glue line", -50, 100),
    )),
    "ribs": TableForm(row="one rib", columns=(
        _word("rib", "its name or number; blank: counted from the first row", required=False),
        *_point("start_", "one end of its centre line; or, without the other end, any point of it; one blank: 0",
                required=False),
        *_point("end_", "the other end; blank: the rib runs from edge to edge in the direction that [ribs] gives",
                required=False),
        _length("width", "width; blank: as [ribs] says", 2, 200, required=False),
        _length("height", "full height; blank: straight between the ribs before and behind", 2, 150, between=True),
        _length("start_height", "height left at the start; blank: as [ribs] says, or full", 0.5, 150, required=False),
        _length("end_height", "height left at the end; blank: as at the start", 0.5, 150, required=False),
        _length("start_feather", "length of the feather at the start; blank: as [ribs] says, or none", 0, 2000,
                required=False),
        _length("end_feather", "length of the feather at the end; blank: as at the start", 0, 2000, required=False),
        _length("radius", "radius of the crown along the rib; blank between ribs that have one: straight between "
                "them; else flat", 500, 1e6, required=False, between=True),
        _word("wood", "its wood; blank: as [ribs] says", required=False),
    )),
    "bridges": TableForm(row="one point of a bridge, in order along it", columns=(
        _word("bridge", "name of the bridge, as in notes.csv; blank: as the row above", runs_on=True),
        *_point("", "point on its centre line; or give a note", required=False),
        Column(stem="note", meaning="or the note at which its sizes were read: the bridge is then drawn through the "
               "pins of all its notes, and 25 mm beyond the last", kind=Kind.NOTE, required=False),
        _length("width", "width there; blank: as the row above", 5, 300, runs_on=True),
        _length("root", "height of the root there; blank: as the row above", 1, 200, runs_on=True),
        _length("cap", "thickness of the cap there; 0: none; blank: as the row above", 0, 100, runs_on=True),
        _length("notch", "depth of the notches there; blank: as the row above, or not notched", 0, 30, required=False,
                runs_on=True),
        _word("wood", "wood of the root; blank: as the row above", runs_on=True),
        _word("cap_wood", "wood of the cap; blank: as the root", required=False),
    )),
    "supports": TableForm(row="one dowel, boss or block that the plate stands on", columns=(
        _word("support", "its name or number"),
        *_point("", "where it stands"),
        _height("height", "its height now"),
        _length("lowest_move", "how far it can still be lowered, as a number of 0 or less", -100, 100),
        _length("highest_move", "how far it can still be raised", -100, 100),
    )),
    "struts": TableForm(row="one strut of the plate over the bridges", columns=(
        _word("strut", "its name or number"),
        *_point("start_", "one end of its centre line"),
        *_point("end_", "the other end"),
        _length("width", "width", 1, 300),
        _height("underside", "height of its underside"),
        _length("clearance", "clearance to keep over the bridge top; blank: 3 mm", 0, 100, required=False),
    )),
    "targets": TableForm(row="the bearing wanted in a section or at a note", columns=(
        _word("section", "the section; or give a note", required=False),
        Column(stem="note", meaning="the note; or give a section", kind=Kind.NOTE, required=False),
        Column(stem="net", meaning="net angle; one of these four in each row", dimension=Dimension.ANGLE,
               required=False, least=-5, most=10),
        _length("block", "or block on the rear rest", -50, 50, required=False),
        _length("string_deflection", "or string deflection at the bridge", -50, 50, required=False),
        Column(stem="unison_force", meaning="or downforce of the note's strings together",
               dimension=Dimension.FORCE, required=False, least=0, most=2000),
        Column(stem="front_share", meaning="share of the net on the speaking side; blank: 0.5", required=False,
               least=0, most=1),
        _word("state", "the state in which it is to hold, one for all rows; blank: strung", required=False,
              choices=tuple(state.value for state in WHOLE)),
    )),
    "preload": TableForm(row="one go-bar, wedge or weight on the preloaded board", columns=(
        *_point("", "where it presses; or give a note", required=False),
        Column(stem="note", meaning="the note at whose pins it presses; or give x and y", kind=Kind.NOTE,
               required=False),
        Column(stem="force", meaning="how hard it presses; or give the sink", dimension=Dimension.FORCE,
               required=False, least=0, most=20000),
        _length("sink", "how far the board is pressed down there", 0, 30, required=False),
    )),
    "sink": TableForm(row="the sink that you measured at one note", columns=(
        _NOTE,
        _length("preloaded", "sink from bare to preloaded", -30, 30, required=False),
        _length("strung", "sink from bare to strung", -30, 30, required=False),
    )),
    "readings": TableForm(row="one reading of crown or bearing", columns=(
        _word("kind", "what was read", choices=_READING_KINDS),
        _word("place", "the rib, note or support"),
        _length("position", "where along the span", 0, 5000, required=False),
        _length("span", "the span of thread or straightedge", 10, 5000, required=False),
        _length("value", "the reading, where it is a length", -1000, 1000, required=False),
        Column(stem="angle", meaning="the reading, where it is an angle", dimension=Dimension.ANGLE, required=False,
               least=-10, most=10),
        _word("state", "state that it was read in", choices=tuple(state.value for state in WHOLE)),
        Column(stem="date", meaning="date, as 2026-05-01", kind=Kind.DATE, required=False),
        Column(stem="rh", meaning="relative humidity", dimension=Dimension.SHARE, required=False, least=5, most=100),
        Column(stem="temperature", meaning="temperature", dimension=Dimension.TEMPERATURE, required=False,
               least=-30, most=60),
        _length("uncertainty", "how far a length may be off", 0.001, 100, required=False),
    )),
    "trials": TableForm(row="one dial of a press trial: loads pressed on the board, and what dials set to zero before "
                        "them then read; rows of one trial share its loads", columns=(
        _word("trial", "name or number of the trial"),
        Column(stem="at", meaning="the note at whose pins the load presses; or give at_x and at_y", kind=Kind.NOTE,
               required=False),
        *_point("at_", "where the load presses; or give at", required=False),
        Column(stem="force", meaning="how hard it presses; blank in a row that adds a dial only",
               dimension=Dimension.FORCE, required=False, least=0, most=20000),
        Column(stem="read", meaning="the note at whose pins the dial stands; or give read_x and read_y",
               kind=Kind.NOTE, required=False),
        *_point("read_", "where the dial stands; or give read", required=False),
        _length("sink", "what the dial reads, down positive; blank in a row that adds a load only", -30, 30,
                required=False),
        _length("uncertainty", "how far the dial may be off; blank: 0.03 mm", 0.001, 10, required=False),
        _word("state", "state that it was read in; blank: bare", required=False,
              choices=tuple(state.value for state in WHOLE)),
        Column(stem="date", meaning="date, as 2026-05-01", kind=Kind.DATE, required=False),
        Column(stem="rh", meaning="relative humidity", dimension=Dimension.SHARE, required=False, least=5, most=100),
    )),
    "scan_points": TableForm(row="a point of a scan at a known place of the board; three or more lay a scan in which "
                             "the case, the rim or a table stands round the panel", columns=(
        *(Column(stem=f"scan_{axis}", meaning=f"the point in the scan, {axis}, in the file's own unit", least=-1e6,
                 most=1e6) for axis in "xyz"),
        Column(stem="note", meaning="the note on whose bridge top it lies; or give x and y", kind=Kind.NOTE,
               required=False),
        *_point("", "where on the panel it lies; or give note", required=False),
        _length("z", "its height over the rim's glue line; blank: that of the panel's or the bridge's top there", -500,
                1000, required=False),
    )),
}  # fmt: skip


def is_input(name: str) -> bool:
    """Whether a file of this name in a board folder is read as part of the board.

    >>> [is_input(name) for name in ("board.toml", "ribs.xlsx", "readings-may.csv", "bearing.csv")]
    [True, True, True, False]
    """
    path = Path(name)
    tables = path.suffix in (".csv", ".xlsx") and (path.stem in TABLES or path.stem.startswith("readings"))
    return tables or name in (TOML, WORKBOOK)
