"""The letters of the sheets: a TrueType face that comes with the PDF library, how wide text is, how it breaks."""

from __future__ import annotations

import re
from functools import cache

FACES = {False: ("BellyworkPlain", "Vera.ttf"), True: ("BellyworkBold", "VeraBd.ttf")}
CAPITAL = 0.73  # height of a capital over the size of the face
POINT_MM = 25.4 / 72.0
STAND_INS = str.maketrans({"♯": "#"})  # the face has no sharp


def face(bold: bool) -> str:
    """Name of the face, ready to be used by the PDF library."""
    name, file = FACES[bold]
    _register(name, file)
    return name


@cache
def _register(name: str, file: str) -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont(name, file))


def printable(text: str) -> str:
    """Text as it is printed: a sharp becomes a hash, which the face and every CAD program have; what else the face has
    no letter for becomes a question mark.

    >>> printable("C♯4 −0.5° 水")
    'C#4 −0.5° ?'
    """
    known = _letters()
    return "".join(sign if ord(sign) in known else "?" for sign in text.translate(STAND_INS))


def all_printable(text: str) -> bool:
    """Whether the face has a letter for every sign of a text.

    >>> all_printable("C♯4, né Øre"), all_printable("פסנתר")
    (True, False)
    """
    return printable(text).count("?") == text.count("?")


@cache
def _letters() -> frozenset[int]:
    """Code points that the face has a letter for."""
    from reportlab.pdfbase.pdfmetrics import getFont

    return frozenset(getFont(face(False)).face.charToGlyph)


def true_minus(text: str) -> str:
    """Text with a true minus before its numbers; hyphens stay, and what is to be typed.

    >>> true_minus("-0.5° on 2026-05-04, S-shaped, see --tilt=-0.2,-1")
    '−0.5° on 2026-05-04, S-shaped, see --tilt=-0.2,-1'
    """
    return re.sub(r"(?<![\w=,-])-(?=\d)", "−", text)


def width_mm(text: str, size_mm: float, bold: bool = False) -> float:
    """How wide a line of text is."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(printable(text), face(bold), size_mm))


def wrapped(text: str, size_mm: float, room_mm: float, *, bold: bool = False) -> list[str]:
    """Text broken between words into lines no wider than the room (a single longer word stands alone)."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_mm(longer, size_mm, bold) > room_mm:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
