"""What the answers about notes have in common: which notes are shown, section by section, and words for them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from bellywork.answers.answer_table import AnswerTable, table_of
from bellywork.answers.sureness import Sureness
from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.rim_range import RimRange
from bellywork.balance.sink import SinkSource
from bellywork.board.arrays import Bools, Floats
from bellywork.board.state import State
from bellywork.conventions import note_name
from bellywork.measures import Units, are, counted
from bellywork.quantities import said

INTERPOLATED = "* interpolated between reference notes"


def note_words(note: int) -> str:
    """A note in a sentence.

    >>> note_words(40)
    'note 40 (C4)'
    """
    return f"note {note} ({note_name(note)})"


def state_words(state: State) -> str:
    """A state in a headline."""
    return f"{state.value} board"


def by_section(table: BearingTable, units: Units) -> dict[str, Sequence[int]]:
    """The places of the notes of each section, under a title with the section's downforce."""
    groups: dict[str, Sequence[int]] = {}
    for section in dict.fromkeys(table.section):
        places = [k for k, name in enumerate(table.section) if name == section]
        force = table.section_downforce_N.get(section, float("nan"))
        pressed = f", downforce {said('total.downforce_N', force, units)}" if np.isfinite(force) else ""
        groups[f"{section}: {counted(len(places), 'note')}{pressed}"] = places
    return groups


def notes_table(
    table: BearingTable, quantities: Sequence[str], *more: Any, spread: RimRange | None, prefix: str = ""
) -> AnswerTable:
    """The notes of an answer.

    more      results and mappings that have what the bearing table has not, looked into first; their `bands` are told
    spread    the net bearing for each rim of the range, told under keys with this prefix
    """
    rims = {} if spread is None else {f"{prefix}net_{rim}_deg": net for rim, net in spread.net_deg.items()}
    bands = {name: band for each in (*more, table) for name, band in getattr(each, "bands", {}).items()}
    told = {name: band for name, band in bands.items() if name in quantities}
    return table_of("notes", (*quantities, *rims), rims, *more, table, table.line, bands=told)


def starred(table: AnswerTable) -> AnswerTable:
    """The same table for a screen or page: a star behind the names of notes that were interpolated."""
    named = zip(table["name"].values, table["measured"].values)
    return table.with_values("name", [name + ("" if measured else "*") for name, measured in named])


def totals(table: BearingTable, sureness: Sureness | None = None) -> dict[str, Any]:
    """Forces of the whole board, with the ends of their band where there is one."""
    forces = {"downforce_N": table.total_downforce_N, "downforce_by_section_N": dict(table.section_downforce_N)}
    return forces if sureness is None else {**forces, **sureness.total}


def off_target(name: str, net_deg: Floats, wanted_deg: Floats, notes: Sequence[int], tolerance_deg: float) -> str:
    """How many notes are within the tolerance of their target, and which is farthest from it."""
    off = net_deg - wanted_deg
    near = int(np.count_nonzero(np.abs(off) <= tolerance_deg))
    worst = int(np.argmax(np.abs(off)))
    return (
        f"{near} of {counted(len(notes), 'note')} {are(near)} within {said(name, tolerance_deg)} of "
        f"{'its' if near == 1 else 'their'} target; farthest is {note_words(int(notes[worst]))}: "
        f"{said(name, float(net_deg[worst]))}, {said(name, float(wanted_deg[worst]))} wanted."
    )


def sure(source: SinkSource, spread: RimRange | None) -> str:
    """How sure the sink is, in a sentence; empty where nothing is known of that."""
    if spread is not None:
        return str(spread)
    return "The sink is your own, from sink.csv." if source is SinkSource.MEASURED else ""


def shown_places(every: bool, chosen: Bools, *also: int) -> list[int]:
    """Places of the notes shown: all, or those chosen and a few more."""
    shown = np.ones(len(chosen), bool) if every else chosen.copy()
    shown[list(also)] = True
    places: list[int] = np.flatnonzero(shown).tolist()
    return places
