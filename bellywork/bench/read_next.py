"""The notes to read next, and why: what lacks a reading (reference notes first), what is doubted, what narrows most."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from bellywork.answers.sureness import Sureness
from bellywork.balance.bearing_table import BearingTable
from bellywork.balance.plane_table import PlaneTable
from bellywork.board.board import Board
from bellywork.conventions import note_name
from bellywork.estimate.heights import read_again
from bellywork.findings import Finding
from bellywork.quantities import said

MOST = 5
DOUBTED = "height-out-of-family"
# ways to read a note; one of them whole is enough
WAYS = (
    ("front_height", "bridge_front", "bridge_rear", "rear_height"),
    ("gap_front", "gap_rear"),
    ("block",),
    ("front_bearing", "rear_bearing"),
    ("dial",),
)


@dataclass(frozen=True, kw_only=True)
class Next:
    """Something to read next: the note, its name, the column (empty: all of its readings) and why.

    again   that a second reading settles it
    """

    note: int
    why: str
    column: str = ""
    again: bool = False

    def told(self) -> dict[str, Any]:
        """What goes to a page."""
        return {**asdict(self), "name": note_name(self.note)}


def lacking(
    rows: Mapping[int, Mapping[str, str]], heads: Mapping[str, str], reference: Collection[int]
) -> tuple[Next, ...]:
    """Notes that lack a reading, reference notes first.

    rows        cells of each note, by header; heads: header by the column's name without its unit
    """
    ways = [[stem for stem in way if stem in heads] for way in WAYS]
    found = []
    for note, cells in rows.items():
        open_ = [[stem for stem in way if not cells.get(heads[stem], "").strip()] for way in ways if way]
        if open_ and all(open_):  # no way of reading is whole: the nearest to it is gone on with
            stem = min(open_, key=len)[0]
            found.append(Next(note=note, why=f"{stem.replace('_', ' ')} not read yet", column=heads[stem]))
    return tuple(sorted(found, key=lambda each: (each.note not in reference, each.note)))


def in_doubt(findings: Sequence[Finding]) -> tuple[Next, ...]:
    """Notes whose heights leave the run of their neighbours, as `check` finds them."""
    return tuple(
        Next(note=each.place.note, why=f"{each.found.partition(' at ')[0]}: read it again".replace("_", " "))
        for each in findings
        if each.code == DOUBTED and each.place.note is not None
    )


def narrowing(table: PlaneTable, sureness: Sureness | None) -> tuple[Next, ...]:
    """Notes whose second reading narrows the net bearing planed for most, on top of what the board itself leaves."""
    half = 0.0 if sureness is None else np.diff(sureness.bands.bands["you_get_deg"], axis=0)[0] / 2.0
    again = read_again(table.now.line, board_deg=np.where(np.isfinite(half), half, 0.0), most=3 * MOST)
    return tuple(
        Next(
            note=int(note),
            why=f"read it twice, keep the mean: ±{said('net_deg', float(now))} there, then "
            f"±{said('net_deg', float(then))}",
            again=True,
        )
        for note, now, then in zip(again.note, again.now_deg, again.then_deg)
    )


def later(board: Board, table: BearingTable, sureness: Sureness | None) -> tuple[Next, ...]:
    """Every note not read in the state of a table yet: reference notes, then the widest bands, then the rest."""
    read = {each.note for each in board.readings if each.state is table.state and each.note is not None}
    unread = [k for k, note in enumerate(table.note.tolist()) if note not in read]
    half = np.full(len(table.note), np.nan)
    if sureness is not None:
        half = np.diff(sureness.bands.bands["net_deg"], axis=0)[0] / 2.0
    wide = np.where(table.reference, np.inf, np.nan_to_num(half))
    return tuple(
        Next(
            note=int(table.note[k]),
            why=f"not read {table.state.value} yet"
            if table.reference[k] or not np.isfinite(half[k])
            else f"known to ±{said('net_deg', float(half[k]))} only",
        )
        for k in sorted(unread, key=lambda k: -wide[k])
    )
