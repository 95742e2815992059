"""What to read next, or again: what was misread first, then what narrows the set under the notes most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.rib_fit import USUAL_UNCERTAINTY_MM
from bellywork.survey.loss import Survey, at_places

MOST = 3  # that are told


@dataclass(frozen=True, kw_only=True)
class Again:
    """One reading that would tell more.

    rib, at_mm     where: the rib, and how far from the start of its thread; of one that nobody read, from the rim
    state          in which state it was misread; "": in any
    why            "misread", "not read" or "narrows"
    note           the note under which it narrows the set most
    now_mm, then_mm   95 % half width of the set there, and with this reading; the same where it was misread
    """

    rib: str
    at_mm: float
    state: str
    why: str
    note: int
    now_mm: float
    then_mm: float


def again(survey: Survey) -> tuple[Again, ...]:
    """The readings to make next: all that were misread, then, up to `MOST`, the most telling first."""
    field, places = survey.field, at_places(survey.field, survey.board.needed_plan("A survey").middle_mm)
    _, sure, _ = field.told(*places)
    out = []
    for rib in survey.ribs:
        for k in rib.read.outliers.tolist():
            near = [np.flatnonzero(survey.note == note)[0] for note in rib.notes] or [int(np.argmax(sure))]
            note = max(near, key=lambda each: sure[each])
            wide = SIGMAS * float(sure[note])
            out.append(
                Again(rib=rib.rib, at_mm=float(rib.read.position_mm[k]), state=rib.state.value, why="misread",
                      note=int(survey.note[note]), now_mm=wide, then_mm=wide)
            )  # fmt: skip
    asked = _asked(survey)
    scatter = USUAL_UNCERTAINTY_MM * field.looser / SIGMAS
    gain = field.narrowed(*places, asked[:2], scatter_mm=scatter)
    taken = {(each.rib, round(each.at_mm)) for each in out}
    for k in np.argsort(-gain.sum(axis=0), kind="stable").tolist():
        if len(out) >= MOST:
            break
        line = field.ribs[asked[0][k]]
        read = bool(np.any(field.lacking.rib == asked[0][k]))
        at_mm = float(asked[2][k]) if read else line.length_mm / 2.0
        if (line.name, round(at_mm)) in taken:
            continue
        taken.add((line.name, round(at_mm)))
        note = int(np.argmax(gain[:, k]))
        then = np.sqrt(max(float(sure[note] ** 2 - gain[note, k]), 0.0))
        out.append(
            Again(rib=line.name, at_mm=at_mm, state="", why="narrows" if read else "not read",
                  note=int(survey.note[note]), now_mm=SIGMAS * float(sure[note]), then_mm=SIGMAS * float(then))
        )  # fmt: skip
    return tuple(out)


def _asked(survey: Survey) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where one might read: the places of the threads but their ends, and the middle of each rib that nobody read.

    Which rib, ξ, and position along the thread.
    """
    lacking = survey.field.lacking
    position = np.concatenate([thread.position_mm for thread in survey.threads])
    between = (lacking.share > 0.1) & (lacking.share < 0.9)
    unread = np.setdiff1d(np.arange(len(survey.field.ribs)), lacking.rib)
    none = np.zeros(len(unread))
    return (
        np.concatenate([lacking.rib[between], unread]),
        np.concatenate([lacking.at[between], none]),
        np.concatenate([position[between], none]),
    )
