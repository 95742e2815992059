"""The string line: how the strings turn over the bridge, and what they press on its two pin rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board._frozen import Bools, Floats
from bellywork.board.strings import StringLine


@dataclass(frozen=True, kw_only=True, eq=False)
class Bends:
    """Slope angles of the three runs of each string, in radians, positive where the string rises towards the rear.

    speaking_rad   F to B1
    bridge_rad     B1 to B2, the slope of the bridge top
    back_rad       B2 to R
    """

    speaking_rad: Floats
    bridge_rad: Floats
    back_rad: Floats

    @property
    def front_deg(self) -> Floats:
        """Front bearing in degrees: how far the string turns down at the front pin row."""
        return np.degrees(self.speaking_rad - self.bridge_rad)

    @property
    def rear_deg(self) -> Floats:
        """Rear bearing in degrees: how far the string turns down at the rear pin row."""
        return np.degrees(self.bridge_rad - self.back_rad)

    @property
    def net_deg(self) -> Floats:
        """Net bearing in degrees, front and rear together."""
        return np.degrees(self.speaking_rad - self.back_rad)

    @property
    def lifted(self) -> Bools:
        """True where the net is zero or negative: the string does not press on the bridge."""
        return self.speaking_rad <= self.back_rad

    @property
    def tilted(self) -> Bools:
        """True where front or rear is negative while the net is positive: the bridge top is tilted."""
        one_side = (self.speaking_rad < self.bridge_rad) | (self.bridge_rad < self.back_rad)
        return one_side & ~self.lifted


def bends(line: StringLine) -> Bends:
    """The strings' slope angles: atan((z_B1 − z_F)/L_f), atan((z_B2 − z_B1)/L_b), atan((z_R − z_B2)/L_r).

    Front bearing is the first less the second, rear bearing the second less the third.

    A treble string of 200 mm, 14 mm between the pin rows and 80 mm behind, its bridge top 1.4 mm above both ends:

    >>> from bellywork.geometry.one_string import one_string
    >>> line = one_string(speaking=200.0, rows=14.0, back=80.0, front=100.0, bridge=(101.4, 101.4), rear=100.0)
    >>> turned = bends(line)
    >>> print(f"{turned.front_deg[0]:.3f} + {turned.rear_deg[0]:.3f} = {turned.net_deg[0]:.3f}")
    0.401 + 1.003 = 1.404
    """
    return Bends(
        speaking_rad=np.arctan((line.bridge_front_mm - line.front_height_mm) / line.speaking_mm),
        bridge_rad=np.arctan((line.bridge_rear_mm - line.bridge_front_mm) / line.rows_mm),
        back_rad=np.arctan((line.rear_height_mm - line.bridge_rear_mm) / line.back_mm),
    )


def string_deflection_mm(line: StringLine) -> Floats:
    """Height of the bridge top, midway between the pin rows, above the straight line from F to R, in mm."""
    middle = line.speaking_mm + line.rows_mm / 2.0
    share = middle / (line.speaking_mm + line.rows_mm + line.back_mm)
    straight = line.front_height_mm + share * (line.rear_height_mm - line.front_height_mm)
    return (line.bridge_front_mm + line.bridge_rear_mm) / 2.0 - straight


def degrees_per_mm(line: StringLine) -> Floats:
    """Net bearing lost, in degrees, for each mm that the bridge sinks: (1/L_f + 1/L_r) rad.

    Common practice knows 2.6° for 50/40 mm and 0.32° for 1830/200 mm (no source):

    >>> from bellywork.geometry.one_string import one_string
    >>> print(round(float(degrees_per_mm(one_string(speaking=50.0, back=40.0))[0]), 2))
    2.58
    """
    return np.degrees(1.0 / line.speaking_mm + 1.0 / line.back_mm)


def pin_forces_N(line: StringLine, pull_N: Floats) -> tuple[Floats, Floats]:
    """What each note's strings press on the front and on the rear pin row, in N, down positive.

    pull_N   tension of all the strings of each note together, in N

    Front: pull · (sin φ_f − sin φ_b), rear: pull · (sin φ_b − sin φ_r), from the balance of a string that runs freely
    over its pins; their sum is the downforce. A string whose net bearing is zero or negative presses nowhere. One
    negative side alone is held by the slant of the pins.
    """
    turned = bends(line)
    sines = np.sin(turned.speaking_rad), np.sin(turned.bridge_rad), np.sin(turned.back_rad)
    pull = np.where(turned.lifted, 0.0, pull_N)
    return pull * (sines[0] - sines[1]), pull * (sines[1] - sines[2])


def downforce_N(line: StringLine, pull_N: Floats) -> Floats:
    """What each note's strings press on the bridge in all, in N: pull · (sin φ_f − sin φ_r), never below 0."""
    front, rear = pin_forces_N(line, pull_N)
    return front + rear
