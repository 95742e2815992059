"""The header of a table: which column stands where, in which unit."""

from __future__ import annotations

from difflib import get_close_matches

from bellywork.conventions import UNITS, Unit
from bellywork.files.columns import Column
from bellywork.files.gather import Gathered, nearest
from bellywork.files.sources import RawTable
from bellywork.findings import Place

REMARK = "remark"
Places = dict[int, tuple[Column, Unit]]


def header_places(columns: tuple[Column, ...], raw: RawTable, gathered: Gathered) -> Places:
    """Column and unit of each place that holds one; what is unknown, twice or missing is said."""
    number, header = raw.rows[0]
    known = {name: (column, unit) for column in columns for name, unit in column.units.items()}
    places: Places = {}
    meant: set[str] = set()
    for k, text in enumerate(header):
        place = Place(file=raw.file, row=number, column=text)
        if text in ("", REMARK):
            continue
        if text not in known:
            meant.add(_unknown(text, columns, place, gathered))
        elif known[text][0].stem in {column.stem for column, _ in places.values()}:
            gathered.add(
                "column-twice", place, f"{known[text][0].stem} a second time", "each column once", "Take one away."
            )  # fmt: skip
        else:
            places[k] = known[text]
            meant.add(known[text][0].stem)
    for column in columns:
        if column.required and column.stem not in meant:
            gathered.add(
                "column-missing", Place(file=raw.file, row=number, column=column.usual), "no such column",
                column.meaning, f"Add the column {column.usual}.",
            )  # fmt: skip
    return places


def _unknown(text: str, columns: tuple[Column, ...], place: Place, gathered: Gathered) -> str:
    """Say what is wrong with an unknown header; the stem that it was meant for, empty where that is not plain."""
    for column in sorted(columns, key=lambda each: -len(each.stem)):
        stem, _, unit = text.partition(column.stem)
        if stem or (unit and not unit.startswith("_")):
            continue
        if not unit:
            gathered.add(
                "unit-missing", place, f"'{text}' without a unit", " or ".join(column.units),
                "Write the unit behind the name.",
            )  # fmt: skip
            return column.stem
        if unit[1:] in UNITS or unit[1:].isalpha():
            gathered.add(
                "unit-wrong", place, f"the unit '{unit[1:]}'", " or ".join(column.units),
                "Convert the column, or correct its unit.",
            )  # fmt: skip
            return column.stem
    names = {name: column.stem for column in columns for name in column.units}
    near = get_close_matches(text, names, n=1)
    gathered.add(
        "column-unknown", place, f"'{text}'", f"a column of this table, or '{REMARK}'",
        nearest(text, names) if near else f"Known are: {', '.join(column.usual for column in columns)}.",
    )  # fmt: skip
    return names[near[0]] if near else ""
