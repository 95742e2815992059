"""Which notes a shop works at: the ones it measured, or a few of each section."""

from __future__ import annotations

import numpy as np

from bellywork.board.arrays import Bools
from bellywork.board.strings import StringLine


def reference_notes(line: StringLine) -> Bools:
    """True at the reference notes: those measured; where all were, the first, the middle and the last of each section.

    >>> from bellywork.geometry.one_string import one_string
    >>> reference_notes(one_string()).tolist()
    [True]
    """
    if not np.all(line.measured):
        return line.measured
    reference = np.zeros(len(line.note), dtype=np.bool_)
    for at in line.sections.values():
        reference[[at[0], at[len(at) // 2], at[-1]]] = True
    return reference
