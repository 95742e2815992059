"""The hard errors. Everything that bellywork raises on purpose has one root and is also the builtin it resembles."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bellywork.findings import Finding


class BellyworkError(Exception):
    """Root of all errors that bellywork raises on purpose."""


class BoardError(BellyworkError, ValueError):
    """A board was put together from values that cannot be one."""


class MissingLayer(BellyworkError, LookupError):
    """A question was asked that the data given cannot answer: strings, scale or body are missing."""


class UnusableInput(BellyworkError, ValueError):
    """A folder or file cannot be used; `findings` holds every reason found, not only the first."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        super().__init__("\n".join(str(finding) for finding in findings))


class OutputError(BellyworkError, OSError):
    """A result could not be written; nothing was left half-written."""


class MissingExtra(BellyworkError, ImportError):
    """What was asked for needs a library that a plain installation does not bring."""


class SheetError(BellyworkError, ValueError):
    """A sheet cannot be drawn as it was asked for: the paper is too small, or the format has no place for it."""


class SolveError(BellyworkError, ArithmeticError):
    """A solution was found wanting: its residual, equilibrium or energy does not hold, or it did not converge."""
