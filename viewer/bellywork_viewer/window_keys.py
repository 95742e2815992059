"""The keys of the window: one table for what they do and for the help."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Key:
    """A key of the window.

    key      as the window system names it; shown: as a reader knows it
    words    what it does
    method   of the window, called with `value` where there is one
    """

    key: str
    shown: str
    words: str
    method: str
    value: Any = None


SHORT_HELP = "x  the keys"

# The window takes no key that does not stand here: the toolkit's own are shut off.
KEYS = (
    Key(key="F1", shown="F1", words="bare", method="show_state", value="bare"),
    Key(key="F2", shown="F2", words="preloaded", method="show_state", value="preloaded"),
    Key(key="F3", shown="F3", words="strung as it is now", method="show_state", value="strung"),
    Key(key="F4", shown="F4", words="strung after planing", method="show_state", value="planed"),
    Key(key="F5", shown="F5", words="from above", method="look_from", value="top"),
    Key(key="F6", shown="F6", words="from the keyboard", method="look_from", value="keyboard"),
    Key(key="F7", shown="F7", words="along the bridge", method="look_from", value="bridge"),
    Key(key="F8", shown="F8", words="under the ribs", method="look_from", value="underside"),
    Key(key="d", shown="d", words="colour: off target", method="colour_by", value="deviation"),
    Key(key="h", shown="h", words="colour: to plane", method="colour_by", value="plane"),
    Key(key="n", shown="n", words="colour: downforce of the section", method="colour_by", value="force"),
    Key(key="b", shown="b", words="colour: band of the net bearing", method="colour_by", value="band"),
    Key(key="i", shown="i", words="colour: sink of the panel", method="colour_by", value="sink"),
    Key(key="o", shown="o", words="colour: crown of the panel", method="colour_by", value="crown"),
    Key(key="m", shown="m", words="heights true, or drawn five times", method="switch_heights"),
    Key(key="Left", shown="←", words="note to the left", method="step_note", value=-1),
    Key(key="Right", shown="→", words="note to the right", method="step_note", value=1),
    Key(key="g", shown="g", words="the note farthest from its target", method="pick_worst"),
    Key(key="BackSpace", shown="⌫", words="plate, humidity and target as they were", method="reset"),
    Key(key="x", shown="x", words="these keys, or none", method="switch_help"),
    Key(key="q", shown="q", words="close", method="close"),
)


def help_text() -> str:
    """The keys and what they do, one per line."""
    return "\n".join([*(f"{key.shown}  {key.words}" for key in KEYS), "click  a string's numbers"])
