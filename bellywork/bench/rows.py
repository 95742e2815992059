"""Rows that the bench adds to a table of the board: press trials, and what is read of a note at a later stage."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from bellywork.bench.journal import Entry, NewRow, RowBack, RowsOut, now
from bellywork.conventions import Dimension
from bellywork.errors import BoardError, UnusableInput
from bellywork.files.cell_text import note_in, number_in
from bellywork.files.cells import CsvTable, csv_table, new_table
from bellywork.files.columns import TABLES, WORKBOOK, Column, Kind
from bellywork.files.gather import Gathered
from bellywork.files.read import read_board
from bellywork.files.sources import Sources
from bellywork.files.workbook_tables import workbook_sheets
from bellywork.files.write import replace_input
from bellywork.findings import Finding, printable, to_mend
from bellywork.measures import Units

LONGEST_TEXT = 40
# the columns of a table that the bench begins
HEADS = {
    "trials": ("trial", "at", "at_x", "at_y", "force", "read", "read_x", "read_y", "sink", "date", "rh"),
    "readings": ("kind", "place", "position", "span", "value", "angle", "state", "date", "rh"),
}
LATER_KINDS = {"bridge_height": "value", "front_deg": "angle", "rear_deg": "angle"}  # and the column of the reading


def new_row(folder: Path, typed: Mapping[str, Any], key: str, notes: Collection[int], units: Units) -> NewRow:
    """The row that a page asks for, every cell of it looked at, under the headers of the table in the folder.

    Raises BoardError for what is no such row.
    """
    table, cells = typed.get("table"), typed.get("cells")
    if table not in HEADS or not isinstance(cells, dict):
        raise BoardError("A row goes to trials or to readings, and has cells.")
    if not all(
        isinstance(each, str) and len(each) <= LONGEST_TEXT and printable(each) == each for each in cells.values()
    ):
        raise BoardError("A cell is a short plain text.")
    texts = {stem: text.strip() for stem, text in cells.items() if text.strip()}
    found = board_table(folder, table, units)
    today = datetime.date.today().isoformat()
    if table == "trials":
        _whole_trial(texts)
        # the dial stands at the load
        texts |= {f"read{stem[2:]}": text for stem, text in texts.items() if stem in ("at", "at_x", "at_y")}
        texts |= {"trial": _next_trial(found), "date": today}
    else:
        _whole_reading(texts, notes)
        texts |= {"date": today}
    rh = rh_typed(typed)
    texts |= {"rh": rh} if rh else {}
    heads = heads_of(found, table)
    texts = {stem: text for stem, text in texts.items() if stem in heads or stem not in ("date", "rh")}
    columns = {column.stem: column for column in TABLES[table].columns}
    for stem, text in texts.items():
        if stem not in columns:
            raise BoardError(f"Found a cell {stem!r}, which {table}.csv does not know.")
        within(columns[stem], heads.get(stem, columns[stem].usual), text)
    under = {heads.get(stem, columns[stem].usual): text for stem, text in texts.items()}
    _nothing_wrong(folder, f"{table}.csv", found.with_row(under))  # or it says why not, before it is kept
    return NewRow(key=key, table=table, cells=under, at=now(), rh=rh, stood=len(_holding(found, under)))


def rh_typed(typed: Mapping[str, Any]) -> str:
    """The day's relative humidity in % that came along; empty: not told. Raises BoardError for what is none."""
    rh = typed.get("rh", "")
    if not isinstance(rh, str) or len(rh) > LONGEST_TEXT or printable(rh) != rh:
        raise BoardError("The humidity is a short number.")
    column = next(each for each in TABLES["readings"].columns if each.stem == "rh")
    within(column, column.usual, rh.strip())
    return rh.strip()


def trial_out(folder: Path, typed: Mapping[str, Any], key: str) -> RowsOut:
    """The rows of a press trial that a page takes out. Raises BoardError where the table has none of that name."""
    name, found = typed.get("trial"), csv_table(folder / "trials.csv", "trials")
    if found is None or not isinstance(name, str) or all(row.get("trial") != name for row in found.rows):
        raise BoardError("There is no press trial of that name to be taken out.")
    found.without_rows("trial", name)  # or it says why not, before it is kept
    return RowsOut(key=key, table="trials", column="trial", rows=name, at=now())


def into_rows(folder: Path, entry: Entry, units: Units, *, again: bool) -> None:
    """Add or take out the rows of an entry of the journal; `again`: unless that was done already.

    Raises BoardError and OutputError where the table cannot be changed so.
    """
    path, found = folder / f"{entry.table}.csv", board_table(folder, entry.table, units)
    if isinstance(entry, RowBack):
        if again and len(_holding(found, entry.gone)) < entry.stood:
            return
        changed = found.without_row(entry.gone)
        if len(found.rows) == 1:  # a table without rows is a mistake
            replace_input(path, None, found.data)
            return
    elif isinstance(entry, NewRow):
        if again and len(_holding(found, entry.cells)) > entry.stood:
            return
        changed = found.with_row(entry.cells)
    else:
        assert isinstance(entry, RowsOut)
        if again and all(row.get(entry.column) != entry.rows for row in found.rows):
            return
        changed = found.without_rows(entry.column, entry.rows)
        if all(row[entry.column] == entry.rows for row in found.rows):  # a table without rows is a mistake
            replace_input(path, None, found.data)
            return
    replace_input(path, changed, _standing(path, found))


def _standing(path: Path, found: CsvTable) -> bytes | None:
    """What the file of a table held when it was read: None where there was none, nothing where it was empty."""
    if not path.exists():
        return None
    return found.data if path.stat().st_size else b""


def row_back(folder: Path, row: NewRow, key: str, units: Units) -> RowBack:
    """The taking back of a row. Raises BoardError where its table does not hold it by now."""
    found = board_table(folder, row.table, units)
    found.without_row(row.cells)  # or it says why not, before it is kept
    stood = len(_holding(found, row.cells))
    return RowBack(key=key, table=row.table, gone=row.cells, of=row.key, at=now(), stood=stood)


def _holding(found: CsvTable, cells: Mapping[str, str]) -> list[Mapping[str, str]]:
    """The rows that hold these cells."""
    return [row for row in found.rows if all(row.get(name) == text for name, text in cells.items())]


def _nothing_wrong(folder: Path, name: str, changed: bytes) -> None:
    """Raise BoardError where a table so changed holds a mistake that it does not hold now.

    What the whole folder tells, such as a load off the board, is seen here as `check` sees it; kept, it would stop
    every answer.
    """
    before = {str(each) for each in _to_mend(folder, {})}
    new = [each for each in _to_mend(folder, {name: changed}) if each.place.file == name and str(each) not in before]
    if new:
        raise BoardError(f"Found {new[0].found}, expected {new[0].expected}. {new[0].remedy}")


def _to_mend(folder: Path, given: Mapping[str, bytes]) -> tuple[Finding, ...]:
    try:
        return to_mend(read_board(folder, given=given).findings)
    except UnusableInput as error:
        return to_mend(error.findings)


def heads_of(found: CsvTable, table: str) -> dict[str, str]:
    """The headers that a table has, by the columns' names without units."""
    return {column.stem: head for column in TABLES[table].columns for head in found.header if head in column.units}


def within(column: Column, head: str, text: str) -> None:
    """Refuse what its column could not hold; an empty text takes a reading back. Raises BoardError."""
    if not text:
        return
    if column.kind is Kind.NUMBER:
        value, unit = number_in(text), column.units[head]
        if value is None or not column.least <= unit.inside(value) <= column.most:
            low, high = (f"{unit.outside(end):g}" for end in (column.least, column.most))
            sign = unit.suffix.replace("percent", "%")
            raise BoardError(f"Found '{text}' for {head}; expected a number from {low} to {high} {sign}.")
    elif column.kind is Kind.NOTE and note_in(text) is None:
        raise BoardError(f"Found '{text}' for {head}; expected a note, as C4 or 40.")
    elif column.choices and text not in column.choices:
        raise BoardError(f"Found '{text}' for {head}; expected one of {', '.join(column.choices)}.")


def board_table(folder: Path, table: str, units: Units) -> CsvTable:
    """A table of a folder as CSV; one with its header only, in these units, where it is not there yet.

    Raises BoardError where it stands in a workbook, or the file is no table.
    """
    path = folder / f"{table}.csv"
    if path.exists() and path.stat().st_size:
        found = csv_table(path, table)
        if found is None:
            raise BoardError(f"{path.name} is no table that a row could be added to.")
        return found
    sheets = workbook_sheets(Sources(folder, Gathered()), WORKBOOK) if (folder / WORKBOOK).exists() else {}
    if (folder / f"{table}.xlsx").exists() or table in sheets:
        raise BoardError(f"The {table} of this board stand in a workbook; the bench adds to CSV tables only.")
    columns = {column.stem: column for column in TABLES[table].columns}
    header = tuple(_head(columns[stem], units) for stem in HEADS[table])
    return CsvTable(path=path, data=new_table(header), header=header, rows=())


def _head(column: Column, units: Units) -> str:
    """The header of a new column in the user's units."""
    suffix = {Dimension.LENGTH: units.decimal, Dimension.FORCE: units.force}.get(column.dimension)
    head = f"{column.stem}_{suffix}"
    return head if suffix and head in column.units else column.usual


def _next_trial(found: CsvTable) -> str:
    names = {row.get("trial", "") for row in found.rows}
    return next(str(number) for number in range(1, len(names) + 2) if str(number) not in names)


def _whole_trial(texts: Mapping[str, str]) -> None:
    if not ("at" in texts or {"at_x", "at_y"} <= set(texts)):
        raise BoardError("A load needs its place: the note, or x and y.")
    lacking = [
        words
        for stem, words in (("force", "how hard it presses"), ("sink", "what the dial reads"))
        if stem not in texts
    ]
    if lacking:
        raise BoardError(f"A press trial lacks {' and '.join(lacking)}.")
    if (sink := number_in(texts["sink"])) is not None and sink < 0.0:
        raise BoardError("Found a rise right under a load; a sink is down and positive. Read the dial again.")


def _whole_reading(texts: Mapping[str, str], notes: Collection[int]) -> None:
    column = LATER_KINDS.get(texts.get("kind", ""))
    if column is None:
        raise BoardError(f"What is read is one of {', '.join(LATER_KINDS)}.")
    if note_in(texts.get("place", "")) not in notes:
        raise BoardError("A reading needs its note, one that the board has.")
    if column not in texts or "state" not in texts:
        raise BoardError("A reading needs its value, and the state that it was read in.")
