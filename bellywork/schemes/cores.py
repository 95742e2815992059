"""One function over many things on all cores, or wherever joblib's back end in force takes it."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable
from typing import TypeVar

Thing = TypeVar("Thing")
Result = TypeVar("Result")


def on_all_cores(function: Callable[[Thing], Result], things: Iterable[Thing]) -> list[Result]:
    """The function's results for each of the things, in their order; a single thing stays in this process."""
    from joblib import Parallel, delayed

    each = list(things)
    with warnings.catch_warnings():
        # A worker that has grown by a board's size is replaced by a fresh one, which is as it should be. Where warnings
        # are errors, this one would end the thread that waits for the workers, and the wait would never end.
        warnings.filterwarnings("ignore", "A worker stopped while some jobs were given", UserWarning)
        return list(Parallel(n_jobs=-1 if len(each) > 1 else 1)(delayed(function)(thing) for thing in each))
