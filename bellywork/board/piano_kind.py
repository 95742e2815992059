"""Grand or upright: the same board, told with other words. What stands here is common practice, no source."""

from __future__ import annotations

from enum import Enum


class PianoKind(Enum):
    """How the piano stands; nothing is computed otherwise for it."""

    GRAND = "grand"
    UPRIGHT = "upright"

    @property
    def far(self) -> str:
        """Where y leads to."""
        return "tail" if self is PianoKind.GRAND else "bottom"

    @property
    def bolts(self) -> str:
        """What holds the plate down besides its rim, and bends it where it is set wrong."""
        return "nose bolts" if self is PianoKind.GRAND else "the bolts to the posts"

    @property
    def studs(self) -> str:
        """What is taken out of the plate's way before it is lifted."""
        return "nose-bolt studs" if self is PianoKind.GRAND else "the bolts to the posts"

    @property
    def clamped(self) -> str:
        """Where the board is clamped hard for a dry fit."""
        if self is PianoKind.GRAND:
            return "belly rail, spine and the very top treble"
        return "top, bottom, both sides and the very top treble"

    @property
    def propped(self) -> str:
        """What goes back before tension."""
        return "wedge at the nose" if self is PianoKind.GRAND else "bolts to the posts"
