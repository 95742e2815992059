"""One place of a board read under a load and bare, of whatever kind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import Day

NONE = np.zeros(0)
# One standard deviation of what another air adds to a sink, as a share of that: how far it lifts the bridge is left as
# on the board described, and softer ribs are lifted further (tests/estimate/test_spring_back.py)
AIRED_SHARE = 0.1


class PairKind(Enum):
    """What was read: a rib by thread or straightedge, the bridge's height, its sink as one number, the net bearing, or
    the plate's height.
    """

    RIB = "rib"
    HEIGHT = "bridge height"
    SINK = "measured sink"
    BEARING = "gauged bearing"
    PLATE = "plate height"


@dataclass(frozen=True, kw_only=True, eq=False)
class Pair:
    """One place read under a load and bare.

    kind                    what was read
    name                    of the place
    read_mm, scatter_mm     how far it rose when the load was taken off, and one standard deviation of that; a bearing:
                            what it gained, as the rise of the bridge that gains as much; the plate: how far it fell
    damp_mm                 what the humidities of the two days are reckoned to have added to that
    day                     state and humidity under the load, and what the wood is reckoned to settle in between
    threads                 of a rib: bare and loaded, by their places among the threads
    gain                    of a rib: change of read_mm for 1 mm more of each reading of the bare thread, of the loaded
    note                    place in the string line of the note at which it was read
    plate                   mm that read_mm gains for each mm by which the plate stands higher under the strings
    zero                    mm that it gains for each degree by which the angle gauge tells too much
    """

    kind: PairKind
    name: str
    read_mm: float
    scatter_mm: float
    damp_mm: float
    day: Day
    threads: tuple[int, int] | None = None
    gain: tuple[Floats, Floats] = (NONE, NONE)
    note: int = 0
    plate: float = 0.0
    zero: float = 0.0


def counted_in(pairs: Iterable[tuple[object, object]], reading: object) -> int:
    """In how many pairs a reading stands: its error counts in each as often."""
    return sum(reading is each for pair in pairs for each in pair)


def at_home(day: Day) -> Day:
    """The same day in the air of the description."""
    return (day[0], None, day[2])


def scatter_mm(wide_mm: float, aired_mm: float) -> float:
    """One standard deviation of a reading of this 95 % half width, under a load to which another air added so much."""
    return float(np.hypot(wide_mm / SIGMAS, AIRED_SHARE * aired_mm))
