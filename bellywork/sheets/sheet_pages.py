"""A sheet for the bench: sentences and tables, drawings at full size, and its cautions; then its pages on a paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bellywork.sheets.drawing import Box, Drawing, Item, Page, shifted
from bellywork.sheets.flow import Block, laid_out
from bellywork.sheets.frame import PageFrame, Paper, Stamp, stamped
from bellywork.sheets.tiles import room_height_mm, tiled

APART_MM = 3.0


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
        for strip in stacked(self.drawings, room_height_mm(lying)):
            pages += tiled(strip, replace(lying, title=f"{self.title}: {strip.name}"))
        return pages

    def whole(self, stamp: Stamp) -> Drawing | None:
        """All its drawings on one, with stamp and check bar; None where it has none."""
        if not self.drawings:
            return None
        (one,) = stacked(self.drawings, float("inf"))
        return stamped(replace(one, name=self.name), self.title, stamp, self.cautions)


def stacked(drawings: Sequence[Drawing], height_mm: float) -> tuple[Drawing, ...]:
    """Drawings one under another, left edges in line, as many on each as `height_mm` allows.

    >>> low = Drawing(name="a", box=Box(left=5.0, bottom=0.0, right=9.0, top=40.0), items=())
    >>> [strip.name for strip in stacked([low, low, low], 100.0)]
    ['a, a', 'a']
    """
    strips: list[list[Drawing]] = []
    used = float("inf")
    for drawing in drawings:
        if used + APART_MM + drawing.box.height > height_mm or not strips:
            strips.append([])
            used = -APART_MM
        strips[-1].append(drawing)
        used += APART_MM + drawing.box.height
    return tuple(map(_one_strip, strips))


def _one_strip(drawings: Sequence[Drawing]) -> Drawing:
    items: list[Item] = []
    y = width = 0.0
    for drawing in drawings:
        box = drawing.box
        items += shifted(drawing.items, -box.left, y - box.top)
        y -= box.height + APART_MM
        width = max(width, box.width)
    whole = Box(left=0.0, bottom=y + APART_MM, right=width, top=0.0)
    return Drawing(name=", ".join(drawing.name for drawing in drawings), box=whole, items=tuple(items))
