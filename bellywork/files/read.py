"""A board folder, read: one TOML file and its tables, every finding gathered."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from bellywork.board.board import Board
from bellywork.errors import UnusableInput
from bellywork.files import bodies, strings
from bellywork.files.columns import TABLES
from bellywork.files.gather import Gathered, nearest
from bellywork.files.settings import Settings, settings_from
from bellywork.files.sources import LARGEST_BYTES, RawTable, csv_rows, xlsx_rows
from bellywork.files.tables import Table, table_from
from bellywork.findings import Finding, Level, Place

TOML = "board.toml"
WORKBOOK = "board.xlsx"


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


def read_board(folder: Path | str) -> BoardFile:
    """Read a board folder, or the folder of the `board.toml` that is named.

    Rows with a mistake are never dropped in silence: each is a finding, and its table does not reach the board.

    Raises UnusableInput, with every finding, where there is no folder, no readable board.toml, or nothing in it that
    anything could be computed from.
    """
    gathered = Gathered()
    folder = _folder(Path(folder), gathered)
    settings = settings_from(folder / TOML, gathered)
    tables = _tables(folder, gathered)
    if settings is None:
        raise UnusableInput(tuple(gathered.findings))
    board = _board(settings, tables, gathered)
    if board.strings is None and board.body is None:
        if not gathered.findings:
            gathered.add("nothing-described", Place(file=folder.name), "no tables",
                         "notes.csv for the string line, or outline.csv for the board itself",
                         "Start a folder with 'bellywork new' to see them.", level=Level.UNUSABLE)  # fmt: skip
        raise UnusableInput(tuple(gathered.findings))
    return BoardFile(board=board, findings=tuple(gathered.findings), fingerprint=_fingerprint(folder), folder=folder)


def input_files(folder: Path) -> list[Path]:
    """The files of a folder that a board is read from, by name."""
    names = {TOML, WORKBOOK, *(f"{name}{end}" for name in TABLES for end in (".csv", ".xlsx"))}
    return sorted(path for path in folder.iterdir() if path.name in names or _is_readings(path))


def _folder(folder: Path, gathered: Gathered) -> Path:
    """The folder itself; raises UnusableInput where there is none, or where it holds no board.toml."""
    if folder.name == TOML:
        folder = folder.parent
    try:
        there = folder.is_dir()
        listed = sorted(path.name for path in folder.iterdir()) if there else []
    except (OSError, RuntimeError) as error:
        there, listed = False, [str(error)]
    if not there:
        gathered.add("folder-missing", Place(), f"no folder '{folder}'", "a board folder",
                     "Check the name, or start one with 'bellywork new'.", level=Level.UNUSABLE)  # fmt: skip
    elif TOML not in listed:
        gathered.add("toml-missing", Place(file=TOML), "no such file in the folder", "board.toml",
                     nearest(TOML, listed) if listed else "Start a folder with 'bellywork new'.",
                     level=Level.UNUSABLE)  # fmt: skip
    if gathered.findings:
        raise UnusableInput(tuple(gathered.findings))
    return folder


def _tables(folder: Path, gathered: Gathered) -> dict[str, Table]:
    tables = {}
    for name in TABLES:
        places = [folder / f"{name}.csv", folder / f"{name}.xlsx"]
        there = [path for path in places if path.exists() or path.is_symlink()]
        if len(there) == 2:
            gathered.add("table-twice", Place(file=there[1].name), f"{name} as .csv and as .xlsx", "one of them",
                         "Take one of the two files away.")  # fmt: skip
        raw: RawTable | None = None
        if there:
            raw = csv_rows(there[0], gathered) if there[0].suffix == ".csv" else xlsx_rows(there[0], None, gathered)
        elif (folder / WORKBOOK).exists():
            raw = xlsx_rows(folder / WORKBOOK, name, gathered)
        if raw is not None:
            tables[name] = table_from(name, raw, gathered)
    for path in sorted(folder.iterdir()):
        if path.suffix in (".csv", ".xlsx") and path.stem not in TABLES and path.name != WORKBOOK:
            if _is_readings(path):
                raw = csv_rows(path, gathered) if path.suffix == ".csv" else xlsx_rows(path, None, gathered)
                if raw is not None:
                    more = table_from("readings", raw, gathered)
                    tables[path.stem] = more
            elif not _is_result(path):
                gathered.add("file-unknown", Place(file=path.name), f"a table called {path.stem}",
                             "one of the tables that bellywork knows",
                             nearest(path.stem, TABLES), level=Level.ADVICE)  # fmt: skip
    return tables


def _board(settings: Settings, tables: dict[str, Table], gathered: Gathered) -> Board:
    sound = {name: table for name, table in tables.items() if table.sound}
    line = strings.string_line(sound["notes"], gathered) if "notes" in sound else None
    scale = strings.scale(sound["scale"], settings.pitch_Hz, gathered) if "scale" in sound else None
    plan = strings.string_plan(sound["string_plan"], gathered) if "string_plan" in sound else None
    if "notes" not in tables:
        for name in ("scale", "string_plan", "sink", "targets"):
            if name in tables:
                gathered.add("notes-missing", Place(file=tables[name].file), "no notes table", "the table notes.csv",
                             "Add it: this table belongs to its notes.")  # fmt: skip
    if line is None or not strings.same_notes(line, scale, "scale.csv", gathered):
        scale = None
    if line is None or not strings.same_notes(line, plan, "string_plan.csv", gathered):
        plan = None
    made = bodies.body(sound, settings, gathered) if _body_sound(tables) else None
    return Board(
        name=settings.name,
        strings=line,
        plan=plan,
        scale=scale,
        body=made,
        plate=bodies.plate(sound, gathered),
        measured_in=settings.state,
        climate=settings.climate,
        targets=strings.targets(sound["targets"], gathered) if "targets" in sound else (),
        rules=settings.rules,
        preload=bodies.preload(sound["preload"], plan, gathered) if "preload" in sound else (),
        sinks=strings.sinks(sound["sink"], gathered) if "sink" in sound else (),
        readings=tuple(
            reading
            for name, table in sound.items()
            if name.startswith("readings")
            for reading in bodies.readings(table, gathered)
        ),
    )


def _body_sound(tables: dict[str, Table]) -> bool:
    return all(tables[name].sound for name in ("outline", "ribs", "bridges", "thickness", "crown") if name in tables)


def _is_readings(path: Path) -> bool:
    return path.stem.startswith("readings") and path.suffix in (".csv", ".xlsx")


def _is_result(path: Path) -> bool:
    from bellywork.files.write import is_ours

    return is_ours(path)


def _fingerprint(folder: Path) -> str:
    digest = hashlib.sha256()
    for path in input_files(folder):
        if path.is_file() and path.stat().st_size <= LARGEST_BYTES:
            data = path.read_bytes()
            digest.update(f"{path.name}\0{len(data)}\0".encode())
            digest.update(data)
    return digest.hexdigest()
