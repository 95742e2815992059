"""How each kind of number is written: in which unit and with how many decimals, in the units that the user chose."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from bellywork.conventions import SHOWN_UNITS

MISSING = "–"
LENGTHS, FORCES = ("mm", "in", "fraction"), ("N", "lb", "kgf")
ANY = "any"  # the one unit of what is told alike everywhere
PRINTED = {"percent": "%", "C": "°C", "lb (mass)": "lb"}
FINEST_FRACTION = 64  # parts of an inch, as on a steel rule


@dataclass(frozen=True, kw_only=True)
class Units:
    """What the user wants to read: mm, in (decimal) or fraction (long lengths on a rule); N, lb or kgf.

    Inside, in JSON and in CSV everything is in mm and N.
    """

    length: str = "mm"
    force: str = "N"

    @property
    def decimal(self) -> str:
        """The unit of length of a decimal number: mm or in."""
        return "in" if self.length == "fraction" else self.length

    def of(self, measure: Measure) -> tuple[str, int]:
        """Symbol and decimals of a measure in these units."""
        for choice in (self.length, self.decimal, self.force, ANY):
            if choice in measure.units:
                return measure.units[choice]
        raise KeyError(f"No unit for {self} in {measure}.")

    def symbol(self, measure: Measure) -> str:
        """The unit as it is printed."""
        return PRINTED.get(self.of(measure)[0], self.of(measure)[0])


METRIC = Units()


def units_named(words: str) -> Units:
    """Units by the words of a command line: a length, a force, or both with a comma; a length brings its usual force.

    >>> units_named("in"), units_named("mm,kgf")
    (Units(length='in', force='lb'), Units(length='mm', force='kgf'))

    Raises ValueError for any other word.
    """
    named = [word.strip() for word in words.split(",")]
    lengths = [word for word in named if word in LENGTHS]
    forces = [word for word in named if word in FORCES]
    if len(lengths) > 1 or len(forces) > 1 or len(lengths) + len(forces) != len(named):
        raise ValueError(
            f"found '{words}', expected one of {', '.join(LENGTHS)}, or a force ({', '.join(FORCES)}), or both with a "
            "comma between, such as in,kgf"
        )
    length = lengths[0] if lengths else "mm"
    return Units(length=length, force=forces[0] if forces else "N" if length == "mm" else "lb")


@dataclass(frozen=True, kw_only=True)
class Measure:
    """Unit and decimals by the user's choice of length or force, or by `ANY`.

    inside   the unit inside bellywork, as JSON and CSV have it; empty for a bare number
    """

    inside: str
    units: Mapping[str, tuple[str, int]]

    def unit(self, units: Units) -> str:
        """Symbol of the unit that it is shown in."""
        return units.of(self)[0]

    def outside(self, value: float, units: Units) -> float:
        """The value in the user's unit."""
        symbol, _ = units.of(self)
        return SHOWN_UNITS[symbol].outside(value)

    def inside_of(self, shown: float, units: Units) -> float:
        """A value typed in the user's unit, in bellywork's own.

        >>> MEASURES["height"].inside_of(0.5, Units(length="in"))
        12.7
        """
        return SHOWN_UNITS[units.of(self)[0]].inside(shown)

    @property
    def decimals_inside(self) -> int:
        """Decimals of a value in bellywork's own unit: one more than what is shown in metric units."""
        symbol, digits = METRIC.of(self)
        return max(0, digits + 1 - math.floor(math.log10(SHOWN_UNITS[symbol].factor)))

    def text(self, value: float, units: Units, *, signed: bool = False, digits: int | None = None) -> str:
        """The value in the user's unit, with that unit's decimals or so many.

        >>> MEASURES["span"].text(1044.0, Units(length="fraction")), MEASURES["height"].text(2.54, Units(length="in"))
        ('41 7/64', '0.100')
        """
        shown = self.outside(value, units)
        if units.length == "fraction" and "fraction" in self.units and math.isfinite(shown):
            return fraction(shown)
        return number(shown, units.of(self)[1] if digits is None else digits, signed=signed)


def number(value: float, digits: int, *, signed: bool = False) -> str:
    """A number with fixed decimals; no '-0.00', and a dash for what is not known or without bound.

    >>> number(-0.001, 2), number(1.5, 1, signed=True), number(float("nan"), 2)
    ('0.00', '+1.5', '–')
    """
    if not math.isfinite(value):
        return MISSING
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if signed and rounded else ''}.{digits}f}"


def fraction(inches: float) -> str:
    """Inches as on a rule, to the nearest 64th.

    >>> fraction(50.875), fraction(-0.26), fraction(0.001), fraction(2.999)
    ('50 7/8', '-17/64', '0', '3')
    """
    whole, part = divmod(round(abs(inches) * FINEST_FRACTION), FINEST_FRACTION)
    words = [str(whole)] if whole else []
    words += [str(Fraction(part, FINEST_FRACTION))] if part else []
    return f"{'-' if inches < 0.0 and words else ''}{' '.join(words) or '0'}"


def counted(count: int, word: str) -> str:
    """So many of a thing, in words.

    >>> counted(1, "note"), counted(0, "note"), counted(2, "push")
    ('1 note', '0 notes', '2 pushes')
    """
    return f"{count} {word if count == 1 else word + ('es' if word.endswith('sh') else 's')}"


def are(count: int) -> str:
    """The verb of so many things."""
    return "is" if count == 1 else "are"


MEASURES = {
    # lengths: places and spans; heights and depths; sinks under a trial load; radii
    "span": Measure(inside="mm", units={"mm": ("mm", 0), "in": ("in", 1), "fraction": ("in", 0)}),
    "height": Measure(inside="mm", units={"mm": ("mm", 2), "in": ("in", 3)}),
    "dome": Measure(inside="mm", units={"mm": ("mm", 1), "in": ("in", 2)}),  # as an owner is told it
    "trial": Measure(inside="mm", units={"mm": ("mm", 3), "in": ("in", 4)}),
    "size": Measure(inside="mm", units={"mm": ("mm", 1), "in": ("in", 2), "fraction": ("in", 0)}),
    "fine_radius": Measure(inside="mm", units={"mm": ("m", 2), "in": ("ft", 1)}),
    "radius": Measure(inside="mm", units={"mm": ("m", 1), "in": ("ft", 1)}),
    "tilt": Measure(inside="mm/m", units={"mm": ("mm/m", 2), "in": ("in/ft", 4)}),
    "curvature": Measure(inside="1/m", units={"mm": ("1/m", 4), "in": ("1/ft", 4)}),
    "angle": Measure(inside="deg", units={ANY: ("°", 2)}),
    "direction": Measure(inside="deg", units={ANY: ("°", 0)}),
    "loss": Measure(inside="°/mm", units={"mm": ("°/mm", 2), "in": ("°/in", 1)}),
    "compliance": Measure(inside="mm/N", units={"mm": ("µm/N", 2), "in": ("thou/lb", 2)}),
    "force": Measure(inside="N", units={"N": ("N", 1), "lb": ("lb", 2), "kgf": ("kgf", 2)}),
    "mass": Measure(inside="kg", units={"mm": ("kg", 2), "in": ("lb (mass)", 2)}),
    "small_mass": Measure(inside="kg", units={"mm": ("g", 0), "in": ("oz", 1)}),
    "stress": Measure(inside="MPa", units={"mm": ("MPa", 2), "in": ("psi", 0)}),
    "share": Measure(inside="", units={ANY: ("%", 0)}),
    "percent": Measure(inside="%", units={ANY: ("percent", 0)}),
    "moisture": Measure(inside="%", units={ANY: ("percent", 1)}),
    "strain": Measure(inside="‰", units={ANY: ("‰", 2)}),
    "pitch": Measure(inside="cents", units={ANY: ("cents", 1)}),
    "frequency": Measure(inside="Hz", units={ANY: ("Hz", 1)}),
    "density": Measure(inside="1/Hz", units={ANY: ("per 100 Hz", 1)}),
    "number": Measure(inside="", units={ANY: ("", 3)}),
    "error": Measure(inside="", units={ANY: ("", 9)}),
}
