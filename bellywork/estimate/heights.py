"""Which notes to read again: where a second reading of the heights narrows the bearing planed for most.

Each of the four heights at a note is read with a scatter s of its own; the slopes 1/L of speaking and back length turn
it into bearing. A second reading of a note halves the variance that its heights bring, there and at the notes that are
interpolated from it; what the board's own unknowns bring stays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.strings import StringLine
from bellywork.estimate.inference import SIGMAS

HEIGHT_MM = 0.1  # 95 % half width of a height read over a level with a rule or a gauge; common practice, no source
MOST_NOTES = 5


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadAgain:
    """Notes whose heights to read a second time, the most telling first.

    note       their numbers
    now_deg    95 % half width of the net bearing at each of them, from its heights and, where known, the board
    then_deg   the same after that reading
    band_deg   root mean square over all notes: now, and after the first, the first two … notes
    """

    note: Ints
    now_deg: Floats
    then_deg: Floats
    band_deg: Floats


def read_again(line: StringLine, *, board_deg: Floats | float = 0.0, most: int = MOST_NOTES) -> ReadAgain:
    """The measured notes whose repeated reading takes most from the bearing's variance, summed over the notes.

    line        with every note, as `completed` has it
    board_deg   95 % half width that the board's own unknowns bring, per note; 0 where it is not known

    A treble string of 130 mm with 70 mm behind:

    >>> from bellywork.geometry.one_string import one_string
    >>> one = one_string(speaking=130.0, rows=14.0, back=70.0, front=100.0, bridge=(101.0, 101.0), rear=100.0)
    >>> again = read_again(one)
    >>> [round(float(each[0]), 3) for each in (again.now_deg, again.then_deg)]
    [0.131, 0.093]
    """
    variance = (height_error_deg(line) / SIGMAS) ** 2
    share = _shares(line)
    brought = share**2 * variance[:, None]  # by each measured note to each note
    own = np.flatnonzero(line.measured)
    chosen = np.argsort(-brought.sum(axis=0), kind="stable")[:most]
    board = np.broadcast_to((np.asarray(board_deg, dtype=float) / SIGMAS) ** 2, variance.shape)
    left = board + brought.sum(axis=1)
    bands = [left]
    for k in chosen:
        bands.append(bands[-1] - brought[:, k] / 2.0)
    at = own[chosen]
    then = left[at] - brought[at, chosen] / 2.0
    return ReadAgain(
        note=line.note[at],
        now_deg=SIGMAS * np.sqrt(left[at]),
        then_deg=SIGMAS * np.sqrt(then),
        band_deg=SIGMAS * np.sqrt([np.mean(each) for each in bands]),
    )


def height_error_deg(line: StringLine) -> Floats:
    """95 % half width of each note's net bearing by its four heights, were they all read."""
    return np.asarray(HEIGHT_MM * np.degrees(1.0) * np.sqrt(2.0 * (line.speaking_mm**-2.0 + line.back_mm**-2.0)))


def _shares(line: StringLine) -> Floats:
    """How much of an error at each measured note each note takes over, (notes, measured notes)."""
    own = np.flatnonzero(line.measured)
    out = np.zeros((len(line.note), len(own)))
    for here in line.bridges.values():
        at = [k for k, place in enumerate(own) if place in here]
        for k in at:
            hat = np.zeros(len(at))
            hat[at.index(k)] = 1.0
            out[here, k] = np.interp(line.note[here], line.note[own[at]], hat)
    return out
