"""Tables of answers as grids on paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bellywork.answers.answer_table import AnswerColumn as Told
from bellywork.answers.answer_table import AnswerTable
from bellywork.measures import Units
from bellywork.quantities import QuantityKind, said
from bellywork.sheets.flow import SheetColumn, SheetGrid
from bellywork.sheets.lettering import true_minus


def told(name: str, value: float, units: Units, *, signed: bool | None = None) -> str:
    """A value with its unit, for a sentence on paper: with a true minus."""
    return true_minus(said(name, value, units, signed=signed))


def grid_of(
    table: AnswerTable,
    units: Units,
    *,
    rows: Iterable[int] | None = None,
    shares: Mapping[str, float] | None = None,
    boxes: Iterable[str] = (),
) -> SheetGrid:
    """A table on paper.

    rows     places of the rows shown; None: all
    shares   parts of the width that columns take, by their quantity; 1 where it is not told
    boxes    heads of empty boxes behind the columns, to be filled in by hand
    """
    shown = range(len(table)) if rows is None else list(rows)
    columns = [
        column_of(column, shown, units, share=(shares or {}).get(column.quantity, 1.0)) for column in table.columns
    ]
    return SheetGrid(
        columns=(*columns, *(SheetColumn(head=head, share=1.4, box=True) for head in boxes)), rows=len(shown)
    )


def column_of(
    column: Told, rows: Iterable[int], units: Units, *, share: float = 1.0, head: str | None = None
) -> SheetColumn:
    """A column of an answer on paper, with a true minus before numbers."""
    quantity = column.registered
    cells = (column.cell(row, units) for row in rows)
    return SheetColumn(
        head=column.label if head is None else head,
        unit=quantity.unit(units),
        share=share,
        cells=tuple(true_minus(cell) if quantity.kind is QuantityKind.NUMBER else cell for cell in cells),
        left=column.left,
    )
