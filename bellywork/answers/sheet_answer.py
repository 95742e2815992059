"""The sheets that were written, told."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bellywork.answers.answer import Answer, paragraph
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.measures import Units, counted
from bellywork.quantities import said
from bellywork.solids.parts import BodySolids

SCHEMA = "bellywork-sheet/2"
AT_FULL_SIZE = (
    "Print at 100 %, not fitted to the page, and measure the bar (100 mm, or 4 in) before you use a template."
)
UNPRINTED = "The sheets' letters have no sign for some of the board's name: '?' stands there on paper."
TO_LOOK_AT = "There is something to look at before you cut: the sheets say what."


def sheet_answer(
    name: str,
    written: Sequence[tuple[str, Path, int | None]],
    solids: BodySolids | None,
    units: Units,
    *,
    act: bool = False,
    printable: bool = True,
) -> Answer:
    """The answer of `bellywork sheet`.

    written   sheet and path of each file, and the pages of a PDF
    solids    the board's parts, where they were written
    act       whether the sheets tell of something to look at or to mend
    printable whether the sheets have a letter for every sign of the board's name
    """
    rows = [
        {"sheet": sheet, "format": path.suffix[1:], "pages": pages, "file": str(path)} for sheet, path, pages in written
    ]
    files = [f"{path}, {counted(pages, 'page')}" if pages else str(path) for _, path, pages in written]
    told = [AT_FULL_SIZE] if any(pages for *_, pages in written) else []
    told += [TO_LOOK_AT] if act else []
    told += [] if printable else [UNPRINTED]
    return Answer(
        schema=SCHEMA,
        title=f"{name}: {counted(len(files), 'file')} written",
        headline=tuple(told),
        body=(paragraph("Written", files), "" if solids is None else _solid_words(solids, units)),
        parts=filled(FORMS[SCHEMA], {"written": rows}),
        assumptions=(),
        act=act,
    )


def _solid_words(solids: BodySolids, units: Units) -> str:
    x, y, z = (said("size_mm", float(mm), units) for mm in solids.centre_mm)
    return (
        f"Panel, ribs and bridges weigh {said('mass_kg', solids.mass_kg, units)}; centre of gravity {x}, {y}, {z}. STL "
        "and PLY are in mm, GLB in metres as that format wants it."
    )
