"""The iron plate as far as the belly worker moves it: a rigid body on its supports, with struts over the bridge."""

from __future__ import annotations

from dataclasses import dataclass

from bellywork.board.arrays import Floats, floats, keep


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateSupport:
    """A dowel, boss or block that the plate stands on: place in plan, and how far it may still move, up positive."""

    name: str
    place_mm: Floats
    height_mm: float
    lowest_move_mm: float
    highest_move_mm: float

    def __post_init__(self) -> None:
        keep(self, place_mm=floats(self.place_mm, (2,), "place_mm"))


@dataclass(frozen=True, kw_only=True, eq=False)
class Strut:
    """A strut over the bridge: centre line and width in plan, height of its underside, and the clearance to keep."""

    name: str
    start_mm: Floats
    end_mm: Floats
    width_mm: float
    underside_mm: float
    clearance_mm: float

    def __post_init__(self) -> None:
        keep(self, start_mm=floats(self.start_mm, (2,), "start_mm"), end_mm=floats(self.end_mm, (2,), "end_mm"))


@dataclass(frozen=True, kw_only=True, eq=False)
class Plate:
    """Supports and struts. The terminations' heights stand in the string line, their places in the string plan."""

    supports: tuple[PlateSupport, ...] = ()
    struts: tuple[Strut, ...] = ()
