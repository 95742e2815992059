"""What a picture can be coloured by: registered quantities, each with words for the ends of its colours."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.targets import PlaningRules
from bellywork.measures import Units
from bellywork.quantities import QUANTITIES, Quantity, said
from bellywork_viewer.palette import Palette, fitting
from bellywork_viewer.situation import Situation


@dataclass(frozen=True, kw_only=True)
class Coloured:
    """One thing that can be shown in colour.

    name        of the registered quantity
    low, high   words for the two ends of the colours
    on_panel    True where the panel is coloured, else strings and bridge tops, note by note
    by_section  True where the number is the section's, not the note's
    neutral     half width of the neutral middle from the board's rules; None: a ramp without a middle
    of          values from a situation, in bellywork's own unit: one per note, or one per panel point
    """

    name: str
    low: str
    high: str
    on_panel: bool
    neutral: Callable[[PlaningRules], float] | None
    of: Callable[[Situation], Floats]
    by_section: bool = False

    @property
    def quantity(self) -> Quantity:
        """What is shown."""
        return QUANTITIES[self.name]

    def heading(self, units: Units) -> str:
        """What stands over the scale of colours."""
        return self.quantity.axis(units)

    def scale(self, value: float, units: Units) -> str:
        """A value of the scale in the user's unit, without it."""
        return f"{self.quantity.measure.outside(value, units):.4g}"

    def words(self, value: float, units: Units) -> str:
        """A value with its unit; with a sign where it has a neutral middle."""
        return said(self.name, value, units, signed=self.neutral is not None)

    def palette(self, values: Floats, rules: PlaningRules, units: Units) -> Palette:
        """The palette for these values under a board's rules, its ends round in the user's unit."""
        factor = self.quantity.measure.outside(1.0, units)
        neutral = None if self.neutral is None else self.neutral(rules)
        fits = fitting(np.asarray(values) * factor, None if neutral is None else neutral * factor)
        return Palette(low=fits.low / factor, high=fits.high / factor, neutral=neutral)


def _section_force(situation: Situation) -> Floats:
    section = np.array(situation.line.section)
    total = {name: float(situation.force_N[section == name].sum()) for name in dict.fromkeys(situation.line.section)}
    return np.array([total[name] for name in situation.line.section])


COLOURS: Mapping[str, Coloured] = {
    "deviation": Coloured(
        name="deviation_deg",
        low="too little: bridge too low",
        high="too much: bridge too high",
        on_panel=False,
        neutral=lambda rules: rules.bearing_tolerance_deg,
        of=lambda situation: situation.deviation_deg,
    ),
    "plane": Coloured(
        name="depth_mm",
        low="wood is short",
        high="plane here",
        on_panel=False,
        neutral=lambda rules: rules.fair_tolerance_mm,
        of=lambda situation: situation.plane_mm,
    ),
    "band": Coloured(
        name="net_band_deg",
        low="known best",
        high="known least",
        on_panel=False,
        neutral=None,
        of=lambda situation: situation.band_deg,
    ),
    "force": Coloured(
        name="section_force_N",
        low="least",
        high="most",
        on_panel=False,
        neutral=None,
        of=_section_force,
        by_section=True,
    ),
    "sink": Coloured(
        name="panel_sink_mm",
        low="least",
        high="most",
        on_panel=True,
        neutral=None,
        of=lambda situation: situation.panel_sink_mm,
    ),
    "crown": Coloured(
        name="panel_crown_mm",
        low="lowest",
        high="highest",
        on_panel=True,
        neutral=None,
        # the bare crown is added by the stage, which knows it
        of=lambda situation: situation.panel_rise_mm - np.nan_to_num(situation.panel_sink_mm),
    ),
}
