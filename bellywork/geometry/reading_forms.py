"""What a shop reads at a note, each way of reading led to the same string line: heights at F, B1, B2 and R.

A level gives all four heights. A thread from F to R, a block under it, an angle gauge and a dial give the bridge over
the straight line F to R only: there F and R are taken at 0, and the bridge top over them. The string line holds the
underside of the string, where it lies on bridge and rear rest; it runs parallel to the wire's axis.
"""

from __future__ import annotations

import numpy as np

from bellywork.geometry.one_string import one_string
from bellywork.geometry.string_line import heights_turned
from bellywork.geometry.thread import net_of_block_deg

Runs = tuple[float, float, float]  # speaking, rows, back, mm
Tops = tuple[float, float]  # bridge top at the front and the rear pins over the straight line F to R, mm

# What a careful reading is good for, mm or degrees either way. Common practice, no source
STEPS = {"level": 0.1, "gap": 0.1, "block": 0.25, "gauge": 0.1, "dial": 0.01}


def tops_of_block(block_mm: float, runs: Runs) -> Tops:
    """A thread from F to a block on the rear rest that just touches the bridge: the bridge is taken as flush with it.

    It tells the net only; half of it is taken to be in front. By hand, all level: net = atan(block / back), nearly.

    >>> [round(top, 3) for top in tops_of_block(1.75, (640.0, 16.0, 100.0))]
    [1.6, 1.5]
    """
    line = one_string(speaking=runs[0], rows=runs[1], back=runs[2], front=0.0, rear=0.0)
    net = float(net_of_block_deg(line, np.array([block_mm]))[0])
    return tops_of_angles(net / 2.0, net / 2.0, runs)


def tops_of_angles(front_deg: float, rear_deg: float, runs: Runs) -> Tops:
    """An angle gauge on the string before and behind the bridge: front and rear bearing in degrees.

    >>> [round(top, 3) for top in tops_of_angles(0.5, 0.5, (640.0, 16.0, 100.0))]
    [1.596, 1.496]
    """
    line = one_string(speaking=runs[0], rows=runs[1], back=runs[2], front=0.0, rear=0.0)
    front, rear = heights_turned(line, np.radians([front_deg]), np.radians([rear_deg]))
    return float(front[0]), float(rear[0])


def tops_of_dial(dial_mm: float, span_mm: float, runs: Runs) -> Tops:
    """A dial in the middle of a chord, its feet on the string before and behind the bridge, its plunger on the bridge.

    Feet at half the span from the middle lie (span − rows)/2 beyond the pins and drop by that times the sine of the
    bearing on their side: dial = (span − rows)/2 · sin(net/2), half of the net on each side. Common practice gives the
    same as 2·asin(d/(1 − b/2)) for feet 1 in either side.

    >>> [round(top, 3) for top in tops_of_dial(0.152, 50.8, (640.0, 15.0, 100.0))]
    [1.548, 1.457]
    """
    half = float(np.degrees(np.arcsin(2.0 * dial_mm / (span_mm - runs[1]))))
    return tops_of_angles(half, half, runs)


def net_step_deg(form: str, runs: Runs, span_mm: float = float("nan")) -> float:
    """How far a net bearing may be off by one step of the reading, in degrees either way; errors added as squares.

    net = (z_B1 − z_F)/L_f − (z_R − z_B2)/L_r. A level reads all four heights, a gap both tops, a block one thickness at
    R (seen from F over the whole run), a gauge two angles, and a dial d = (span − rows)/2 · net/2.

    >>> [round(net_step_deg(form, (100.0, 12.0, 60.0), 50.8), 3) for form in STEPS]
    [0.157, 0.111, 0.239, 0.141, 0.059]
    """
    speaking, rows, back = runs
    step, each = STEPS[form], np.degrees(np.hypot(1.0 / speaking, 1.0 / back))
    if form == "level":
        return float(step * each * np.sqrt(2.0))
    if form == "gap":
        return float(step * each)
    if form == "block":
        return float(np.degrees(step / back))
    if form == "gauge":
        return float(step * np.sqrt(2.0))
    return float(np.degrees(4.0 * step / (span_mm - rows)))
