"""Writes docs/json.md and docs/schemas out of the registry of quantities; run it after a quantity or a form changed.

python tests/docs/write_reference.py
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from bellywork.answers.form import Part, described, entries
from bellywork.answers.forms import ENVELOPE, FORMS, answer_schema
from bellywork.measures import Units
from bellywork.quantities import Quantity, QuantityKind

DOCS = Path(__file__).resolve().parents[2] / "docs"
WIDTH = 180
INCH = Units(length="in", force="lb")

OPENING = """\
# What `--json` and `--csv` give

Every command that answers with numbers can give its whole answer as JSON: {commands}. Units are always mm, N and
degrees, whatever `--units` says, and stand in the keys. A number that the board's layers cannot tell is `null`. Keys
may be added within a version; none changes its meaning. This page and the schemas are made from the one registry of
quantities (`bellywork/quantities.toml`), as the tables on screen and paper are.

| command | `schema` | JSON Schema |
|---|---|---|
{rows}

Every answer has these; `check` has no headline and no assumptions, and of a folder that cannot be read only `schema`
and `findings`:

{envelope}

A quantity marked **band** may have two more keys beside it, `…_low` and `…_high`: the ends of its 95 % range. They are
there where the answer carries a band. A key in brackets stands only in some answers (the rim's range: where the sink is
predicted and `--rim` was not given).

`--csv` writes one table with the same keys: a first line that names the schema, the board and the fingerprint, a
legend, then the header and the rows, rounded to one decimal more than the tables on screen. Lines with `#` are no data.

`--units` takes `mm`, `in` or `fraction` (long lengths as on a rule), and with a comma `N`, `lb` or `kgf`; the columns
"shown" give the last decimal that a quantity is then told to on screen, on paper and in workbooks.

Exit codes: 0 fine, 1 something to look at (findings, short wood, a sink that is not known), 2 unusable input; the
reasons then stand on standard error.
"""


def page() -> str:
    """The whole page."""
    names = {name: name.partition("-")[2].partition("/")[0] for name in FORMS}
    rows = "\n".join(
        f"| `{command}` | `{name}` | [{_stem(name)}](schemas/{_stem(name)}.schema.json) |"
        for name, command in names.items()
    )
    envelope = "\n".join(f"- `{key}`: {form['description']}" for key, form in ENVELOPE.items())
    opening = OPENING.format(
        commands=", ".join(f"`{command}`" for command in names.values()), rows=rows, envelope=envelope
    )
    return "\n".join([opening, *(_form(command, FORMS[name]) for name, command in names.items() if FORMS[name].fields)])


def _stem(name: str) -> str:
    return name.replace("/", "-")


def _form(command: str, form: Part) -> str:
    lines = [f"## `{command}`", "", f"{form.meaning[0].upper()}{form.meaning[1:]}.", ""]
    lines += ["| key | label | meaning | shown | with `--units in` |", "|---|---|---|---|---|"]
    for path, quantity, optional in entries(form):
        key = f"(`{path}`)" if optional else f"`{path}`"
        band = " **band**" if quantity.banded else ""
        lines.append(f"| {key} | {quantity.label} | {described(quantity)}{band} | {' | '.join(_shown(quantity))} |")
    return "\n".join(lines) + "\n"


def _shown(quantity: Quantity) -> tuple[str, str]:
    """The last decimal and its unit, in metric units and in inches and pounds."""
    if quantity.kind is not QuantityKind.NUMBER:
        return quantity.kind.value, quantity.kind.value
    steps = []
    for units in (Units(), INCH):
        digits, unit = units.of(quantity.measure)[1], quantity.unit(units)
        steps.append(f"{10.0**-digits:.{digits}f} {unit}".strip())
    return steps[0], steps[1]


def schema_text(name: str) -> str:
    """One schema as it stands in its file."""
    return _compact(answer_schema(name)) + "\n"


def _compact(value: Any, indent: int = 0) -> str:
    """JSON with each object on one line where it is short enough."""
    line = json.dumps(value, ensure_ascii=False)
    if len(line) + indent <= WIDTH or not isinstance(value, dict):
        return line
    inner = ",\n".join(
        f"{' ' * (indent + 1)}{json.dumps(key)}: {_compact(item, indent + 1)}" for key, item in value.items()
    )
    return f"{{\n{inner}\n{' ' * indent}}}"


def schema_path(name: str) -> Path:
    """Where a schema stands."""
    return DOCS / "schemas" / f"{_stem(name)}.schema.json"


if __name__ == "__main__":
    (DOCS / "json.md").write_text(page(), encoding="utf-8")
    for old in (DOCS / "schemas").glob("*.json"):
        old.unlink()
    for each in FORMS:
        schema_path(each).write_text(schema_text(each), encoding="utf-8")
