"""The compliance along a bridge: how uneven it is, and where it jumps."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine

INWARDS = 5  # notes from the end of a bridge to the one that the end note is held against


@dataclass(frozen=True, kw_only=True)
class Jump:
    """Where the compliance along a bridge jumps: between two notes at a break, or at an end of the bridge.

    notes     the notes on either side, or the end note and the one a few notes further in
    percent   compliance of the second note over that of the first, less one, in %
    """

    bridge: str
    where: str
    notes: tuple[int, int]
    percent: float


def unevenness(line: StringLine, along: Floats) -> dict[str, float]:
    """Of each bridge the standard deviation of the logarithm of the compliance (notes,) along it; 0: even."""
    return {name: float(np.std(np.log(along[here]))) for name, here in line.bridges.items()}


def jumps(line: StringLine, along: Floats) -> tuple[Jump, ...]:
    """Jumps of the compliance (notes,) at breaks between sections of one bridge, and towards both of its ends."""
    out = []
    for bridge, places in line.bridges.items():
        here = places.tolist()
        pairs = [(a, b, f"{line.section[a]} to {line.section[b]}") for a, b in pairwise(here)
                 if line.section[a] != line.section[b]]  # fmt: skip
        if len(here) > INWARDS:
            pairs = [(here[INWARDS], here[0], "low end"), *pairs, (here[-1 - INWARDS], here[-1], "high end")]
        out += [
            Jump(
                bridge=bridge,
                where=where,
                notes=(int(line.note[a]), int(line.note[b])),
                percent=float(100.0 * (along[b] / along[a] - 1.0)),
            )
            for a, b, where in pairs
        ]
    return tuple(out)


def longest_bridge(line: StringLine) -> str:
    """The bridge that carries most notes."""
    return max(dict.fromkeys(line.bridge), key=line.bridge.count)
