"""A board folder on the bench: its tables are the truth, the journal makes each reading safe, answers follow."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from bellywork.bench.answered import Answered, Answerer, waited
from bellywork.bench.doubt import doubt_of
from bellywork.bench.journal import Entry, Journal, NewRow, Reading, now
from bellywork.bench.plate import move_units
from bellywork.bench.read_next import MOST, Next, lacking
from bellywork.bench.rows import into_rows, new_row, rh_typed, row_back, trial_out, within
from bellywork.bench.stages import stage_told
from bellywork.board.piano_kind import PianoKind
from bellywork.conventions import note_name
from bellywork.errors import BellyworkError, BoardError, OutputError
from bellywork.files.cells import NoteTable, note_table
from bellywork.files.columns import TABLES, Column
from bellywork.files.write import replace_input
from bellywork.findings import printable
from bellywork.measures import METRIC, Units

NOTES = "notes.csv"
# What is read at the bench, in the order of reading; lengths and names are typed at a desk
READ = (
    "front_height", "bridge_front", "bridge_rear", "rear_height", "gap_front", "gap_rear", "block", "front_bearing",
    "rear_bearing", "dial", "cap",
)  # fmt: skip
LONGEST_TEXT, LONGEST_REMARK, LONGEST_KEY = 20, 200, 64
MOST_TYPED = 40  # of what was typed that a page lists


class Clash(Exception):
    """Somebody else has written this cell since it was shown; `now` is what it holds."""

    def __init__(self, *, now: str) -> None:
        super().__init__(f"The cell holds '{now}' by now.")
        self.now = now


class Session:
    """The bench of one folder. Safe to be asked from several threads.

    Raises OutputError where the folder cannot be written to or another bench holds it, BoardError where it has no
    notes.csv that readings could be written to.
    """

    def __init__(self, folder: Path, units: Units = METRIC) -> None:
        self.folder, self.units = folder, units
        self._lock = threading.RLock()
        if not folder.is_dir():
            raise BoardError(
                f"There is no folder '{folder}'. Check the name, or start a board folder with 'bellywork new'."
            )
        self._table = note_table(folder / NOTES)
        self._journal = Journal(folder)
        self._answers = Answerer(folder, units)
        self._telling = threading.Lock()
        self._stages: dict[str, tuple[tuple[int, Answered], dict[str, Any]]] = {}
        self._doubted: dict[tuple[int, str], str] = {}
        self._revision = 1
        try:
            self.caught_up = self._catch_up()
        except BellyworkError:
            self._journal.close()
            raise
        self._answers.ask()

    def close(self) -> None:
        """Let another bench have the folder."""
        self._answers.close()
        self._journal.close()

    @property
    def revision(self) -> tuple[int, int]:
        """Changes when readings or answers do: whoever has this one has nothing to fetch."""
        self._look()
        return self._seen

    @property
    def _seen(self) -> tuple[int, int]:
        return self._revision, self._answers.number

    def state(self) -> dict[str, Any]:
        """Everything that a page shows."""
        with self._lock:
            self._look()
            answer = self._answers.last
            kind = PianoKind.GRAND if answer.described is None else answer.described.board.kind
            return {
                "revision": list(self._seen),
                "columns": [_column(column, head) for column, head in self._columns()],
                "notes": [self._note(note, answer) for note in sorted(self._table.cells)],
                "next": self._next(answer),
                "typed": [self._typed(entry) for entry in self._journal.to_take_back[:MOST_TYPED]],
                "measured": _measured(answer),
                "busy": self._answers.busy,
                "moves": move_units(self.units, kind),
                **answer.told(),
            }

    def answer(self, *, within_s: float = 0.0) -> Answered:
        """The last answer; the next one where it is there within so many seconds."""
        return waited(self._answers, within_s)

    def read(self, typed: Mapping[str, Any]) -> dict[str, Any]:
        """Take a reading: journal, table, then answer. What it says may be a doubt; the reading is kept all the same.

        typed   key, note, column, text, before; force: write over what somebody else wrote; remark

        Raises BoardError for what is no reading, Clash where the cell was changed since, OutputError where it could
        not be kept.
        """
        with self._lock:
            self._look()
            self._catch_up()
            reading = self._reading(typed)
            if reading.key in self._journal:  # the line broke before the answer arrived: it is here already
                return {"revision": list(self._seen), "doubt": ""}
            now = self._table.cells[reading.note][reading.column]
            if now != reading.before and not typed.get("force") and now != reading.text:
                raise Clash(now=now)
            self._table.with_cell(reading.note, reading.column, reading.text)  # or it says why not, before it is kept
            self._journal.add(reading)
            self._into_table(reading)
            self._answers.ask()
            doubt = self._doubted[reading.note, reading.column] = doubt_of(self._table, reading)
            return {"revision": list(self._seen), "doubt": doubt}

    def add_row(self, typed: Mapping[str, Any]) -> dict[str, Any]:
        """Take a press trial, or what was read of a note at a later stage, as a row of its table.

        typed   key, table ("trials" or "readings"), cells: text by the columns' names without units

        Raises BoardError for what is no such row, OutputError where it could not be kept.
        """
        return self._kept(typed, lambda key: new_row(self.folder, typed, key, self._notes, self.units))

    @property
    def _notes(self) -> set[int]:
        """The notes of which something can be read later: every note of the instrument, once it is answered."""
        described = self._answers.last.described
        line = None if described is None else described.board.strings
        return set(self._table.cells) | set([] if line is None else line.note.tolist())

    def take_out(self, typed: Mapping[str, Any]) -> dict[str, Any]:
        """Take a press trial out again: key, trial. Raises BoardError where there is none of that name."""
        return self._kept(typed, lambda key: trial_out(self.folder, typed, key))

    def take_back(self, typed: Mapping[str, Any]) -> dict[str, Any]:
        """Take back a reading, whose cell then holds what it held before, or a row: key, of (the key it was typed by).

        Raises BoardError where there is no such entry that stands, or its cell or row was changed since.
        """
        return self._kept(typed, lambda key: self._back(typed.get("of"), key))

    def _back(self, of: Any, key: str) -> Entry:
        entry = next((each for each in self._journal.to_take_back if each.key == of), None)
        if entry is None:
            raise BoardError("That is not there any more to be taken back.")
        if isinstance(entry, NewRow):
            return row_back(self.folder, entry, key, self.units)
        holds = self._table.cells.get(entry.note, {}).get(entry.column)
        if holds != entry.text:
            raise BoardError(f"{entry.column} of note {entry.note} holds '{holds or ''}' by now; it stays so.")
        self._table.with_cell(entry.note, entry.column, entry.before)
        self._doubted.pop((entry.note, entry.column), None)
        return replace(entry, key=key, text=entry.before, before=entry.text, at=now(), remark="", rh="")

    def _typed(self, entry: Reading | NewRow) -> dict[str, str]:
        """One line of the list of what was typed."""
        if isinstance(entry, NewRow):
            dull = ("date", "rh_percent")
            words = ", ".join(text for name, text in entry.cells.items() if name not in dull)
            return {"of": entry.key, "what": f"{entry.table}: {words}", "at": entry.at, "rh": entry.rh}
        held = entry.before or "nothing"
        what = f"{note_name(entry.note)}, {entry.column.replace('_', ' ')}: {entry.text or 'nothing'}, before {held}"
        return {"of": entry.key, "what": what, "at": entry.at, "rh": entry.rh}

    def _kept(self, typed: Mapping[str, Any], entry_of: Callable[[str], Entry]) -> dict[str, Any]:
        key = typed.get("key")
        if not isinstance(key, str) or not 0 < len(key) <= LONGEST_KEY or printable(key) != key:
            raise BoardError("What is sent has a key of its own, so that it counts once.")
        with self._lock:
            self._look()
            self._catch_up()
            if key not in self._journal:
                entry = entry_of(key)
                self._journal.add(entry)
                self._into_table(entry)
                self._answers.ask()
            return {"revision": list(self._seen)}

    def told(self, stage: str) -> dict[str, Any]:
        """What a stage of the work tells, see `stages.STAGES`; worked out once for each state of the folder.

        Raises as the commands do that answer the same.
        """
        with self._telling:
            made_of = self._answers.number, self._answers.last
            if stage not in self._stages or self._stages[stage][0] != made_of:
                self._stages[stage] = made_of, stage_told(stage, self._answers.last, self.folder, self.units)
            return self._stages[stage][1]

    def _catch_up(self) -> list[Entry]:
        """Bring to the tables what the journal has and they have not, in the order of its coming.

        So that a reading whose table could not be written is not acknowledged when it is sent again, until it stands
        there. Raises OutputError where a table does not take it.
        """
        left = list(self._journal.left)
        for entry in left:
            try:
                if self._journal.overtaken(entry):
                    self._journal.taken(entry.key)
                else:
                    self._into_table(entry, again=True)
            except BoardError as error:
                raise OutputError(f"Kept in the journal, but not in its table ({entry}): {error}") from None
        return left

    def _into_table(self, entry: Entry, *, again: bool = False) -> Entry:
        """Bring an entry of the journal into its table; `again`: unless it got there before the bench was killed."""
        if isinstance(entry, Reading):
            table = self._as_it_stands()
            changed = table.with_cell(entry.note, entry.column, entry.text)
            if changed != table.data:
                replace_input(table.path, changed, table.data)
                table = note_table(table.path)
            self._table = table
        else:
            into_rows(self.folder, entry, self.units, again=again)
        self._journal.taken(entry.key)
        self._revision += 1
        return entry

    def _as_it_stands(self) -> NoteTable:
        """The table as its file holds it, read anew only where that was changed."""
        path = self.folder / NOTES
        return self._table if path.read_bytes() == self._table.data else note_table(path)

    def _look(self) -> None:
        """Take up what was changed in the folder outside of the bench."""
        with self._lock:
            if self._answers.outdated():
                self._answers.ask()
            try:
                table = self._as_it_stands()
                if table is not self._table:
                    self._table = table
                    self._revision += 1
            except (OSError, BoardError):
                return  # half-saved by another program: what was last read stands until it is whole

    def _columns(self) -> list[tuple[Column, str]]:
        """The columns read at the bench that the table has, with their headers as they stand."""
        known = {name: column for column in TABLES["notes"].columns if column.stem in READ for name in column.units}
        found = [(known[head], head) for head in self._table.header if head in known]
        return sorted(found, key=lambda each: READ.index(each[0].stem))

    def _reading(self, typed: Mapping[str, Any]) -> Reading:
        """The reading as it was typed, every part of it looked at."""
        note, words = typed.get("note"), [typed.get(name, "") for name in ("text", "key", "before", "remark", "column")]
        if not all(isinstance(word, str) for word in words) or not isinstance(note, int):
            raise BoardError("A reading has a key, a note, a column, the text and what stood there before.")
        text, key, before, remark, column = words
        longest = (LONGEST_TEXT, LONGEST_KEY, 10 * LONGEST_TEXT, LONGEST_REMARK, LONGEST_KEY)
        if any(len(word) > most or printable(word) != word for word, most in zip(words, longest)) or not key:
            raise BoardError("A reading is a short number; a remark has up to 200 plain letters.")
        heads = {head: column for column, head in self._columns()}
        if note not in self._table.cells or column not in heads:
            raise BoardError(f"{NOTES} has no cell {column} of note {note}.")
        within(heads[column], column, text.strip())
        told = {"at": now(), "remark": remark, "rh": rh_typed(typed)}
        return Reading(key=key, table=NOTES, note=note, column=column, text=text.strip(), before=before, **told)

    def _note(self, note: int, answer: Answered) -> dict[str, Any]:
        cells = self._table.cells[note]
        return {
            "note": note,
            "name": note_name(note),
            "section": cells.get("section", ""),
            "cells": {head: cells[head] for _, head in self._columns()},
            "remark": self._journal.remark(note),
            "told": answer.notes.get(note, {}),
            "reach": answer.reach.get(note),
        }

    def _next(self, answer: Answered) -> list[dict[str, Any]]:
        """The notes to read next; what was read a second time here asks for no third."""
        heads = {column.stem: head for column, head in self._columns()}
        twice = self._journal.read_again
        doubted = [Next(note=note, column=head, why=why) for (note, head), why in self._doubted.items() if why]
        wanted = (
            *lacking(self._table.cells, heads, answer.reference),
            *doubted,
            *(each for each in answer.read_next if not (each.again and each.note in twice)),
        )
        return [each.told() for each in wanted if each.note in self._table.cells][:MOST]


def _measured(answer: Answered) -> str:
    """When and at which humidity the board's heights were read, as its folder says; empty where it does not."""
    if answer.described is None:
        return ""
    climate = answer.described.board.climate
    air = "" if climate.rh_percent is None else f"at {climate.rh_percent:g} % relative humidity"
    told = " ".join(each for each in (climate.date and f"on {climate.date}", air) if each)
    return f"board.toml has the heights read {told}." if told else ""


def _column(column: Column, head: str) -> dict[str, str]:
    words = column.stem.replace("_", " ")
    return {"head": head, "label": words, "unit": column.units[head].suffix, "meaning": column.meaning}
