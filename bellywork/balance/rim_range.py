"""How far the strung bearing depends on what is assumed of the rim."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.sink import predicted_sink
from bellywork.board.arrays import Floats
from bellywork.board.state import State
from bellywork.conventions import note_name
from bellywork.errors import BoardError
from bellywork.geometry.string_line import bearing
from bellywork.instrument import RIM_RANGE, Instrument


@dataclass(frozen=True, kw_only=True, eq=False)
class RimRange:
    """Net bearing, deg, of a table's board with each rim of the range, by the rim's name."""

    note: tuple[int, ...]
    net_deg: Mapping[str, Floats]

    def __str__(self) -> str:
        least, most = (self.net_deg[rim] for rim in RIM_RANGE)
        widest = int(np.argmax(np.abs(most - least)))
        note = self.note[widest]
        low, high = sorted((float(least[widest]), float(most[widest])))
        return (
            f"The rim is an assumption: from {RIM_RANGE[0]} to {RIM_RANGE[1]} the net bearing changes most at note "
            f"{note} ({note_name(note)}), from {low:.2f}° to {high:.2f}°."
        )


def rim_range(ready: Instrument, strung: BearingTable) -> RimRange:
    """The net bearing of a strung board with predicted sink, were its rim clamped or hinged.

    The bare heights that lead to this strung state are settled under the strings on each rim of the range: the board's
    own response, changed by what the other rim changes about small sinks.

    Raises BoardError where the table is not of the strung state, MissingLayer without body, plan or scale.
    """
    if strung.state is not State.STRUNG:
        raise BoardError("The range over the rim is that of the strung state.")
    pins = ready.board.needed_plan("The range over the rim").pins_mm
    own = predicted_sink(ready)
    bare = own.bare(strung.line, State.STRUNG)
    there = {rim: own.response.changed(change) for rim, change in ready.rim_changes_mm_N(pins, pins).items()}
    on = {rim: replace(own, response=response).moved(bare, State.STRUNG) for rim, response in there.items()}
    return RimRange(
        note=tuple(strung.line.note.tolist()), net_deg={rim: bearing(heights).net_deg for rim, heights in on.items()}
    )


def rims_ahead(ready: Instrument) -> None:
    """Begin what `rim_range` will ask of a board, beside its own mechanics; nothing where its sink is not predicted."""
    if ready.board.described:
        pins = ready.board.needed_plan("The range over the rim").pins_mm
        ready.rims_ahead(pins, pins)
