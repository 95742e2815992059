"""How the board's parts keep their numbers: read-only arrays, checked for shape once, on the way in."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bellywork.errors import BoardError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def keep(owner: object, **arrays: Any) -> None:
    """Set attributes of a frozen dataclass from its ``__post_init__``."""
    for name, value in arrays.items():
        object.__setattr__(owner, name, value)


def floats(values: ArrayLike, shape: tuple[int, ...], what: str) -> Floats:
    """A read-only float array of exactly this shape; -1 in the shape accepts any length.

    Raises BoardError where the shape differs.
    """
    array = np.array(values, dtype=np.float64)
    if array.ndim != len(shape) or any(want not in (-1, got) for want, got in zip(shape, array.shape)):
        raise BoardError(f"{what} has the shape {array.shape}; expected {shape} (-1: any length).")
    array.setflags(write=False)
    return array
