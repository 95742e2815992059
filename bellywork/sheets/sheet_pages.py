"""A sheet for the bench: sentences and tables, drawings at full size, and its cautions; then its pages on a paper."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bellywork.board.piano_kind import PianoKind
from bellywork.sheets.drawing import Drawing, Page
from bellywork.sheets.flow import Block, laid_out
from bellywork.sheets.frame import PageFrame, Paper, Stamp, stamped
from bellywork.sheets.tiles import laid, stacked


def worded(sentences: Sequence[str], kind: PianoKind) -> tuple[str, ...]:
    """Sentences whose {words} are those of a grand or of an upright, by the names that `PianoKind` has for them.

    >>> worded(["Take {studs} out."], PianoKind.UPRIGHT)
    ('Take the bolts to the posts out.',)
    """
    return tuple(re.sub(r"\{(\w+)\}", lambda match: str(getattr(kind, match[1])), sentence) for sentence in sentences)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One kind of sheet, before paper is chosen.

    name       short name, for files
    blocks     what stands on its first pages
    drawings   what is drawn at full size after them
    """

    name: str
    title: str
    cautions: tuple[str, ...]
    blocks: tuple[Block, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    landscape: bool = False

    def pages(self, paper: Paper, stamp: Stamp) -> tuple[Page, ...]:
        """The sheet's pages; raises SheetError where the paper is too small for a drawing."""
        frame = PageFrame(
            paper=replace(paper, roll=False), stamp=stamp, title=self.title, cautions=self.cautions,
            landscape=self.landscape,
        )  # fmt: skip
        pages = laid_out(self.blocks, frame) if self.blocks else ()
        lying = replace(frame, paper=paper, landscape=True)
        return pages + laid(self.drawings, lying)

    def whole(self, stamp: Stamp) -> Drawing | None:
        """All its drawings on one, with stamp and check bar; None where it has none."""
        if not self.drawings:
            return None
        (one,) = stacked(self.drawings, float("inf"))
        return stamped(replace(one, name=self.name), self.title, stamp, self.cautions)
