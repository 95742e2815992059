"""What a picture can be coloured by: each quantity once, with its label, unit and meaning."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.targets import PlaningRules
from bellywork_viewer.palette import Palette, fitting
from bellywork_viewer.situation import Situation


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One thing that can be shown in colour.

    label, unit   as printed
    meaning       what it says, in a sentence
    low, high     words for the two ends of the colours
    on_panel      True where the panel is coloured, else strings and bridge tops, note by note
    neutral       half width of the neutral middle from the board's rules; None: a ramp without a middle
    of            values from a situation: one per note, or one per panel point
    """

    label: str
    unit: str
    meaning: str
    low: str
    high: str
    on_panel: bool
    neutral: Callable[[PlaningRules], float] | None
    of: Callable[[Situation], Floats]

    def palette(self, values: Floats, rules: PlaningRules) -> Palette:
        """The palette for these values under a board's rules."""
        return fitting(values, None if self.neutral is None else self.neutral(rules))


def _section_force(situation: Situation) -> Floats:
    section = np.array(situation.line.section)
    total = {name: float(situation.force_N[section == name].sum()) for name in dict.fromkeys(situation.line.section)}
    return np.array([total[name] for name in situation.line.section])


QUANTITIES: Mapping[str, Quantity] = {
    "deviation": Quantity(
        label="net bearing less target",
        unit="°",
        meaning="How far the net bearing is from its target; grey is within the tolerance.",
        low="too little: bridge too low",
        high="too much: bridge too high",
        on_panel=False,
        neutral=lambda rules: rules.bearing_tolerance_deg,
        of=lambda situation: situation.deviation_deg,
    ),
    "plane": Quantity(
        label="height to plane",
        unit="mm",
        meaning="How much to take off the bridge so that the target is met once the board is strung.",
        low="wood is short",
        high="plane here",
        on_panel=False,
        neutral=lambda rules: rules.fair_tolerance_mm,
        of=lambda situation: situation.plane_mm,
    ),
    "force": Quantity(
        label="downforce of the section",
        unit="N",
        meaning="What all the strings of the note's section press on the bridge together.",
        low="least",
        high="most",
        on_panel=False,
        neutral=None,
        of=_section_force,
    ),
    "sink": Quantity(
        label="sink of the panel",
        unit="mm",
        meaning="How far the panel has gone down from the bare state.",
        low="least",
        high="most",
        on_panel=True,
        neutral=None,
        of=lambda situation: situation.panel_sink_mm,
    ),
    "crown": Quantity(
        label="crown of the panel",
        unit="mm",
        meaning="Height of the panel's underside over the glue line on the rim.",
        low="lowest",
        high="highest",
        on_panel=True,
        neutral=None,
        of=lambda situation: (
            situation.panel_rise_mm - np.nan_to_num(situation.panel_sink_mm)
        ),  # the bare crown is added
    ),
}
