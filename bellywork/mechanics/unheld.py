"""One board on several rims: its own stiffness is made once, and what holds its edge is put on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.mechanics.assembly import Numbering, add_to_band, band_matrix
from bellywork.mechanics.band import BandFactor, factored
from bellywork.mechanics.discrete import Discrete


@dataclass(frozen=True, kw_only=True, eq=False)
class Unheld:
    """The stiffness of a board at rest without its rim, lower band storage. Made by `without_rim`."""

    lower: Floats
    numbering: Numbering

    def held(self, discrete: Discrete) -> BandFactor:
        """The factored stiffness of the same board with its edge held. Raises SolveError where it can move freely."""
        lower = self.lower.copy(order="F")
        add_to_band(lower, self.numbering, discrete.space, (discrete.rim, discrete.held_ends))
        return factored(lower)


def without_rim(discrete: Discrete) -> Unheld:
    """The stiffness of a discretised board without what holds its edge."""
    # the rim stays where it is, without stiffness: it may stand on cells that hold nothing else
    loose = (replace(each, stiffness=np.zeros_like(each.stiffness)) for each in (discrete.rim, discrete.held_ends))
    sets = (*discrete.cut, *discrete.strips, *loose)
    lower, numbering = band_matrix(discrete.space, (discrete.whole, discrete.ghost), sets)
    return Unheld(lower=lower, numbering=numbering)
