"""The form of an answer: which quantities stand where in its JSON. From it come the values, the schema and the docs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from bellywork.answers.answer_table import AnswerTable, value_of
from bellywork.conventions import FIRST_NOTE, LAST_NOTE
from bellywork.quantities import QUANTITIES, Quantity, QuantityKind

Schema: TypeAlias = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of an answer: an object under its key, or a list of such objects.

    meaning    what it tells
    fields     names of quantities, and parts within
    many       a list with an object for each of several things
    optional   quantities that only some answers have
    nullable   null where there is none
    """

    key: str
    meaning: str
    fields: tuple[str | Part, ...]
    many: bool = False
    optional: tuple[str, ...] = ()
    nullable: bool = False

    def part(self, key: str) -> Part:
        """The part within it that has this key."""
        for field in self.fields:
            if isinstance(field, Part) and field.key == key:
                return field
        raise KeyError(f"No part {key} in {self.key}.")

    @property
    def quantities(self) -> tuple[str, ...]:
        """The names of its quantities that every answer has."""
        return tuple(field for field in self.fields if isinstance(field, str))


def one(key: str, meaning: str, *fields: str | Part, nullable: bool = False) -> Part:
    """A part that is one object; a text among the fields names several quantities with spaces between."""
    return Part(key=key, meaning=meaning, fields=_split(fields), nullable=nullable)


def many(key: str, meaning: str, *fields: str | Part, optional: str = "") -> Part:
    """A part that is a list of objects, else as `one`."""
    return Part(key=key, meaning=meaning, fields=_split(fields), many=True, optional=tuple(optional.split()))


def _split(fields: tuple[str | Part, ...]) -> tuple[str | Part, ...]:
    return tuple(each for field in fields for each in ([field] if isinstance(field, Part) else field.split()))


def filled(part: Part, *sources: Any) -> Any:
    """The values of a part, from mappings or results that have its quantities and parts by their names or keys.

    The ends of a quantity's band stand beside it where a mapping holds them.
    """
    out: dict[str, Any] = {}
    for field in part.fields:
        if isinstance(field, str):
            quantity = QUANTITIES[field]
            out[quantity.key] = value_of(field, *sources)
            ends = (each for each in sources if isinstance(each, Mapping)) if quantity.banded else ()
            out |= {key: each[key] for each in ends for key in quantity.band_keys if key in each}
        else:
            out[field.key] = _inner(field, value_of(field.key, *sources))
    return out


def _inner(part: Part, value: Any) -> Any:
    if isinstance(value, AnswerTable):
        return value.rows()
    if value is None:
        return None
    return [filled(part, each) for each in value] if part.many else filled(part, value)


def schema_of(part: Part) -> Schema:
    """The JSON Schema of a part."""
    properties: dict[str, Schema] = {}
    required: list[str] = []
    for field in (*part.fields, *part.optional):
        if isinstance(field, Part):
            properties[field.key] = schema_of(field)
            required.append(field.key)
            continue
        quantity = QUANTITIES[field]
        properties[quantity.key] = quantity_schema(quantity)
        if field not in part.optional:
            required.append(quantity.key)
        if quantity.banded:
            for key, end in zip(quantity.band_keys, ("low", "high")):
                properties[key] = {"type": ["number", "null"], "description": f"{end} end of its 95 % range"}
    form: Schema = {
        "type": ["object", "null"] if part.nullable else "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
    told = {"description": part.meaning}
    return {"type": "array", "items": form, **told} if part.many else {**form, **told}


def quantity_schema(quantity: Quantity) -> Schema:
    """The JSON Schema of one quantity."""
    kinds: dict[QuantityKind, Schema] = {
        QuantityKind.NUMBER: {"type": ["number", "null"]},
        QuantityKind.TEXT: {"enum": list(quantity.choices)} if quantity.choices else {"type": "string"},
        QuantityKind.NOTE: {"type": "integer", "minimum": FIRST_NOTE, "maximum": LAST_NOTE},
        QuantityKind.COUNT: {"type": ["integer", "null"]},
        QuantityKind.FLAG: {"type": "boolean"},
    }
    form, told = kinds[quantity.kind], {"description": described(quantity)}
    if quantity.each:
        return {"type": "array", "items": form, **told}
    if quantity.by:
        return {"type": "object", "additionalProperties": form, **told}
    return {**form, **told}


def described(quantity: Quantity) -> str:
    """Meaning and unit of a quantity in JSON."""
    unit = quantity.measure.inside if quantity.kind is QuantityKind.NUMBER else ""
    more = f"; one for each {quantity.each}" if quantity.each else f"; by {quantity.by}" if quantity.by else ""
    return f"{quantity.meaning}{', ' + unit if unit else ''}{more}"


def entries(part: Part, path: str = "") -> Iterator[tuple[str, Quantity, bool]]:
    """Every quantity of a part with its path in JSON, and whether it is optional; for the docs."""
    for field in (*part.fields, *part.optional):
        if isinstance(field, Part):
            yield from entries(field, f"{path}{field.key}{'[]' if field.many else ''}.")
        else:
            yield f"{path}{QUANTITIES[field].key}", QUANTITIES[field], field in part.optional
