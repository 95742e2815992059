"""Bearing from the string line: how each note's string bends over the bridge."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board._frozen import Floats
from bellywork.board.strings import StringLine


@dataclass(frozen=True, kw_only=True, eq=False)
class Bearing:
    """How the strings bend, one entry per note. Angles in degrees, pressing on the bridge positive.

    front_deg             at the front pins
    rear_deg              at the rear pins
    net_deg               front and rear together
    string_deflection_mm  bridge top, mid between the pin rows, above the straight line from F to R
    degrees_per_mm        net bearing lost for each mm that the bridge sinks
    """

    front_deg: Floats
    rear_deg: Floats
    net_deg: Floats
    string_deflection_mm: Floats
    degrees_per_mm: Floats


def slopes(line: StringLine) -> tuple[Floats, Floats, Floats]:
    """Slopes of the string along its run in plan, (front, over the bridge, rear), rising from F to R positive."""
    front = (line.bridge_front_mm - line.front_height_mm) / line.speaking_mm
    over = (line.bridge_rear_mm - line.bridge_front_mm) / line.rows_mm
    rear = (line.rear_height_mm - line.bridge_rear_mm) / line.back_mm
    return front, over, rear


def bearing(line: StringLine) -> Bearing:
    """Front, rear and net bearing, string deflection and degrees lost per mm, for every note of a string line.

    With the slopes s_f, s_b, s_r of the three stretches: front = atan s_f − atan s_b, rear = atan s_b − atan s_r,
    net = front + rear; degrees per mm = 1/L_f + 1/L_r in radians. Plain geometry; block on the rear rest =
    back length × tan(angle) is its inverse (common practice).

    >>> from bellywork.board import StringLine
    >>> one = StringLine(note=[88], section=("top",), bridge=("long",), speaking_mm=[52], rows_mm=[10], back_mm=[80],
    ...     front_height_mm=[50], bridge_front_mm=[50.5], bridge_rear_mm=[50.5], rear_height_mm=[49.5], cap_mm=[12],
    ...     measured=[True])
    >>> b = bearing(one)
    >>> [round(float(v[0]), 3) for v in (b.front_deg, b.rear_deg, b.net_deg, b.string_deflection_mm, b.degrees_per_mm)]
    [0.551, 0.716, 1.267, 0.701, 1.818]
    """
    front, over, rear = (np.arctan(slope) for slope in slopes(line))
    whole = line.speaking_mm + line.rows_mm + line.back_mm
    middle = line.speaking_mm + line.rows_mm / 2.0
    straight = line.front_height_mm + (line.rear_height_mm - line.front_height_mm) * middle / whole
    return Bearing(
        front_deg=np.degrees(front - over),
        rear_deg=np.degrees(over - rear),
        net_deg=np.degrees(front - rear),
        string_deflection_mm=(line.bridge_front_mm + line.bridge_rear_mm) / 2.0 - straight,
        degrees_per_mm=np.degrees(1.0 / line.speaking_mm + 1.0 / line.back_mm),
    )


def sunk(line: StringLine, front_mm: Floats, rear_mm: Floats) -> StringLine:
    """The line after the bridge top has sunk by so many mm at the front and rear pins; the plate stays."""
    return replace(line, bridge_front_mm=line.bridge_front_mm - front_mm, bridge_rear_mm=line.bridge_rear_mm - rear_mm)


def plate_moved(line: StringLine, front_mm: Floats, rear_mm: Floats) -> StringLine:
    """The line after the plate has risen by so many mm at each front termination and each rear rest."""
    return replace(line, front_height_mm=line.front_height_mm + front_mm, rear_height_mm=line.rear_height_mm + rear_mm)


def heights_for(line: StringLine, net_deg: Floats, front_share: Floats) -> tuple[Floats, Floats]:
    """Bridge heights at the front and rear pins, mm, at which every note has this net bearing and front share.

    Two equations per note, atan s_f − atan s_b = share · net and atan s_b − atan s_r = (1 − share) · net. With the
    angle of the string over the bridge as the one unknown the end points fix the rest, so that one scalar equation
    per note is left; Newton on all notes at once.

    >>> import numpy as np
    >>> from bellywork.board import StringLine
    >>> one = StringLine(note=[40], section=("tenor",), bridge=("long",), speaking_mm=[640], rows_mm=[16],
    ...     back_mm=[100], front_height_mm=[50], bridge_front_mm=[50], bridge_rear_mm=[50], rear_height_mm=[49],
    ...     cap_mm=[12], measured=[True])
    >>> z1, z2 = heights_for(one, np.array([1.0]), np.array([0.5]))
    >>> round(float(z1[0]), 3), round(float(z2[0]), 3)
    (50.749, 50.628)
    """
    front, rear = np.radians(net_deg) * front_share, np.radians(net_deg) * (1.0 - front_share)
    drop = line.rear_height_mm - line.front_height_mm
    over = drop / (line.speaking_mm + line.rows_mm + line.back_mm)
    for _ in range(50):
        rise = (
            line.speaking_mm * np.tan(over + front) + line.rows_mm * np.tan(over) + line.back_mm * np.tan(over - rear)
        )
        rate = (
            line.speaking_mm / np.cos(over + front) ** 2
            + line.rows_mm / np.cos(over) ** 2
            + line.back_mm / np.cos(over - rear) ** 2
        )
        step = (drop - rise) / rate
        over = over + step
        if np.all(np.abs(step) < 1e-15):
            break
    at_front = line.front_height_mm + line.speaking_mm * np.tan(over + front)
    return at_front, at_front + line.rows_mm * np.tan(over)
