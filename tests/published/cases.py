"""What a published check is: a value printed elsewhere, the same value computed here, and how near it has to be.

Each ``test_*.py`` beside this file holds one SOURCE; ``write_validation.py`` makes docs/validation.md out of them all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import pytest


@dataclass(frozen=True)
class Case:
    """One number: what it is, its unit, the published value and how it was come by, ours, and the tolerance in %.

    `known` says how the published value was come by: "read", "second-hand copy", "from memory", or "computed" for a
    value that is not printed anywhere but was computed apart from this project, or by another library in the test
    (then `published` is a call).
    """

    what: str
    unit: str
    published: float | Callable[[], float]
    known: str
    ours: Callable[[], float]
    tolerance_percent: float

    @cached_property
    def value(self) -> float:
        return float(self.ours())

    @cached_property
    def reference(self) -> float:
        return float(self.published() if callable(self.published) else self.published)

    @property
    def difference_percent(self) -> float:
        return 100.0 * (self.value / self.reference - 1.0)


@dataclass(frozen=True)
class Source:
    """A source with its cases: what it is, what is compared, and why the tolerances are what they are."""

    title: str
    cite: str
    about: str
    why: str
    cases: tuple[Case, ...]


def check(source: Source) -> pytest.MarkDecorator:
    """Parametrizes a test over the source's cases."""
    return pytest.mark.parametrize("case", source.cases, ids=[case.what for case in source.cases])


def agrees(case: Case) -> None:
    """Fails unless ours is within the case's tolerance of the published value."""
    assert abs(case.difference_percent) <= case.tolerance_percent, (
        f"{case.what}: ours {case.value:.6g} {case.unit}, published {case.reference:.6g} ({case.known}), "
        f"{case.difference_percent:+.2f} %"
    )
