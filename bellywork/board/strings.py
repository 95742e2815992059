"""The string line (where each note's strings bend over the bridge) and the scale (what the strings are)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Bools, Floats, Ints, floats, keep
from bellywork.errors import BoardError

LENGTHS_AND_HEIGHTS = (
    "rows_mm",
    "back_mm",
    "front_height_mm",
    "bridge_front_mm",
    "bridge_rear_mm",
    "rear_height_mm",
    "cap_mm",
)


def _places_by_name(names: tuple[str, ...]) -> dict[str, Ints]:
    return {name: np.flatnonzero([each == name for each in names]) for name in dict.fromkeys(names)}


@dataclass(frozen=True, kw_only=True, eq=False)
class StringLine:
    """Lengths and heights of each note's string, front termination F to front pin B1, rear pin B2 and rear rest R.

    All arrays have one entry per note, notes ascending. Lengths run along the string in plan, in mm; heights in mm
    above one common level (z = 0, the glue line of the board on the rim, when the board's body is described).

    note                1 (A0) to 88 (C8)
    section             name of the section between plate struts
    bridge              name of the bridge that carries the note
    speaking_mm         F to B1
    rows_mm             B1 to B2 (pin-row spacing along the string)
    back_mm             B2 to R
    front_height_mm     height of the string's underside at F (agraffe hole; one wire under a capo bar)
    bridge_front_mm     height of the bridge top at B1
    bridge_rear_mm      height of the bridge top at B2
    rear_height_mm      height of the string's underside at R
    cap_mm              thickness of the bridge cap at the note; NaN where unknown
    measured            False where the note was interpolated between reference notes
    levelled            False where some notes were read against their own straight line F to R, so that heights of
                        different notes do not compare
    """

    note: Ints
    section: tuple[str, ...]
    bridge: tuple[str, ...]
    speaking_mm: Floats
    rows_mm: Floats
    back_mm: Floats
    front_height_mm: Floats
    bridge_front_mm: Floats
    bridge_rear_mm: Floats
    rear_height_mm: Floats
    cap_mm: Floats
    measured: Bools
    levelled: bool = True

    def __post_init__(self) -> None:
        note = np.array(self.note, dtype=np.int64)
        measured = np.array(self.measured, dtype=np.bool_)
        n = len(note)
        if n == 0 or np.any(np.diff(note) <= 0) or note[0] < 1 or note[-1] > 88:
            raise BoardError(f"A string line needs ascending notes between 1 and 88; got {note.tolist()}.")
        if not len(self.section) == len(self.bridge) == len(measured) == n:
            raise BoardError("A string line needs a section, a bridge and a 'measured' mark for every note.")
        for array in (note, measured):
            array.setflags(write=False)
        keep(self, note=note, measured=measured)
        for name in ("speaking_mm", *LENGTHS_AND_HEIGHTS):
            keep(self, **{name: floats(getattr(self, name), (n,), name)})

    @property
    def top_mm(self) -> Floats:
        """Height of the bridge top midway between the pin rows."""
        return (self.bridge_front_mm + self.bridge_rear_mm) / 2.0

    @property
    def sections(self) -> dict[str, Ints]:
        """Places in the arrays of each section's notes, by its name, in the order of the notes."""
        return _places_by_name(self.section)

    @property
    def bridges(self) -> dict[str, Ints]:
        """Places in the arrays of each bridge's notes, by its name, in the order of the notes."""
        return _places_by_name(self.bridge)

    def place_of(self, note: int) -> int | None:
        """Place in the arrays of a note; None where the line does not have it."""
        at = int(np.searchsorted(self.note, note))
        return at if at < len(self.note) and self.note[at] == note else None


@dataclass(frozen=True, kw_only=True, eq=False)
class StringPlan:
    """Where each note's string runs in plan: points (x, y) in mm, shape (notes, 2), notes as in the string line."""

    note: Ints
    front_mm: Floats
    front_pin_mm: Floats
    rear_pin_mm: Floats
    rear_mm: Floats

    def __post_init__(self) -> None:
        note = np.array(self.note, dtype=np.int64)
        note.setflags(write=False)
        keep(self, note=note)
        for name in ("front_mm", "front_pin_mm", "rear_pin_mm", "rear_mm"):
            keep(self, **{name: floats(getattr(self, name), (len(note), 2), name)})

    @property
    def pins_mm(self) -> Floats:
        """All front pins, then all rear pins: (2 notes, 2), the order of every force and sink at the pins."""
        return np.vstack([self.front_pin_mm, self.rear_pin_mm])

    @property
    def middle_mm(self) -> Floats:
        """Points midway between the pins, (notes, 2)."""
        return (self.front_pin_mm + self.rear_pin_mm) / 2.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Scale:
    """What the strings are, one entry per note, notes as in the string line.

    unisons    strings per note, 1 to 3
    wire_mm    diameter of the plain or core wire
    outer_mm   overall diameter over the wrap; equal to wire_mm where the string is plain
    wrap       material of the wrap ("copper", "iron", ...), "" where plain
    pitch_Hz   frequency of A4
    spread_mm  distance between the note's outer strings, square to them; NaN where it was not told; None: nowhere told
    """

    note: Ints
    unisons: Ints
    wire_mm: Floats
    outer_mm: Floats
    wrap: tuple[str, ...]
    pitch_Hz: float = 440.0
    spread_mm: Floats | None = None

    def __post_init__(self) -> None:
        note = np.array(self.note, dtype=np.int64)
        unisons = np.array(self.unisons, dtype=np.int64)
        for array in (note, unisons):
            array.setflags(write=False)
        if not len(note) == len(unisons) == len(self.wrap):
            raise BoardError("A scale needs a unison count and a wrap (or an empty word) for every note.")
        keep(self, note=note, unisons=unisons)
        for name in ("wire_mm", "outer_mm", *(() if self.spread_mm is None else ("spread_mm",))):
            keep(self, **{name: floats(getattr(self, name), (len(note),), name)})
