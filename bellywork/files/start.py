"""Starter folders: a board of examples to overwrite with what was measured."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from bellywork.errors import BoardError, OutputError
from bellywork.files.columns import TABLES
from bellywork.files.reference import table_reference

KINDS = ("grand", "upright", "strings")


def is_example(name: str, text: str) -> bool:
    """Whether a table still is what a starter folder brings; one that brings only blank cells to fill is none."""
    starters = files("bellywork.files.starters")
    kept = "\n".join(text.splitlines())
    return name != "sink.csv" and any(
        "\n".join(item.read_text(encoding="utf-8").splitlines()) == kept
        for kind in KINDS
        for item in (starters.joinpath(kind, name),)
        if item.is_file()
    )


def new_folder(folder: Path, kind: str) -> tuple[Path, ...]:
    """Start a board folder of a kind: "grand", "upright" or "strings" (the string line alone); gives the files made.

    Each holds a commented board.toml, tables with example rows, and a README that tells what to measure.

    Raises BoardError for any other kind, OutputError where the folder holds something already or cannot be written;
    then nothing of it is left.
    """
    if kind not in KINDS:
        raise BoardError(f"No starter folder is called {kind!r}; there are {', '.join(KINDS)}.")
    starter = files("bellywork.files.starters").joinpath(kind)
    texts = {item.name: item.read_text(encoding="utf-8") for item in starter.iterdir() if item.is_file()}
    texts["README.md"] += "\n" + table_reference(name for name in TABLES if f"{name}.csv" in texts)
    made: list[Path] = []
    existed = folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise OutputError(f"{folder} holds files already; name a folder that is empty or not there yet.")
        for name, text in sorted(texts.items()):
            with (folder / name).open("x", encoding="utf-8", newline="\n") as file:
                made.append(folder / name)
                file.write(text)
    except OSError as error:
        for path in made:
            path.unlink(missing_ok=True)
        if made and not existed:
            folder.rmdir()
        if isinstance(error, OutputError):
            raise
        reason = (error.strerror or type(error).__name__).lower()
        raise OutputError(f"{folder} cannot be started ({reason}); name a folder that you may write to.") from None
    return tuple(made)
