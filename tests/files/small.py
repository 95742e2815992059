"""A small invented board, three notes on a ribbed rectangle: nothing is wrong with it. small_board/ holds it."""

from __future__ import annotations

from pathlib import Path

SMALL = Path(__file__).parent / "small_board"
TEXTS = {path.name: path.read_text(encoding="utf-8") for path in sorted(SMALL.iterdir())}
STRINGS = ("board.toml", "notes.csv")
BODY = ("board.toml", "outline.csv", "ribs.csv", "bridges.csv")


def write_small(folder: Path, names: tuple[str, ...] = tuple(TEXTS), changed: dict[str, str] | None = None) -> Path:
    """Write these files of the small board into a folder; `changed` are whole texts by name, in their place or more."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in ({name: TEXTS[name] for name in names} | (changed or {})).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
