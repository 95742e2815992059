"""How far the strung bearing depends on what is assumed of the rim."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.rim import COARSE_CELL_MM, RIM_RANGE, board_on_rim
from bellywork.balance.sink import predicted_sink
from bellywork.board.arrays import Floats
from bellywork.board.board import Board
from bellywork.board.state import State
from bellywork.conventions import note_name
from bellywork.errors import BoardError
from bellywork.geometry.completed import completed
from bellywork.geometry.string_line import bearing


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


def rim_range(board: Board, strung: BearingTable) -> RimRange:
    """The net bearing of a strung board with predicted sink, were its rim clamped or hinged.

    On a coarse grid with the board's own rim the strings' forces tell the bare heights that lead to this strung state;
    the same bare heights are then settled under the strings on each rim of the range.

    Raises BoardError where the table is not of the strung state, MissingLayer without body, plan or scale.
    """
    if strung.state is not State.STRUNG:
        raise BoardError("The range over the rim is that of the strung state.")
    whole = completed(board).board
    line = strung.line
    own = predicted_sink(replace(whole, strings=line), cell_mm=COARSE_CELL_MM)
    bare = own.bare(line, State.STRUNG)
    nets = {}
    for rim in RIM_RANGE:
        other = predicted_sink(replace(board_on_rim(whole, rim), strings=line), cell_mm=COARSE_CELL_MM)
        nets[rim] = bearing(other.moved(bare, State.STRUNG)).net_deg
    return RimRange(note=tuple(line.note.tolist()), net_deg=nets)
