"""Every quantity that an answer tells, once: key, label, unit, decimals, sign, meaning and whether it may have a band.

Terminal tables, JSON and its schema, CSV, PDF, XLSX, the viewer's colours and the docs' tables are made from here.
A new quantity is one line in quantities.toml.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from importlib.resources import files
from typing import Any

from bellywork.conventions import note_name
from bellywork.measures import MEASURES, METRIC, MISSING, Measure, Units


class QuantityKind(Enum):
    """What a value is."""

    NUMBER = "number"
    TEXT = "text"
    NOTE = "note"
    COUNT = "count"
    FLAG = "true or false"


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One thing that answers tell.

    name       its name in the registry
    label      head of a column
    meaning    what it is and which way it counts, as the legend, the schema and the docs say it
    kind       a number, or what else
    measure    unit and decimals of a number
    signed     a plus is written where it is above zero
    banded     it may carry a band: its 95 % range as `key_low` and `key_high` beside it
    choices    the words that a text may be
    each, by   a list with one value for each of these things; a value by the name of each of these things
    """

    name: str
    label: str
    meaning: str
    kind: QuantityKind = QuantityKind.NUMBER
    measure: Measure = MEASURES["number"]
    signed: bool = False
    banded: bool = False
    choices: tuple[str, ...] = ()
    each: str = ""
    by: str = ""

    @property
    def key(self) -> str:
        """Its key in JSON and its header in CSV."""
        return self.name.rpartition(".")[2]

    @property
    def band_keys(self) -> tuple[str, str]:
        """The keys of its band: the ends of its 95 % range."""
        return f"{self.key}_low", f"{self.key}_high"

    def unit(self, units: Units = METRIC) -> str:
        """Its unit as it is printed; empty for a name or a bare number."""
        return units.symbol(self.measure) if self.kind is QuantityKind.NUMBER else ""

    def axis(self, units: Units = METRIC) -> str:
        """What stands beside an axis or over a scale."""
        return f"{self.label}, {self.unit(units)}" if self.unit(units) else self.label

    def outside(self, values: Iterable[float], units: Units = METRIC) -> list[float]:
        """Values in the user's unit, for a plot.

        >>> QUANTITIES["bending_share"].outside([0.25, 1.0])
        [25.0, 100.0]
        """
        return [self.measure.outside(float(value), units) for value in values]

    def text(self, value: Any, units: Units = METRIC, *, signed: bool | None = None, digits: int | None = None) -> str:
        """A value as a table shows it, without its unit.

        signed   with a plus above zero; None: as registered      digits   decimals; None: as the measure has them

        >>> QUANTITIES["net_deg"].text(0.984), QUANTITIES["strength_share"].text(0.42), QUANTITIES["note"].text(40)
        ('0.98', '42', '40')
        """
        if value is None:
            return MISSING
        if self.kind is QuantityKind.NUMBER:
            sign = self.signed if signed is None else signed
            return self.measure.text(float(value), units, signed=sign, digits=digits)
        if self.kind is QuantityKind.FLAG:
            return self.label.upper() if value else ""
        if isinstance(value, Sequence) and not isinstance(value, str):
            return " to ".join(dict.fromkeys(note_name(note) for note in (value[0], value[-1]))) if value else MISSING
        return str(value)


def _registered() -> dict[str, Quantity]:
    table = tomllib.loads(files("bellywork").joinpath("quantities.toml").read_text(encoding="utf-8"))
    return {name: _quantity(name, **fields) for name, fields in table.items()}


def _quantity(
    name: str, *, kind: str = "number", measure: str = "number", choices: Sequence[str] = (), **rest: Any
) -> Quantity:
    return Quantity(name=name, kind=QuantityKind(kind), measure=MEASURES[measure], choices=tuple(choices), **rest)


QUANTITIES: dict[str, Quantity] = _registered()


def said(name: str, value: float, units: Units = METRIC, *, signed: bool | None = None) -> str:
    """A value with its unit, for a sentence.

    >>> said("net_deg", 0.984), said("plane_front_mm", 1.254), said("strength_share", 0.42)
    ('0.98°', '1.25 mm', '42 %')
    """
    quantity = QUANTITIES[name]
    text, unit = quantity.text(value, units, signed=signed), quantity.unit(units)
    return text if not unit or text == MISSING else f"{text}{'' if unit.startswith('°') else ' '}{unit}"
