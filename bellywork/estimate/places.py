"""Places on the board of which the compliance is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Body
from bellywork.instrument import Instrument

FINE_OVER_COARSE = (0.7, 1.4)  # bounds of the ratio by which coarse cells are put right
SAME_MM = 1e-6
RIB_SHARES = (0.25, 0.5, 0.75)


@dataclass(frozen=True, kw_only=True, eq=False)
class Places:
    """Places on the board told by points of which the compliance is known.

    points_mm   the pins, front then rear, where the board has strings; then places at no note, among them those along
                the ribs at which one may press: what was found of a board then stands when one of them is read
    body        the board that they lie on
    pins_mm     how many of the points are pins
    """

    points_mm: Floats
    pins: int
    body: Body

    @classmethod
    def of(cls, ready: Instrument, places_mm: Floats, points_mm: Floats | None = None) -> Places:
        """The points that tell these places (places, 2), and points (points, 2) that are none of a note."""
        body, plan = ready.board.needed_body("A press trial"), ready.board.plan
        pins = np.zeros((0, 2)) if plan is None else plan.pins_mm
        middle = (pins[: len(pins) // 2] + pins[len(pins) // 2 :]) / 2.0
        other = places_mm[[not _at(middle, place).any() for place in places_mm]].reshape(-1, 2)
        own = np.zeros((0, 2)) if points_mm is None else points_mm
        ribs = np.array([place for _, place in on_ribs(body)] if len(pins) else []).reshape(-1, 2)
        return cls(
            points_mm=np.vstack([pins, np.unique(np.vstack([other, own, ribs]), axis=0)]), pins=len(pins), body=body
        )

    def shares(self, place_mm: Floats) -> Floats:
        """A place as a mean of points, (points,): a note lies midway between its pins."""
        notes, share = self.pins // 2, np.zeros(len(self.points_mm))
        note = np.flatnonzero(_at((self.points_mm[:notes] + self.points_mm[notes : self.pins]) / 2.0, place_mm))
        if len(note):
            share[[note[0], note[0] + notes]] = 0.5
        else:
            share[self.rows(place_mm[None])] = 1.0
        return share

    def rows(self, places_mm: Floats) -> Ints:
        """Where places (places, 2) told by a point of their own stand among the points."""
        return np.array(
            [self.pins + int(np.flatnonzero(_at(self.points_mm[self.pins :], place))[0]) for place in places_mm],
            dtype=np.int64,
        )


def _at(points_mm: Floats, place_mm: Floats) -> Floats:
    return np.asarray(np.hypot(*(points_mm - place_mm).T) <= SAME_MM)


def on_ribs(body: Body) -> list[tuple[str, Floats]]:
    """Places along the longest piece of each rib on the board, away from the bridges."""
    out = []
    for rib in body.ribs:
        pieces = rib.pieces_within(body.outline)
        if not len(pieces):
            continue
        start, stop = pieces[np.argmax(np.ptp(pieces, axis=1))]
        for share in RIB_SHARES:
            point = rib.points_at(start + share * (stop - start)).round()
            out.append((f"rib {rib.name} at {point[0]:.0f}, {point[1]:.0f} mm", point))
    return [
        (name, point) for name, point in out if body.outline.holds(point[None])[0] and not _under_bridge(body, point)
    ]


def _under_bridge(body: Body, point_mm: Floats) -> bool:
    return any(
        np.hypot(*(bridge.curve(np.linspace(0.0, bridge.knots_mm[-1], 200)) - point_mm).T).min() < bridge.width_mm.max()
        for bridge in body.bridges
    )
