"""From a rule to ribs, and from a scheme to a board."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, Outline, Rib
from bellywork.board.scheme import RibRule, Scheme
from bellywork.errors import BoardError

FEATHER_MOST = 0.4  # of a rib's length, at each end


def ribs_by_rule(rule: RibRule, outline: Outline) -> tuple[Rib, ...]:
    """The ribs that a rule lays over an outline, rim to rim, numbered from the treble.

    Where a rib's line crosses the outline more than twice, the longest stretch inside is taken. Raises BoardError where
    the margins leave no room, or a rib would lie outside.

    >>> from bellywork.board.woods import wood
    >>> rule = RibRule(count=3, angle_deg=0, treble_margin_mm=100, bass_margin_mm=100, spacing_ratio=1.0,
    ...                treble_width_mm=20, bass_width_mm=30, treble_height_mm=24, bass_height_mm=24, end_height_mm=6,
    ...                feather_mm=100, treble_radius_mm=15000, bass_radius_mm=15000, wood=wood("sitka_spruce"))
    >>> from bellywork.board import Outline
    >>> from bellywork.board.rims import rim_support
    >>> corners = [[0, 0], [1000, 0], [1000, 800], [0, 800]]
    >>> square = Outline(points_mm=corners, support=(rim_support("glued"),) * 4)
    >>> [(rib.name, rib.start_mm.tolist(), rib.width_mm) for rib in ribs_by_rule(rule, square)]
    [('1', [0.0, 100.0], 20.0), ('2', [0.0, 400.0], 25.0), ('3', [0.0, 700.0], 30.0)]
    """
    angle = np.radians(rule.angle_deg)
    along = np.array([np.cos(angle), np.sin(angle)])
    along = -along if along[0] < -1e-9 else along  # ribs start on the bass side of their own line
    across = np.array([-along[1], along[0]])  # from the treble corner to the tail and the bass
    reach = outline.points_mm @ across
    low, high = float(reach.min()) + rule.treble_margin_mm, float(reach.max()) - rule.bass_margin_mm
    if high < low or (high == low and rule.count > 1):
        raise BoardError(
            f"The margins of {rule.treble_margin_mm:g} and {rule.bass_margin_mm:g} mm leave no room for ribs on a "
            f"board of {np.ptp(reach):.0f} mm across them."
        )
    gaps = rule.spacing_ratio ** np.arange(rule.count - 1)
    share = np.append(0.0, np.cumsum(gaps)) / max(float(gaps.sum()), 1e-300)
    ribs = []
    for k, part in enumerate(share.tolist()):
        start, end = _inside(outline, across * (low + part * (high - low)), along)
        length = float(np.hypot(*(end - start)))
        feather = min(rule.feather_mm, FEATHER_MOST * length)
        height = _between(rule.treble_height_mm, rule.bass_height_mm, part)
        ribs.append(
            Rib(
                name=str(k + 1),
                wood=rule.wood,
                start_mm=start,
                end_mm=end,
                width_mm=_between(rule.treble_width_mm, rule.bass_width_mm, part),
                height_mm=height,
                end_height_mm=(min(rule.end_height_mm, height),) * 2,
                feather_mm=(feather, feather),
                crown_radius_mm=_between(rule.treble_radius_mm, rule.bass_radius_mm, part),
            )
        )
    return tuple(ribs)


def body_with(body: Body, scheme: Scheme) -> Body:
    """The body with the ribs of a scheme, its panel thinned or thickened and its bridges' roots lowered or raised."""
    panel = body.panel
    if scheme.panel_factor != 1.0:
        thicker = panel.thickness_points_mm * np.array([1.0, 1.0, scheme.panel_factor])
        panel = replace(panel, thickness_points_mm=thicker)
    if scheme.ribs is not None:
        ribs = scheme.ribs
    else:
        assert scheme.rule is not None
        ribs = ribs_by_rule(scheme.rule, body.outline)
    bridges = tuple(replace(bridge, root_mm=bridge.root_mm * scheme.bridge_factor) for bridge in body.bridges)
    return replace(body, panel=panel, ribs=ribs, bridges=bridges)


def _between(treble: float, bass: float, part: float) -> float:
    return treble if treble == bass else treble + (bass - treble) * part


def _inside(outline: Outline, through: Floats, along: Floats) -> tuple[Floats, Floats]:
    """Ends of the longest stretch of a line inside the outline, in the line's direction."""
    far = float(np.ptp(outline.points_mm, axis=0).sum() + np.abs(outline.points_mm).sum())
    pieces = outline.pieces(through - far * along, through + far * along)
    if not len(pieces):
        raise BoardError("A rib of the rule lies outside the outline; make the margins wider.")
    first, last = pieces[int(np.argmax(np.ptp(pieces, axis=1)))] - far
    return np.round(through + first * along, 6), np.round(through + last * along, 6)
