"""A string line of one string, for trying a figure out."""

from __future__ import annotations

import numpy as np

from bellywork.board.strings import StringLine


def one_string(
    *,
    speaking: float = 200.0,
    rows: float = 14.0,
    back: float = 80.0,
    front: float = 100.0,
    bridge: tuple[float, float] = (101.4, 101.4),
    rear: float = 100.0,
    note: int = 49,
) -> StringLine:
    """A string line of one note; lengths, and heights of front termination, bridge top and rear rest, in mm."""

    def one(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([value])

    return StringLine(
        note=np.array([note]),
        section=("section",),
        bridge=("bridge",),
        speaking_mm=one(speaking),
        rows_mm=one(rows),
        back_mm=one(back),
        front_height_mm=one(front),
        bridge_front_mm=one(bridge[0]),
        bridge_rear_mm=one(bridge[1]),
        rear_height_mm=one(rear),
        cap_mm=one(np.nan),
        measured=np.array([True]),
    )
