"""Results written whole or not at all, and never over a file that bellywork did not write itself."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

from bellywork.errors import OutputError
from bellywork.files.columns import TOML, is_input

MARK = "# bellywork result"  # first line of every CSV result; lines with # are skipped when a table is read
# and what tells other kinds of result: JSON, pictures, pages and sheets
_OTHER_MARKS = (
    b'"schema": "bellywork-',
    b"Software\x00bellywork",
    b"<dc:title>bellywork</dc:title>",
    b'name="generator" content="bellywork"',
    b"\x93\x8c\x8b\x9e bellywork result",  # second line of a PDF
    b"999\nbellywork result\n",  # comment at the head of a DXF
    b"bellywork result, mm",  # header of an STL, comment of a PLY
    b'"generator":"bellywork result"',  # of a GLB
)
PART_START, PART_END, OLD_S = ".bellywork-", ".part", 3600.0  # a file still being written, and when it is none
ARCHIVE_MARK = b"bellywork result"  # comment at the end of a workbook, which is a ZIP archive


def is_ours(path: Path) -> bool:
    """Whether a file is a result that bellywork wrote."""
    try:
        with path.open("rb") as file:
            start = file.read(800)
            file.seek(max(file.seek(0, os.SEEK_END) - len(ARCHIVE_MARK), 0))
            end = file.read()
    except OSError:
        return False
    return start.startswith(MARK.encode()) or any(mark in start for mark in _OTHER_MARKS) or end == ARCHIVE_MARK


def write_result(path: Path, content: str | bytes) -> None:
    """Write a file whole or not at all: to a new file beside it, then renamed into place.

    Raises OutputError where the folder cannot be written to, where a file stands there that is no result, or where the
    result would be taken for a table of a board.
    """
    write_results({path: content})


def write_results(contents: Mapping[Path, str | bytes]) -> None:
    """Write several files, all of them or none: each to a new file beside it, and all renamed once all are written.

    Raises OutputError as `write_result` does; only where a renaming itself fails may earlier ones of the set stand.
    """
    for path in contents:
        _refuse_foreign(path)
    for folder in {path.parent for path in contents}:
        _clean(folder)
    written: dict[Path, str] = {}
    try:
        for path, content in contents.items():
            written[path] = _beside(path, content)
        for path, temporary in written.items():
            try:
                os.replace(temporary, path)
            except OSError as error:
                raise OutputError(f"{path} could not be written ({_reason(error)}).") from None
    finally:
        for temporary in written.values():
            with contextlib.suppress(FileNotFoundError):  # it was renamed
                os.unlink(temporary)


def replace_input(path: Path, content: bytes | None, was: bytes | None) -> None:
    """Put other bytes in the place of a table of a board, whole or not at all, if it still holds what it did.

    content   None: take the file away
    was       None: there was no such file

    Raises OutputError where it was changed meanwhile, or cannot be written.
    """
    _clean(path.parent)
    temporary = None if content is None else _beside(path, content)
    try:
        same = (path.read_bytes() if path.exists() else None) == was
        if same and temporary is not None:
            os.replace(temporary, path)
        elif same:
            path.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(f"{path} could not be written ({_reason(error)}).") from None
    finally:
        if temporary is not None:
            with contextlib.suppress(FileNotFoundError):  # it was renamed
                os.unlink(temporary)
    if not same:
        raise OutputError(f"{path} was changed by somebody else meanwhile; nothing was written to it.")


def write_new_results(folder: Path, contents: Mapping[str, str | bytes]) -> dict[str, Path]:
    """Write several files by their names into a folder, over none that stands there; gives the path of each.

    Where any of the names is taken, all get the first number that is free for all of them (bearing-2.pdf,
    bridge-2.pdf), so that one run stays together. A name is taken by making the file, so that of two runs at one time
    each has its own.

    Raises OutputError as `write_result` does; then none of the files stands.
    """
    number = 1
    while True:
        paths = {name: _numbered(folder / name, number) for name in contents}
        taken: list[Path] = []
        try:
            for path in paths.values():
                _take(path)
                taken.append(path)
            write_results({paths[name]: content for name, content in contents.items()})
            return paths
        except FileExistsError:
            number += 1
            _give_back(taken)
        except BaseException:
            _give_back(taken)
            raise


def _numbered(path: Path, number: int) -> Path:
    return path if number == 1 else path.with_stem(f"{path.stem}-{number}")


def _take(path: Path) -> None:
    """Make an empty result, or raise FileExistsError where anything stands there."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(MARK)
    except FileExistsError:
        raise
    except OSError as error:
        raise OutputError(
            f"{path} cannot be written ({_reason(error)}); give a folder that you may write to."
        ) from None


def _give_back(taken: list[Path]) -> None:
    for path in taken:
        path.unlink(missing_ok=True)


def _clean(folder: Path) -> None:
    """Take away what runs that were killed have left half-written; what is young may belong to one that still runs."""
    for path in folder.glob(f"{PART_START}*{PART_END}"):
        with contextlib.suppress(OSError):  # not ours to delete, or another run was quicker
            if time.time() - path.stat().st_mtime > OLD_S:
                path.unlink()


def _refuse_foreign(path: Path) -> None:
    if os.path.lexists(path) and not (path.is_file() and not path.is_symlink() and is_ours(path)):
        raise OutputError(f"{path} is there already and is no result of bellywork; give another name.")
    if is_input(path.name) and (path.parent / TOML).exists():
        raise OutputError(f"{path} would be read as a table of the board in that folder; give another name.")


def _beside(path: Path, content: str | bytes) -> str:
    """Name of a new file beside `path` that holds the content; nothing is left where that fails."""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=PART_START, suffix=PART_END)
    except OSError as error:
        raise OutputError(
            f"{path} cannot be written ({_reason(error)}); give a folder that you may write to."
        ) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(temporary, 0o666 & ~umask)
    except OSError as error:
        os.unlink(temporary)
        raise OutputError(f"{path} could not be written ({_reason(error)}); nothing was changed.") from None
    return temporary


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
