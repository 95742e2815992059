"""Answers kept in the user's cache folder, so that the second command on a board need not compute what the first did.

An answer is a set of named arrays under a key: a fingerprint of everything it depends on, and of the code that made it.
Files are written whole or not at all and carry a checksum; one that does not hold is made again. What was not used for
longest goes when the folder grows beyond its bound. A folder that cannot be read or written costs time, nothing else.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.board.arrays import Floats

MOST_BYTES = 200_000_000
CHECK = "checksum"
# rooms whose code an answer depends on
COMPUTING = ("board", "geometry", "mechanics", "balance", "seasons", "estimate")


def kept(what: str, depends_on: object, make: Callable[[], Mapping[str, Floats]]) -> dict[str, Floats]:
    """The arrays kept for `what` under everything that it depends on; made and kept where they are not there.

    depends_on   plain data: dataclasses, mappings, sequences, arrays, enums, numbers, words and None
    """
    digest = hashlib.sha256(f"{what} {code_fingerprint()} ".encode())
    _add(digest, depends_on)
    path = folder() / f"{digest.hexdigest()}.npz"
    found = _read(path)
    if found is None:
        found = {name: np.asarray(array, dtype=np.float64) for name, array in make().items()}
        _write(path, found)
    return found


def folder() -> Path:
    """Where answers are kept."""
    from platformdirs import user_cache_path

    return user_cache_path("bellywork", appauthor=False)


@cache
def code_fingerprint() -> str:
    """A fingerprint of the code that computes: names, sizes and times of its files, and the libraries it stands on."""
    import scipy

    here = Path(__file__).parent
    files = [*here.glob("*.py"), *(file for room in COMPUTING for file in (here / room).rglob("*.*"))]
    told = sorted((str(file), file.stat().st_size, file.stat().st_mtime_ns) for file in files)
    return hashlib.sha256(repr((np.__version__, scipy.__version__, told)).encode()).hexdigest()


def fingerprint(value: object) -> str:
    """A fingerprint of plain data, the same for the same values."""
    digest = hashlib.sha256()
    _add(digest, value)
    return digest.hexdigest()


def _add(digest: Any, value: object) -> None:
    """Feed a value to a digest so that no two different values feed the same bytes."""
    if is_dataclass(value) and not isinstance(value, type):
        digest.update(f"<{type(value).__name__}".encode())
        for field in fields(value):
            digest.update(f" {field.name}=".encode())
            _add(digest, getattr(value, field.name))
        digest.update(b">")
    elif isinstance(value, np.ndarray):
        digest.update(f"[{value.dtype.str} {value.shape} ".encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif isinstance(value, Mapping):
        _add(digest, sorted(value.items()))
    elif isinstance(value, (list, tuple)):
        digest.update(f"({len(value)} ".encode())
        for each in value:
            _add(digest, each)
    elif value is None or isinstance(value, (bool, int, float, str, Enum)):
        digest.update(f"{value!r};".encode())
    else:
        raise TypeError(f"A kept answer cannot depend on a {type(value).__name__}.")


def _checksum(arrays: Mapping[str, Floats]) -> Floats:
    digest = hashlib.sha256()
    _add(digest, arrays)
    return np.frombuffer(digest.digest(), dtype=np.uint8).astype(np.float64)


def _read(path: Path) -> dict[str, Floats] | None:
    """The arrays of a file; None where it is not there or does not hold."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
        os.utime(path)  # used just now
    except Exception:  # a file cut short or spoiled may fail in many ways, and is then made again
        return None
    said = arrays.pop(CHECK, None)
    return arrays if said is not None and np.array_equal(said, _checksum(arrays)) else None


def _write(path: Path, arrays: Mapping[str, Floats]) -> None:
    """Write whole or not at all; a folder that cannot be written keeps nothing."""
    part = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        number, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(number, "wb") as out:
            whole: dict[str, Any] = {CHECK: _checksum(arrays), **arrays}
            np.savez(out, **whole)
        os.replace(part, path)
        _bound(path.parent)
    except OSError:
        if part is not None and os.path.exists(part):
            os.unlink(part)


def _bound(there: Path) -> None:
    """Let the files go that were not used for longest, until the rest are within the bound."""
    files = [(file.stat().st_mtime, file.stat().st_size, file) for file in there.iterdir() if file.is_file()]
    over = sum(size for _, size, _ in files) - MOST_BYTES
    for _, size, file in sorted(files):
        if over <= 0:
            return
        file.unlink(missing_ok=True)
        over -= size
