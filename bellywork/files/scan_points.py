"""Points of a scan that lie at known places of the board, by which it is laid."""

from __future__ import annotations

import numpy as np

from bellywork.board.state import ScanPoint
from bellywork.board.strings import StringPlan
from bellywork.files.bodies import point
from bellywork.files.gather import Gathered
from bellywork.files.tables import Row, Table

FEWEST = 3


def scan_points(table: Table, plan: StringPlan | None, gathered: Gathered) -> tuple[ScanPoint, ...]:
    """The points of a table; everything that is wrong with them is said."""
    rows = list(table)
    found = [_point(row, plan, gathered) for row in rows]
    if rows and len(rows) < FEWEST:
        gathered.add("scan-points-few", rows[0].place(), f"{len(rows)} of a scan", "three or more, not in one line",
                     "Name more of its points, far apart.")  # fmt: skip
    return tuple(each for each in found if each is not None)


def _point(row: Row, plan: StringPlan | None, gathered: Gathered) -> ScanPoint | None:
    note, xy = row.cells.get("note"), (row.cells.get("x"), row.cells.get("y"))
    if (note is None) == (None in xy) or xy.count(None) == 1:
        gathered.add("scan-point-place", row.place("x"), "a point of a scan without its place, with half of one or two",
                     "a note, or x and y", "Fill what is missing, or take one of the two away.")  # fmt: skip
        return None
    if note is None:
        place = point(row)
    elif plan is None or int(note) not in plan.note:
        gathered.add("note-without-place", row.place("note", int(note)), f"a point of a scan at note {int(note)}",
                     "a note that stands in string_plan.csv", "Give x and y instead.")  # fmt: skip
        return None
    else:
        place = plan.middle_mm[int(np.searchsorted(plan.note, int(note)))]
    scan = np.array([row.value(f"scan_{axis}") for axis in "xyz"])
    return ScanPoint(
        scan=scan, place_mm=place, note=None if note is None else int(note), height_mm=row.value("z", float("nan"))
    )
