"""Whether a computed sink is one that a board can have."""

from __future__ import annotations

from bellywork.board.body import Body
from bellywork.findings import Finding, Level, Place


def sunk_too_far(body: Body, sink_mm: float) -> tuple[Finding, ...]:
    """A finding where the greatest sink, mm either way, is more than the panel is thick.

    Common practice, no source: boards sink by a few mm; wood and glue give way before they sink by a thickness.
    """
    limit = float(body.panel.thickness_points_mm[:, 2].mean())
    if abs(sink_mm) <= limit:
        return ()
    return (
        Finding(
            code="sunk-too-far",
            place=Place(),
            found=f"a sink of {sink_mm:.1f} mm",
            expected=f"at most the thickness of the panel, {limit:.1f} mm",
            remedy="No board takes this: check the force, the sizes and the wood's stiffness with their units.",
            level=Level.ADVICE,
        ),
    )
