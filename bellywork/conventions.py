"""Units, axes and note names: the only conversions in bellywork.

Axes: x along the keyboard from bass to treble, y from the keyboard to the tail, z from the board to the strings;
z = 0 is the glue line of the board on the rim. Inside: mm, N, N/mm² (MPa), kg, °C, % RH, % MC; degrees only at the
borders. Positive: crown up, sink down, bearing pressing on the bridge, plane depth removing wood.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Dimension(Enum):
    """What a number measures; each has one unit inside bellywork, the first one listed in `UNITS`."""

    LENGTH = "length"
    FORCE = "force"
    STRESS = "stress"
    ANGLE = "angle"
    TEMPERATURE = "temperature"
    SHARE = "share"
    DENSITY = "density"
    FREQUENCY = "frequency"
    LINE_STIFFNESS = "stiffness per length"
    NUMBER = "number"
    MASS = "mass"
    LOSS = "angle per length"
    COMPLIANCE = "length per force"
    TILT = "length per length"
    CURVATURE = "one per length"


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit: inside value = (typed value + offset) * factor."""

    suffix: str
    dimension: Dimension
    factor: float
    offset: float = 0.0

    def inside(self, typed: float) -> float:
        """The value in bellywork's own unit of this dimension."""
        return (typed + self.offset) * self.factor

    def outside(self, inside: float) -> float:
        """The value in this unit."""
        return inside / self.factor - self.offset


INCH_MM = 25.4  # exact, international inch
POUND_N = 4.4482216152605  # exact, pound-force: 0.45359237 kg · 9.80665 m/s²
KGF_N = 9.80665  # exact, kilogram-force
GRAVITY_N_PER_KG = 9.80665

_L, _F, _S = Dimension.LENGTH, Dimension.FORCE, Dimension.STRESS
UNITS: dict[str, Unit] = {
    unit.suffix: unit
    for unit in (
        Unit(suffix="mm", dimension=_L, factor=1.0),
        Unit(suffix="cm", dimension=_L, factor=10.0),
        Unit(suffix="m", dimension=_L, factor=1000.0),
        Unit(suffix="in", dimension=_L, factor=INCH_MM),
        Unit(suffix="thou", dimension=_L, factor=INCH_MM / 1000.0),
        Unit(suffix="ft", dimension=_L, factor=12.0 * INCH_MM),
        Unit(suffix="N", dimension=_F, factor=1.0),
        Unit(suffix="lb", dimension=_F, factor=POUND_N),
        Unit(suffix="kgf", dimension=_F, factor=KGF_N),
        Unit(suffix="MPa", dimension=_S, factor=1.0),
        Unit(suffix="GPa", dimension=_S, factor=1000.0),
        Unit(suffix="psi", dimension=_S, factor=POUND_N / INCH_MM**2),
        Unit(suffix="deg", dimension=Dimension.ANGLE, factor=1.0),
        Unit(suffix="C", dimension=Dimension.TEMPERATURE, factor=1.0),
        Unit(suffix="F", dimension=Dimension.TEMPERATURE, factor=5.0 / 9.0, offset=-32.0),
        Unit(suffix="percent", dimension=Dimension.SHARE, factor=1.0),
        Unit(suffix="kg_m3", dimension=Dimension.DENSITY, factor=1.0),
        Unit(suffix="Hz", dimension=Dimension.FREQUENCY, factor=1.0),
        Unit(suffix="N_mm2", dimension=Dimension.LINE_STIFFNESS, factor=1.0),
        Unit(suffix="", dimension=Dimension.NUMBER, factor=1.0),
    )
}

POUND_KG = 0.45359237  # exact, international pound
# Units that answers are told in beside those above; nobody types them. Inside: kg, °/mm, mm/N, mm/m, 1/m, share of one
SHOWN_UNITS: dict[str, Unit] = UNITS | {
    unit.suffix: unit
    for unit in (
        Unit(suffix="°", dimension=Dimension.ANGLE, factor=1.0),
        Unit(suffix="%", dimension=Dimension.SHARE, factor=0.01),
        Unit(suffix="kg", dimension=Dimension.MASS, factor=1.0),
        Unit(suffix="g", dimension=Dimension.MASS, factor=0.001),
        Unit(suffix="lb (mass)", dimension=Dimension.MASS, factor=POUND_KG),
        Unit(suffix="oz", dimension=Dimension.MASS, factor=POUND_KG / 16.0),
        Unit(suffix="‰", dimension=Dimension.NUMBER, factor=1.0),
        Unit(suffix="°/mm", dimension=Dimension.LOSS, factor=1.0),
        Unit(suffix="°/in", dimension=Dimension.LOSS, factor=1.0 / INCH_MM),
        Unit(suffix="µm/N", dimension=Dimension.COMPLIANCE, factor=0.001),
        Unit(suffix="thou/lb", dimension=Dimension.COMPLIANCE, factor=INCH_MM / 1000.0 / POUND_N),
        Unit(suffix="mm/m", dimension=Dimension.TILT, factor=1.0),
        Unit(suffix="in/ft", dimension=Dimension.TILT, factor=1000.0 / 12.0),
        Unit(suffix="per 100 Hz", dimension=Dimension.NUMBER, factor=0.01),
        Unit(suffix="cents", dimension=Dimension.NUMBER, factor=1.0),
        Unit(suffix="1/m", dimension=Dimension.CURVATURE, factor=1.0),
        Unit(suffix="1/ft", dimension=Dimension.CURVATURE, factor=1000.0 / (12.0 * INCH_MM)),
    )
}

FIRST_NOTE, LAST_NOTE = 1, 88
A4_NOTE = 49
A4_HZ = 440.0  # ISO 16
_NAMES = ("A", "A♯", "B", "C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯")


def note_name(note: int) -> str:
    """Name of a note by its number, 1 = A0 to 88 = C8.

    >>> [note_name(n) for n in (1, 4, 40, 49, 88)]
    ['A0', 'C1', 'C4', 'A4', 'C8']
    """
    if not FIRST_NOTE <= note <= LAST_NOTE:
        raise ValueError(f"Note {note} is not on the keyboard; notes run from {FIRST_NOTE} (A0) to {LAST_NOTE} (C8).")
    return f"{_NAMES[(note - 1) % 12]}{(note + 8) // 12}"


def note_frequency_Hz(note: int, pitch_Hz: float = A4_HZ) -> float:
    """Frequency of a note in equal temperament on A4 = `pitch_Hz` (ISO 16: 440 Hz).

    >>> round(note_frequency_Hz(40), 3)
    261.626
    """
    return float(pitch_Hz * 2.0 ** ((note - A4_NOTE) / 12.0))
