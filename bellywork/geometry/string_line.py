"""The string line: how each note's strings turn over the bridge, and what they press on its two pin rows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.strings import StringLine


@dataclass(frozen=True, kw_only=True, eq=False)
class Bearing:
    """How the strings turn over the bridge, one entry per note.

    speaking_rad, bridge_rad, back_rad
                          slope angles F to B1, B1 to B2, B2 to R, in radians, rising towards the rear positive
    string_deflection_mm  bridge top, midway between the pin rows, above the straight line from F to R
    degrees_per_mm        net bearing lost for each mm that the bridge sinks
    """

    speaking_rad: Floats
    bridge_rad: Floats
    back_rad: Floats
    string_deflection_mm: Floats
    degrees_per_mm: Floats

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
        """True where the net is zero or negative: the strings do not press on the bridge."""
        return self.speaking_rad <= self.back_rad

    @property
    def tilted(self) -> Bools:
        """True where front or rear is negative while the net is positive: the bridge top is tilted."""
        one_side = (self.speaking_rad < self.bridge_rad) | (self.bridge_rad < self.back_rad)
        return one_side & ~self.lifted


def bearing(line: StringLine) -> Bearing:
    """Bearing, string deflection and degrees lost per mm, for every note of a string line.

    With s_f = (z_B1 − z_F)/L_f, s_b = (z_B2 − z_B1)/L_b, s_r = (z_R − z_B2)/L_r: front = atan s_f − atan s_b,
    rear = atan s_b − atan s_r, net = front + rear; degrees per mm = 1/L_f + 1/L_r in radians. Plain geometry.

    A treble string of 200 mm, 14 mm between the pin rows and 80 mm behind, its bridge top 1.4 mm above both ends:

    >>> from bellywork.geometry.one_string import one_string
    >>> b = bearing(one_string(speaking=200.0, rows=14.0, back=80.0, front=100.0, bridge=(101.4, 101.4), rear=100.0))
    >>> [round(float(v[0]), 3) for v in (b.front_deg, b.rear_deg, b.net_deg, b.string_deflection_mm, b.degrees_per_mm)]
    [0.401, 1.003, 1.404, 1.4, 1.003]
    """
    straight_slope = (line.rear_height_mm - line.front_height_mm) / run_mm(line)
    straight = line.front_height_mm + straight_slope * (line.speaking_mm + line.rows_mm / 2.0)
    return Bearing(
        speaking_rad=np.arctan((line.bridge_front_mm - line.front_height_mm) / line.speaking_mm),
        bridge_rad=np.arctan((line.bridge_rear_mm - line.bridge_front_mm) / line.rows_mm),
        back_rad=np.arctan((line.rear_height_mm - line.bridge_rear_mm) / line.back_mm),
        string_deflection_mm=(line.bridge_front_mm + line.bridge_rear_mm) / 2.0 - straight,
        degrees_per_mm=np.degrees(1.0 / line.speaking_mm + 1.0 / line.back_mm),
    )


def slant_mm(line: StringLine) -> Floats:
    """Lengths of the strings' three runs on their slant, in mm, (3, notes): F to B1, B1 to B2, B2 to R."""
    runs = np.stack([line.speaking_mm, line.rows_mm, line.back_mm])
    tops = line.front_height_mm, line.bridge_front_mm, line.bridge_rear_mm, line.rear_height_mm
    return np.asarray(np.hypot(runs, np.diff(np.stack(tops), axis=0)))


def run_mm(line: StringLine) -> Floats:
    """Length in plan from F to R, in mm."""
    return line.speaking_mm + line.rows_mm + line.back_mm


def topped(line: StringLine, front_mm: Floats, rear_mm: Floats) -> StringLine:
    """The line with its bridge top at these heights, in mm, at the front and rear pins."""
    return replace(line, bridge_front_mm=front_mm, bridge_rear_mm=rear_mm)


def sunk(line: StringLine, front_mm: Floats, rear_mm: Floats) -> StringLine:
    """The line after the bridge top has sunk by so many mm at the front and rear pins; the plate stays."""
    return topped(line, line.bridge_front_mm - front_mm, line.bridge_rear_mm - rear_mm)


def plate_moved(line: StringLine, front_mm: Floats, rear_mm: Floats) -> StringLine:
    """The line after the plate has risen by so many mm at each front termination and each rear rest."""
    return replace(line, front_height_mm=line.front_height_mm + front_mm, rear_height_mm=line.rear_height_mm + rear_mm)


def heights_for(line: StringLine, net_deg: Floats, front_share: Floats) -> tuple[Floats, Floats]:
    """Bridge heights at the front and rear pins, in mm, at which every note has this net bearing and front share.

    With the slope angle φ of the string over the bridge as the one unknown, both bearings give the other two angles,
    and F and R fix φ: L_f tan(φ + front) + L_b tan φ + L_r tan(φ − rear) = z_R − z_F. Newton on all notes at once;
    the left side rises with φ, so there is one answer.

    >>> import numpy as np
    >>> from bellywork.geometry.one_string import one_string
    >>> line = one_string(speaking=640.0, rows=16.0, back=100.0, front=50.0, rear=49.0)
    >>> z1, z2 = heights_for(line, np.array([1.0]), np.array([0.5]))
    >>> round(float(z1[0]), 3), round(float(z2[0]), 3)
    (50.749, 50.628)
    """
    front = np.radians(net_deg) * front_share
    return heights_turned(line, front, np.radians(net_deg) - front)


def heights_turned(line: StringLine, front_rad: Floats, rear_rad: Floats) -> tuple[Floats, Floats]:
    """Bridge heights at the front and rear pins, in mm, at which every note has these bearings in front and behind, in
    radians; as `heights_for`.
    """
    fall = line.rear_height_mm - line.front_height_mm
    runs = line.speaking_mm, line.rows_mm, line.back_mm
    over = fall / run_mm(line)
    for _ in range(20):
        tangents = np.tan(over + front_rad), np.tan(over), np.tan(over - rear_rad)
        rise = sum(run * tangent for run, tangent in zip(runs, tangents))
        rate = sum(run * (1.0 + tangent**2) for run, tangent in zip(runs, tangents))
        step = (fall - rise) / rate
        over = over + step
        if np.all(np.abs(step) < 1e-14):
            break
    at_front = line.front_height_mm + line.speaking_mm * np.tan(over + front_rad)
    return at_front, at_front + line.rows_mm * np.tan(over)


def pin_forces_N(line: StringLine, pull_N: Floats) -> tuple[Floats, Floats]:
    """What each note's strings press on the front and on the rear pin row, in N, down positive.

    pull_N   tension of all the strings of each note together, in N: (notes,), or of each of their runs (3, notes)

    Front: pull · (sin φ_f − sin φ_b), rear: pull · (sin φ_b − sin φ_r), from the balance of a string that runs freely
    over its pins; their sum is the downforce. Strings whose net bearing is zero or negative press nowhere. One
    negative side alone is held by the slant of the pins.
    """
    turned = bearing(line)
    slopes = np.stack([turned.speaking_rad, turned.bridge_rad, turned.back_rad])
    upward = np.where(turned.lifted, 0.0, pull_N) * np.sin(slopes)
    return upward[0] - upward[1], upward[1] - upward[2]


def run_stiffness_N_mm(line: StringLine, pull_N: Floats) -> Floats:
    """How much harder each run of the strings pulls down for each mm that its one end rises: pull · cos³φ / L, N/mm;
    pull as in `pin_forces_N`.

    Shape (3, notes): F to B1, B1 to B2, B2 to R. With rises z1 and z2 of the pins the forces of `pin_forces_N` grow by
    c_f z1 + c_b (z1 − z2) in front and c_b (z2 − z1) + c_r z2 behind. Zero where the strings are lifted.
    """
    turned = bearing(line)
    slopes = np.stack([turned.speaking_rad, turned.bridge_rad, turned.back_rad])
    runs = np.stack([line.speaking_mm, line.rows_mm, line.back_mm])
    return np.asarray(np.where(turned.lifted, 0.0, pull_N) * np.cos(slopes) ** 3 / runs)


def downforce_N(line: StringLine, pull_N: Floats) -> Floats:
    """What each note's strings press on the bridge in all, in N: pull · (sin φ_f − sin φ_r), never below 0; pull as in
    `pin_forces_N`.

    700 N turned by 1.404°, as in `bearing`:

    >>> from bellywork.geometry.one_string import one_string
    >>> print(round(float(downforce_N(one_string(), np.array([700.0]))[0]), 2))
    17.15
    """
    front, rear = pin_forces_N(line, pull_N)
    return front + rear
