"""The file reference in words, out of the column and key tables: for starter folders and the documentation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from bellywork.files.columns import REMARK, TABLES, Column, Kind
from bellywork.files.toml_keys import SECTIONS


def table_reference(names: Iterable[str]) -> str:
    """A Markdown section for each of these tables: what a row is, and every column.

    >>> print(table_reference(["sink"]))
    ### sink.csv
    <BLANKLINE>
    A row is the sink that you measured at one note.
    <BLANKLINE>
    | column | | holds | meaning |
    |---|---|---|---|
    | `note` | needed | a note | 1 to 88, or a name: A0, C♯4 (or C#4), C8 |
    | `preloaded_mm` | | −30 to 30 mm | sink from bare to preloaded |
    | `strung_mm` | | −30 to 30 mm | sink from bare to strung |
    <BLANKLINE>
    """
    return "\n".join(
        f"### {name}.csv\n\nA row is {TABLES[name].row}.\n\n" + _rows("column", TABLES[name].columns) for name in names
    )


def key_reference(sections: Mapping[str, Iterable[Column]] = SECTIONS) -> str:
    """A Markdown section for each section of board.toml, or of a scheme file (SCHEME_SECTIONS), with every key."""
    heads = {"": "First in the file, before any section"}
    return "\n".join(
        f"### {heads.get(name, f'[{name}]')}\n\n" + _rows("key", columns) for name, columns in sections.items()
    )


def header(name: str, *, remark: bool = False) -> list[str]:
    """The header of a table in bellywork's own units.

    >>> header("sink")
    ['note', 'preloaded_mm', 'strung_mm']
    """
    return [column.usual for column in TABLES[name].columns] + [REMARK] * remark


def _rows(first: str, columns: Iterable[Column]) -> str:
    lines = [f"| {first} | | holds | meaning |", "|---|---|---|---|"]
    for column in columns:
        needed = "needed" if column.required else ""
        lines.append(f"| `{column.usual}` | {needed} | {holds(column)} | {column.meaning} |".replace("|  |", "| |"))
    return "\n".join(lines) + "\n"


def holds(column: Column) -> str:
    """What a cell of a column may hold, in words."""
    if column.choices:
        return " or ".join(f"`{choice}`" for choice in column.choices)
    if column.kind is not Kind.NUMBER:
        return f"a {column.kind.value}"
    if column.whole:
        return " or ".join(f"{number}" for number in range(int(column.least), int(column.most) + 1))
    unit = next(iter(column.units.values())).suffix
    return (
        f"{column.least:,g} to {column.most:,g} {unit}".replace("-", "−")
        .replace(",", " ")
        .replace("inf", "`inf`")
        .strip()
    )
