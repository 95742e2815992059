"""Results written whole or not at all, and never over a file that bellywork did not write itself."""

from __future__ import annotations

import contextlib
import os
import tempfile
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
)


def is_ours(path: Path) -> bool:
    """Whether a file is a result that bellywork wrote."""
    try:
        with path.open("rb") as file:
            start = file.read(800)
    except OSError:
        return False
    return start.startswith(MARK.encode()) or any(mark in start for mark in _OTHER_MARKS)


def write_result(path: Path, content: str | bytes) -> None:
    """Write a file whole or not at all: to a new file beside it, then renamed into place.

    Raises OutputError where the folder cannot be written to, where a file stands there that is no result, or where the
    result would be taken for a table of a board.
    """
    try:
        if os.path.lexists(path) and not (path.is_file() and not path.is_symlink() and is_ours(path)):
            raise OutputError(f"{path} is there already and is no result of bellywork; give another name.")
        if is_input(path.name) and (path.parent / TOML).exists():
            raise OutputError(f"{path} would be read as a table of the board in that folder; give another name.")
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".bellywork-", suffix=".part")
    except OSError as error:
        if isinstance(error, OutputError):
            raise
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
        os.replace(temporary, path)
    except OSError as error:
        raise OutputError(f"{path} could not be written ({_reason(error)}); nothing was changed.") from None
    finally:
        with contextlib.suppress(FileNotFoundError):  # it was renamed
            os.unlink(temporary)


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
