"""A board folder, read: one TOML file and its tables, every finding gathered."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from bellywork.board.board import Board
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.errors import BoardError, UnusableInput
from bellywork.files import bodies, plates, readings, scan_points, string_tables, target_table, trials
from bellywork.files.columns import TABLES, TOML, WORKBOOK, is_input
from bellywork.files.derived import caps_mm
from bellywork.files.gather import Gathered, nearest
from bellywork.files.settings import Settings, settings_from
from bellywork.files.shop_file import shop_beside
from bellywork.files.sources import RawTable, Sources, csv_rows
from bellywork.files.start import is_example
from bellywork.files.tables import Table, table_from
from bellywork.files.workbook_tables import workbook_sheets
from bellywork.files.write import is_ours
from bellywork.findings import Finding, Level, Place
from bellywork.geometry.completed import plan_of_every_note

BODY = ("outline", "thickness", "crown", "ribs", "bridges")
Made = TypeVar("Made", Scale, StringPlan)


@dataclass(frozen=True, kw_only=True, eq=False)
class BoardFile:
    """A board as read.

    board         what could be put together; a table that holds a mistake stays out whole
    findings      everything found, in the order of the files
    fingerprint   SHA-256 over the names and bytes of all input files: results carry it
    folder        where it was read from
    """

    board: Board
    findings: tuple[Finding, ...]
    fingerprint: str
    folder: Path

    def beside(self, other: BoardFile) -> BoardFile:
        """The same, with the fingerprint of an answer that is made from the other's files too."""
        digest = hashlib.sha256(f"{self.fingerprint} {other.fingerprint}".encode())
        return replace(self, fingerprint=digest.hexdigest())


def read_board(
    folder: Path | str, *, instead: Mapping[str, Path] | None = None, given: Mapping[str, bytes] | None = None
) -> BoardFile:
    """Read a board folder, or the folder of the `board.toml` that is named.

    instead   CSV files that take the place of tables of the folder, by the table's name
    given     bytes that take the place of files of the folder or stand beside them, by their names: to see what would
              be found before they are written

    No row is dropped in silence: a mistake in it is a finding, and its whole table does not reach the board.

    Raises UnusableInput, with every finding, where there is no folder, no readable board.toml, or nothing in it that
    anything could be computed from.
    """
    gathered = Gathered()
    folder = Path(folder)
    folder = folder.parent if folder.name == TOML else folder
    listed = sorted({*_listed(folder), *(given or {})})
    sources = Sources(folder, gathered, given)
    settings = settings_from(sources)
    tables = _tables([name for name in listed if Path(name).stem not in (instead or {})], sources)
    others = {path: Sources(path.parent, gathered) for path in (instead or {}).values()}
    for name, path in (instead or {}).items():
        raw = csv_rows(others[path], path.name)
        if raw is not None:
            tables[name] = table_from(name, raw, gathered)
    board = None if settings is None else _board(settings, tables, gathered)
    more = list(others.values())
    if board is not None and settings is not None and settings.shop:
        shop, its = shop_beside(sources, settings.shop)
        board, more = replace(board, shop=shop), [*more, its]
    if board is None or (board.strings is None and board.body is None):
        if not {"notes", "outline"} & set(tables):
            gathered.add("nothing-described", Place(), f"neither strings nor a board in '{folder}'",
                         "notes.csv for the string line, or outline.csv for the board itself",
                         "Start a folder with 'bellywork new' to see them.", level=Level.UNUSABLE)  # fmt: skip
        raise UnusableInput(tuple(gathered.findings))
    return BoardFile(
        board=board,
        findings=tuple(gathered.findings),
        fingerprint=sources.fingerprint(*more),
        folder=folder,
    )


def _listed(folder: Path) -> list[str]:
    """Names of the files in a folder; raises UnusableInput where there is no folder, or no board.toml in it."""
    gathered = Gathered()
    listed: list[str] = []
    try:
        listed = sorted(path.name for path in folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        found = f"a file '{folder}'" if folder.is_file() else f"no folder '{folder}'"
        gathered.add("folder-missing", Place(), found, "a board folder",
                     "Check the name, or start one with 'bellywork new'.", level=Level.UNUSABLE)  # fmt: skip
    except OSError as error:
        gathered.add("unreadable", Place(),
                     f"a folder '{folder}' that cannot be read ({(error.strerror or 'no reason').lower()})",
                     "a readable folder", "Check its permissions, and that no link leads back to itself.",
                     level=Level.UNUSABLE)  # fmt: skip
    if not gathered.grave and TOML not in listed:
        near = nearest(TOML, listed)
        gathered.add("toml-missing", Place(file=TOML), f"no such file in '{folder}'",
                     "board.toml, the file that makes a folder a board",
                     near if near.startswith("Did") else "Check the folder, or start one with 'bellywork new'.",
                     level=Level.UNUSABLE)  # fmt: skip
    if gathered.grave:
        raise UnusableInput(tuple(gathered.findings))
    return listed


def _tables(listed: list[str], sources: Sources) -> dict[str, Table]:
    """Every table of the folder, in the order in which tables are described; a file that is none is said."""
    sheets = workbook_sheets(sources, WORKBOOK) if WORKBOOK in listed else {}
    more = [*(Path(name).stem for name in listed if is_input(name)), *sheets]
    tables = {}
    for name in dict.fromkeys([*TABLES, *(name for name in more if name.startswith("readings"))]):
        files = [file for file in (f"{name}.csv", f"{name}.xlsx") if file in listed]
        places = [*files, *([f"{WORKBOOK} [{name}]"] if name in sheets else [])]
        if len(places) > 1:
            sources.gathered.add("table-twice", Place(file=places[1]), f"the table {name} in {' and in '.join(places)}",
                                 "each table once", "Take one of them away.")  # fmt: skip
        raw = _raw(files[0], sources) if files else sheets.get(name)
        if raw is not None:
            tables[name] = table_from(name if name in TABLES else "readings", raw, sources.gathered)
    for name in listed:
        if Path(name).suffix in (".csv", ".xlsx") and not is_input(name) and not is_ours(sources.folder / name):
            sources.gathered.add("file-unknown", Place(file=name), "a table of this name", "a table of a board",
                                 nearest(Path(name).stem, TABLES), level=Level.ADVICE)  # fmt: skip
    for name in listed:
        if is_input(named := name.lower().removesuffix(".txt")) and named != name.lower():
            sources.gathered.add("file-unknown", Place(file=name), "a table that ends in .txt", f"{named}",
                                 f"Take .txt off its name: {named}.")  # fmt: skip
    _say_untouched([table.file for table in tables.values()], sources)
    for name in sheets:
        if name not in TABLES and not name.startswith("readings"):
            sources.gathered.add("file-unknown", Place(file=f"{WORKBOOK} [{name}]"), "a sheet of this name",
                                 "a table of a board", nearest(name, TABLES), level=Level.ADVICE)  # fmt: skip
    return tables


def _say_untouched(names: list[str], sources: Sources) -> None:
    """Say which tables are still those of the example, in one finding."""
    same = [name for name in names if name.endswith(".csv") and is_example(name, sources.text(name) or "")]
    if any(Path(name).stem in ("notes", "outline", "ribs") for name in same):  # two boards may share their struts
        sources.gathered.add("table-untouched", Place(file=same[0]),
                             f"the example of 'bellywork new', unchanged, in {', '.join(same)}", "your own instrument",
                             "Overwrite its rows, or take the file away; answers are the example's until then.",
                             level=Level.ADVICE)  # fmt: skip


def _raw(file: str, sources: Sources) -> RawTable | None:
    """The table of a file: a CSV, or the first sheet of a workbook."""
    if file.endswith(".csv"):
        return csv_rows(sources, file)
    return next(iter(workbook_sheets(sources, file).values()), None)


def _board(settings: Settings, tables: dict[str, Table], gathered: Gathered) -> Board:
    """The board of what is sound; tables that are not are looked through all the same, for all findings at once."""
    notes = tables.get("notes")
    strings = _scale(tables, settings, gathered)
    edge = settings.straightedge_mm
    read = None if notes is None else gathered.clean(lambda: string_tables.string_line(notes, gathered, edge, strings))
    line, reading = read if read is not None and notes is not None and notes.sound else (None, ())
    scale = _beside("scale", lambda table: strings, tables, line, gathered)
    plan = _beside(
        "string_plan", lambda table: string_tables.string_plan(table, notes, gathered), tables, line, gathered
    )
    body = gathered.clean(lambda: bodies.body(tables, settings, gathered, line, plan))
    body = body if all(tables[name].sound for name in BODY if name in tables) else None
    if line is not None and body is not None:
        line = replace(line, cap_mm=caps_mm(line, plan, body.bridges))
    at = {name: table for name, table in tables.items() if table.sound}
    every = _every_note(plan, line)
    return Board(
        name=settings.name,
        kind=settings.kind,
        strings=line,
        scale=scale,
        plan=plan,
        body=body,
        plate=plates.plate(tables, gathered),
        measured_in=settings.state,
        part_strung=settings.part_strung,
        climate=settings.climate,
        making=settings.making,
        reading=reading,
        targets=target_table.targets(at["targets"], notes, gathered) if "targets" in at else (),
        rules=settings.rules,
        preload=plates.preload(at["preload"], every, gathered) if "preload" in at else (),
        sinks=string_tables.sinks(at["sink"], notes, gathered) if "sink" in at else (),
        readings=tuple(
            reading
            for name, table in at.items()
            if name.startswith("readings")
            for reading in readings.readings(table, gathered, name)
        ),
        trials=trials.trials(at["trials"], every, body, gathered) if "trials" in at else (),
        scan_points=scan_points.scan_points(at["scan_points"], every, gathered) if "scan_points" in at else (),
    )


def _every_note(plan: StringPlan | None, line: StringLine | None) -> StringPlan | None:
    """The plan at every note that a place may be named by; as it was given where it does not reach, which is said
    where the notes are completed.
    """
    if plan is None or line is None:
        return plan
    try:
        return plan_of_every_note(plan, line)
    except BoardError:
        return plan


def _scale(tables: dict[str, Table], settings: Settings, gathered: Gathered) -> Scale | None:
    """The scale by itself; the heights under a capo bar need its wires."""
    table = tables.get("scale")
    if table is None:
        return None
    made = gathered.clean(lambda: string_tables.scale(table, settings.pitch_Hz, settings.gauge, gathered))
    return made if table.sound else None


def _beside(
    name: str,
    make: Callable[[Table], Made | None],
    tables: dict[str, Table],
    line: StringLine | None,
    gathered: Gathered,
) -> Made | None:
    """The scale or the plan, whose notes must fit those of the line; None, which is said, where they do not."""
    table, notes = tables.get(name), tables.get("notes")
    if table is None:
        return None
    if notes is None:
        gathered.add("notes-missing", Place(file=table.file), "no table of notes", "the table notes.csv",
                     "Add it: this table belongs to its notes.")  # fmt: skip
        return None

    def made() -> Made | None:
        if name != "scale":  # a scale is known for all notes where a dozen were measured
            string_tables.same_notes(notes, table, gathered)
        if line is not None and table.sound:
            string_tables.reaches(line, table, gathered)
        return make(table)

    found = gathered.clean(made)
    return found if table.sound and line is not None else None
