"""The table of targets: what the bearing should be."""

from __future__ import annotations

from bellywork.board.state import State
from bellywork.board.targets import Target, TargetKind
from bellywork.conventions import note_name
from bellywork.files.gather import Gathered, nearest
from bellywork.files.tables import Row, Table

_FORMS = {
    "net": TargetKind.NET_DEG,
    "block": TargetKind.BLOCK_MM,
    "string_deflection": TargetKind.DEFLECTION_MM,
    "unison_force": TargetKind.FORCE_N,
}


def targets(table: Table, notes: Table | None, gathered: Gathered) -> tuple[Target, ...]:
    """The targets: exactly one of section and note, and exactly one form, in each row.

    notes   the table of notes, in whose sections and between whose notes the targets must lie
    """
    out: list[Target] = []
    named: dict[object, int] = {}
    for row in table:
        given = [stem for stem in _FORMS if row.cells.get(stem) is not None]
        by_note = row.cells.get("note") is not None
        name: object = row.note() if by_note else row.word("section")
        if len(given) != 1:
            gathered.add("target-form", row.place(given[-1] if given else "net"),
                         f"{len(given)} forms of the target in one row", f"exactly one of {', '.join(_FORMS)}",
                         "Leave one cell filled.")  # fmt: skip
        elif by_note == bool(row.word("section")):
            gathered.add("target-place", row.place("section"), "a section and a note" if by_note else "neither",
                         "either a section or a note", "Leave one of the two cells filled.")  # fmt: skip
        elif name in named:
            gathered.add("target-twice", row.place("note" if by_note else "section"), f"a second target for {name}",
                         "one target for each note or section",
                         f"It stands in row {named[name]} too: take one away.")  # fmt: skip
        elif notes is None or _known(row, notes, gathered):
            out.append(
                Target(
                    kind=_FORMS[given[0]],
                    value=row.value(given[0]),
                    section=row.word("section"),
                    note=row.note() if by_note else None,
                    front_share=row.value("front_share", 0.5),
                    state=State(row.word("state", State.STRUNG.value)),
                )
            )
        named.setdefault(name, row.number)
    _one_state(table, gathered)
    return tuple(out)


def _one_state(table: Table, gathered: Gathered) -> None:
    """Say where targets are for different states: a bridge is planed to one of them."""
    rows = list(table)
    first = rows[0].word("state", State.STRUNG.value) if rows else ""
    other = next((row for row in rows if row.word("state", State.STRUNG.value) != first), None)
    if other is not None:
        gathered.add(
            "target-states",
            other.place("state"),
            f"'{other.word('state', State.STRUNG.value)}'",
            f"one state for all targets, '{first}' as in row {rows[0].number}",
            "Give all targets for the strung board, or all for the board before stringing.",
        )


def _known(row: Row, notes: Table, gathered: Gathered) -> bool:
    """Whether the section or note of a target stands in the table of notes, or between its notes."""
    section = row.word("section")
    sections = dict.fromkeys(each.word("section") for each in notes)
    if section and notes.sound and section not in sections:
        gathered.add("target-strange", row.place("section"), f"'{section}'", "a section of the notes table",
                     nearest(section, sections))  # fmt: skip
        return False
    if not section and notes.notes and not min(notes.notes) <= row.note() <= max(notes.notes):
        gathered.add("target-strange", row.place("note", row.note()), f"note {row.note()} ({note_name(row.note())})",
                     "a note within the notes table", "Add it there, or take this row away.")  # fmt: skip
        return False
    return True
