"""What a shop's finished boards taught of the boards that it makes."""

from __future__ import annotations

from dataclasses import dataclass

from bellywork.board.arrays import Floats, floats, keep


@dataclass(frozen=True, kw_only=True, eq=False)
class Shop:
    """A shop's next board as its finished ones let expect it, beside what the book says of the same description.

    boards       names of the boards that taught it
    woods        of their panels
    keys         what is meant: keys of the table of scatter
    mean         natural logarithm of the factor on each, (keys,), stiffer positive
    covariance   of the next board about it, (keys, keys)

    Raises BoardError where the shapes do not fit.
    """

    boards: tuple[str, ...]
    woods: tuple[str, ...]
    keys: tuple[str, ...]
    mean: Floats
    covariance: Floats

    def __post_init__(self) -> None:
        n = len(self.keys)
        keep(self, mean=floats(self.mean, (n,), "mean"), covariance=floats(self.covariance, (n, n), "covariance"))
