"""How far the bridge top moves along its strings: with the panel's mid-surface under it, and by tipping."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.instrument import Instrument

if TYPE_CHECKING:
    from scipy.sparse import csr_array


def top_along(ready: Instrument) -> csr_array:
    """The bridge top's movement along each string, towards the rear, as a matrix (notes, 5 · nodes): that of the
    mid-surface under it, and its tipping: where it falls towards the rear it goes there by as much of its height.

    Raises MissingLayer where body, plan or string line are lacking.
    """
    from scipy.sparse import diags_array

    plan, discrete = ready.board.needed_plan("Pitch"), ready.belly.board.discrete
    way = plan.rear_mm - plan.front_mm
    way = way / np.linalg.norm(way, axis=1, keepdims=True)
    tipped = discrete.sinking(plan.rear_pin_mm) - discrete.sinking(plan.front_pin_mm)
    levers = diags_array(bridge_height_mm(ready) / ready.board.needed_strings("Pitch").rows_mm)
    return discrete.along(plan.middle_mm, way) + levers @ tipped


def bridge_height_mm(ready: Instrument) -> Floats:
    """Height of the bridge top over the panel's mid-surface at each note, mm."""
    board, discrete = ready.board, ready.belly.board.discrete
    body, middle = board.needed_body("Pitch"), board.needed_plan("Pitch").middle_mm
    height = discrete.thickness(discrete.frame.inside(middle)) / 2.0
    for bridge in body.bridges:
        here = np.flatnonzero([name == bridge.name for name in board.needed_strings("Pitch").bridge])
        if len(here):
            _, root, cap, _ = bridge.sizes_at(bridge.nearest_mm(middle[here]))
            height[here] += root + cap
    return height
