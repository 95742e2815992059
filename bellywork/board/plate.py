"""The iron plate as far as the belly worker moves it: a rigid body on its supports, with struts over the bridge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, floats, keep

LEVER_MM = 1000.0  # tilts are told per metre
EVEN_MM = 1e-6  # a move that goes just to its limit is allowed, whatever its last digit


@dataclass(frozen=True, kw_only=True)
class PlateMove:
    """A small rigid motion of the plate: up_mm above the origin of the plan, up positive, and further for each metre in
    x and in y.
    """

    up_mm: float = 0.0
    tilt_x_mm_per_m: float = 0.0
    tilt_y_mm_per_m: float = 0.0

    @property
    def tilts(self) -> bool:
        """True where it is more than up and down, so that places in plan are needed."""
        return bool(self.tilt_x_mm_per_m or self.tilt_y_mm_per_m)

    def lift_mm(self, places_mm: Floats) -> Floats:
        """How far the plate moves at places (…, 2) in plan, up positive.

        >>> PlateMove(up_mm=1.0, tilt_x_mm_per_m=-2.0).lift_mm(np.array([[500.0, 300.0]])).tolist()
        [0.0]
        """
        return np.asarray(self.up_mm + places_mm / LEVER_MM @ [self.tilt_x_mm_per_m, self.tilt_y_mm_per_m])


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

    @property
    def support_places_mm(self) -> Floats:
        """Where the supports stand, (supports, 2)."""
        return np.array([support.place_mm for support in self.supports]).reshape(-1, 2)

    def beyond(self, move: PlateMove) -> tuple[str, ...]:
        """Names of the supports that do not allow a move."""
        return tuple(
            support.name
            for support, up in zip(self.supports, move.lift_mm(self.support_places_mm).tolist())
            if not support.lowest_move_mm - EVEN_MM <= up <= support.highest_move_mm + EVEN_MM
        )
