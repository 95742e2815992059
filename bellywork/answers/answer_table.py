"""A table of an answer: columns of registered quantities, shown in the user's units, and as rows for JSON and CSV."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

from numpy.typing import NDArray

from bellywork.board.arrays import Floats
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES, Quantity, QuantityKind

Values: TypeAlias = Sequence[Any] | NDArray[Any]
BAND_FIGURES = 2  # significant figures of a band's half width that its value is told to


@dataclass(frozen=True, kw_only=True, eq=False)
class AnswerColumn:
    """One quantity for every row.

    quantity   its name in the registry
    values     one per row; lists where the quantity has a value for each of several things
    band       ends of the 95 % range, one per row each; None: the result carries none
    head       what stands over it in place of its label, where one quantity stands in several columns
    signed     with a plus above zero; None: as registered
    box        a box for paper, to be filled in by hand, in place of values
    """

    quantity: str
    values: Values = ()
    band: tuple[Floats, Floats] | None = None
    head: str | None = None
    signed: bool | None = None
    box: bool = False

    @property
    def registered(self) -> Quantity:
        """What it holds."""
        return QUANTITIES[self.quantity]

    @property
    def label(self) -> str:
        """What stands over it."""
        return self.registered.label if self.head is None else self.head

    @property
    def left(self) -> bool:
        """Words begin at the left; numbers end at the right."""
        return self.registered.kind in (QuantityKind.TEXT, QuantityKind.FLAG) or bool(self.registered.each)

    def cell(self, row: int, units: Units) -> str:
        """The text of one row, with its band where there is one: ± where it is even, else its ends in brackets."""
        quantity = self.registered
        if self.band is None or not math.isfinite(self.band[0][row]):
            return quantity.text(self.values[row], units, signed=self.signed)
        low, high = (float(end[row]) for end in self.band)
        digits = _digits(quantity, high - low, units)
        told = (float(self.values[row]), low, high)
        if math.isclose(told[0] - low, high - told[0], rel_tol=1e-6, abs_tol=1e-12):
            half = quantity.measure.text((high - low) / 2.0, units, digits=digits)
            return f"{quantity.text(told[0], units, signed=self.signed, digits=digits)} ± {half}"
        value, *ends = (quantity.text(each, units, signed=self.signed, digits=digits) for each in told)
        return f"{value} ({ends[0]} to {ends[1]})"


def _digits(quantity: Quantity, width: float, units: Units) -> int:
    """Decimals no finer than a band of this width deserves: two figures of its half width."""
    most = units.of(quantity.measure)[1]
    half = abs(quantity.measure.outside(width / 2.0, units) - quantity.measure.outside(0.0, units))
    if not math.isfinite(half) or half == 0.0:
        return most
    return max(0, min(most, BAND_FIGURES - 1 - math.floor(math.log10(half))))


@dataclass(frozen=True, kw_only=True, eq=False)
class AnswerTable:
    """Rows of one kind, under their key in JSON."""

    key: str
    columns: tuple[AnswerColumn, ...]

    def __len__(self) -> int:
        return len(self.columns[0].values) if self.columns else 0

    def __getitem__(self, quantity: str) -> AnswerColumn:
        for column in self.columns:
            if column.quantity == quantity:
                return column
        raise KeyError(f"No column {quantity} in the table {self.key}.")

    def rows(self, *, rounded: bool = False) -> list[dict[str, Any]]:
        """One mapping per row by the quantities' keys, in bellywork's own units; a band's ends follow their value.

        rounded   to one decimal more than tables show
        """
        every: dict[str, Sequence[Any]] = {}
        for column in self.columns:
            digits = column.registered.measure.decimals_inside if rounded else None
            every[column.registered.key] = plain(column.values, digits)
            if column.band is not None:
                every |= zip(column.registered.band_keys, plain(column.band, digits))
        return [dict(zip(every, row)) for row in zip(*every.values())]

    def only(self, *quantities: str, bands: Iterable[str] | None = None) -> AnswerTable:
        """The same rows with these columns, in this order.

        bands   the columns that keep their band; None: all
        """
        columns = (self[name] for name in quantities)
        keep = None if bands is None else set(bands)
        return replace(
            self,
            columns=tuple(
                each if keep is None or each.quantity in keep else replace(each, band=None) for each in columns
            ),
        )

    def with_values(self, quantity: str, values: Values) -> AnswerTable:
        """The same table with other values of one column."""
        columns = (replace(each, values=values) if each.quantity == quantity else each for each in self.columns)
        return replace(self, columns=tuple(columns))

    def with_band(self, quantity: str, band: tuple[Floats, Floats]) -> AnswerTable:
        """The same table with the band of one column; a value that is not known has none."""
        columns = (replace(each, band=band) if each.quantity == quantity else each for each in self.columns)
        return replace(self, columns=tuple(columns))

    def legend(self) -> tuple[tuple[str, str], ...]:
        """Label and meaning of each column, once, without names, notes and columns under a head of their own."""
        told = {
            column.label: column.registered.meaning
            for column in self.columns
            if column.label and column.head is None and column.quantity not in ("note", "rib", "scheme")
        }
        return tuple(told.items())


def table_of(
    key: str, quantities: Iterable[str], *sources: Any, bands: Mapping[str, tuple[Floats, Floats]] | None = None
) -> AnswerTable:
    """A table whose columns are found by their name, then by their key, in mappings or as attributes of results.

    sources   the first that has a quantity gives its values
    bands     ends of the 95 % range by quantity; only of those registered to have one
    """
    for name in bands or {}:
        if not QUANTITIES[name].banded:
            raise ValueError(f"{name} is not registered to have a band.")
    return AnswerTable(
        key=key,
        columns=tuple(
            AnswerColumn(quantity=name, values=value_of(name, *sources), band=(bands or {}).get(name))
            for name in quantities
        ),
    )


def rows_of(key: str, quantities: Sequence[str], items: Sequence[Any]) -> AnswerTable:
    """A table with one row for each result of a sequence, each a mapping or an object."""
    values = [[value_of(name, item) for name in quantities] for item in items]
    columns = list(zip(*values)) if values else [()] * len(quantities)
    return AnswerTable(
        key=key, columns=tuple(AnswerColumn(quantity=name, values=column) for name, column in zip(quantities, columns))
    )


def value_of(name: str, *sources: Any) -> Any:
    """The value of a quantity or part of an answer, by its name or by its key. Raises KeyError where none has it."""
    key = name.rpartition(".")[2]
    for source in sources:
        for word in (name, key):
            if isinstance(source, Mapping):
                if word in source:
                    return source[word]
            elif hasattr(source, word):
                return getattr(source, word)
    raise KeyError(f"{name} is told by none of the results.")


def grid(table: AnswerTable, rows: Iterable[int], units: Units = METRIC) -> list[list[str]]:
    """A table's cells: labels, units, then a line for each of the rows."""
    shown = list(rows)
    heads = [[column.label for column in table.columns], [column.registered.unit(units) for column in table.columns]]
    return heads + [[column.cell(row, units) for column in table.columns] for row in shown]


def plain(value: Any, digits: int | None = None) -> Any:
    """A value as JSON and CSV know it: numpy's numbers as Python's, unknown ones as None.

    digits   decimals that numbers are rounded to; None: as they are
    """
    if isinstance(value, Mapping):
        return {str(key): plain(item, digits) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item, digits) for item in value]
    if hasattr(value, "tolist"):
        return plain(value.tolist(), digits)
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        return value if digits is None else round(value, digits) + 0.0
    return value
