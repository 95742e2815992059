"""Whether a sink is small enough for the answers that grow in proportion to the force."""

from __future__ import annotations

from bellywork.board.body import Body
from bellywork.findings import Finding, Level, Place

# A clamped plate under uniform load with edges that cannot draw in pushes back 9.6 % more than in proportion at half
# its thickness, 24 % at three quarters (converged Ritz values for the case of S. Way, Trans. ASME 56, 1934)
LINEAR_SHARE = 0.5


def beyond_linear(body: Body, sink_mm: float) -> tuple[Finding, ...]:
    """A finding where the greatest sink, mm either way, is beyond what a sum in proportion to the force covers."""
    limit = LINEAR_SHARE * float(body.panel.thickness_points_mm[:, 2].mean())
    if abs(sink_mm) <= limit:
        return ()
    return (
        Finding(
            code="beyond-linear",
            place=Place(),
            found=f"a sink of {sink_mm:.1f} mm",
            expected=f"at most half of the panel's thickness, {limit:.1f} mm, where sink grows in proportion to force",
            remedy="Do not trust these numbers: check the force, the sizes and the wood's stiffness with their units.",
            level=Level.ADVICE,
        ),
    )
