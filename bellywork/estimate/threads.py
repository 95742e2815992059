"""Readings gathered by rib and state: one thread or straightedge laid once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Rib
from bellywork.board.state import Climate, Reading, State
from bellywork.estimate.rib_fit import USUAL_UNCERTAINTY_MM
from bellywork.findings import Finding, Level, Place

KINDS = ("thread", "straightedge")
SAME_SPAN_MM = 20.0  # of two threads
LONGER_MM = 10.0  # by which a span may be longer than the rib between the rims


@dataclass(frozen=True, kw_only=True, eq=False)
class RibThread:
    """One rib as it was read in one state on one day.

    rib, kind, state, climate   what was read, how and when
    span_mm                     of thread or straightedge; it lies about the rib's middle
    position_mm, height_mm      of each reading, from the start of the span: height of the panel over the thread, up
    uncertainty_mm              of each, 95 % half width
    points_mm                   of each in plan, then start, middle and end of the span, (readings + 3, 2)
    """

    rib: Rib
    kind: str
    state: State
    climate: Climate
    span_mm: float
    position_mm: Floats
    height_mm: Floats
    uncertainty_mm: Floats
    points_mm: Floats


def rib_threads(body: Body, readings: Sequence[Reading]) -> tuple[tuple[RibThread, ...], tuple[Finding, ...]]:
    """Every thread and straightedge of the readings, in the order of the ribs, and what is wrong with the others.

    Readings belong together that share kind, rib, state, date and humidity; their order changes nothing.
    """
    ribs = {rib.name: rib for rib in body.ribs}
    groups: dict[tuple[str, str, str, str, str], list[Reading]] = {}
    findings: list[Finding] = []
    for reading in readings:
        if reading.kind not in KINDS:
            continue
        if reading.place not in ribs:
            findings.append(
                _finding("reading-rib-unknown", reading, f"a reading of rib {reading.place}", "a rib of ribs.csv",
                         "Write the rib's name as in ribs.csv.")
            )  # fmt: skip
            continue
        climate = reading.climate
        key = (reading.place, reading.kind, reading.state.value, climate.date, str(climate.rh_percent))
        groups.setdefault(key, []).append(reading)
    order = {name: k for k, name in enumerate(ribs)}
    threads = []
    for key in sorted(groups, key=lambda each: (order[each[0]], each[2], each[3], each[1])):
        made = _thread(body, ribs[key[0]], groups[key], findings)
        if made is not None:
            threads.append(made)
    return tuple(threads), tuple(findings)


def _thread(body: Body, rib: Rib, group: list[Reading], findings: list[Finding]) -> RibThread | None:
    first = group[0]
    spans = {reading.span_mm for reading in group}
    if None in spans or any(reading.position_mm is None for reading in group):
        findings.append(
            _finding("reading-without-span", first, f"a {first.kind} at rib {rib.name} without span or position",
                     "span_mm and position_mm of every reading", "Fill them: a rise says nothing without its span.")
        )  # fmt: skip
        return None
    if len(spans) > 1:
        findings.append(
            _finding("reading-two-spans", first, f"two spans at rib {rib.name}", "one span for one thread",
                     "Give the readings of each thread one span, or another date.")
        )  # fmt: skip
        return None
    span = float(first.span_mm or 0.0)
    middle, way, length = between_rims(body, rib)
    if span > length + LONGER_MM:
        findings.append(
            _finding("reading-span-long", first, f"a span of {span:.0f} mm at rib {rib.name}",
                     f"at most the rib's length between the rims, {length:.0f} mm", "Measure the span again.")
        )  # fmt: skip
        return None
    sides = np.array([-0.5, 0.0, 0.5])[:, None] * min(span, length)
    position = np.array([reading.position_mm or 0.0 for reading in group])
    if np.any((position < 0.0) | (position > span)):
        findings.append(
            _finding("reading-outside-span", first, f"a position outside the span at rib {rib.name}",
                     f"0 to {span:.0f} mm", "Measure the position from the start of the span.")
        )  # fmt: skip
        return None
    value = np.array([reading.value for reading in group])
    along = (position / span - 0.5)[:, None] * min(span, length)
    return RibThread(
        rib=rib,
        kind=first.kind,
        state=first.state,
        climate=first.climate,
        span_mm=span,
        position_mm=position,
        height_mm=-value if first.kind == "straightedge" else value,
        uncertainty_mm=np.array([reading.uncertainty or USUAL_UNCERTAINTY_MM for reading in group]),
        points_mm=middle + np.vstack([along, sides]) * way,
    )


def alike(one: RibThread, other: RibThread) -> bool:
    """Whether two threads were of one rib and span."""
    return one.rib.name == other.rib.name and abs(one.span_mm - other.span_mm) < SAME_SPAN_MM


def between_rims(body: Body, rib: Rib) -> tuple[Floats, Floats, float]:
    """Middle, direction and length of the longest piece of a rib between the rims; the whole rib where it has none."""
    pieces = rib.pieces_within(body.outline)
    start, stop = pieces[np.argmax(np.ptp(pieces, axis=1))] if len(pieces) else (0.0, rib.length_mm)
    return rib.points_at((start + stop) / 2.0), rib.direction, float(stop - start)


def _finding(code: str, reading: Reading, found: str, expected: str, remedy: str) -> Finding:
    return Finding(
        code=code, place=Place(file="readings"), found=f"{found} ({reading.state.value})", expected=expected,
        remedy=remedy, level=Level.ADVICE,
    )  # fmt: skip
