"""The registry: every quantity's unit, factor, decimals and sign against what the units mean, by hand.

The factors are the exact ones of the international yard and pound (1 in = 25.4 mm, 1 lb = 0.45359237 kg) and of the
standard acceleration of fall (9.80665 m/s², CGPM 1901).
"""

import re

import pytest

from bellywork.measures import MEASURES, Units, fraction, number, units_named
from bellywork.quantities import QUANTITIES, QuantityKind, said

INCH, METRIC, KGF = Units(length="in", force="lb"), Units(), Units(force="kgf")
LB_N = 0.45359237 * 9.80665

# measure: (a value inside, as it is read in metric units, as it is read in inches and pounds), worked by hand
READ = {
    "span": (1044.0, "1044 mm", "41.1 in"),  # 1044 / 25.4 = 41.102
    "size": (25.4, "25.4 mm", "1.00 in"),
    "dome": (12.0, "12.0 mm", "0.47 in"),
    "height": (2.54, "2.54 mm", "0.100 in"),
    "trial": (0.254, "0.254 mm", "0.0100 in"),
    "radius": (18288.0, "18.3 m", "60.0 ft"),  # 60 · 304.8
    "fine_radius": (18288.0, "18.29 m", "60.0 ft"),
    "tilt": (1.0, "1.00 mm/m", "0.0120 in/ft"),  # one part in a thousand of 12 in
    "curvature": (0.1, "0.1000 1/m", "0.0305 1/ft"),  # 0.1 · 0.3048
    "angle": (0.984, "0.98°", "0.98°"),
    "direction": (33.4, "33°", "33°"),
    "loss": (0.5, "0.50°/mm", "12.7°/in"),  # 0.5 · 25.4
    "compliance": (0.01, "10.00 µm/N", "1.75 thou/lb"),  # 0.01 / 0.0254 · 4.44822 = 1.7513
    "force": (100.0, "100.0 N", "22.48 lb"),  # 100 / 4.44822
    "mass": (1.0, "1.00 kg", "2.20 lb"),
    "small_mass": (0.1, "100 g", "3.5 oz"),  # 0.1 / 0.45359237 · 16 = 3.527
    "stress": (10.0, "10.00 MPa", "1450 psi"),  # 10 / (4.44822 / 25.4²)
    "share": (0.42, "42 %", "42 %"),
    "percent": (42.0, "42 %", "42 %"),
    "moisture": (7.74, "7.7 %", "7.7 %"),
    "strain": (1.234, "1.23 ‰", "1.23 ‰"),
    "frequency": (73.26, "73.3 Hz", "73.3 Hz"),
    "pitch": (1.94, "1.9 cents", "1.9 cents"),
    "density": (0.05, "5.0 per 100 Hz", "5.0 per 100 Hz"),
    "number": (1.1234, "1.123", "1.123"),
    "error": (1e-9, "0.000000001", "0.000000001"),
}
MEASURED = [quantity for quantity in QUANTITIES.values() if quantity.kind is QuantityKind.NUMBER]
SUFFIXES = {
    "_mm": {"span", "size", "height", "trial", "radius", "fine_radius"},
    "_deg": {"angle", "direction"},
    "_N": {"force"},
    "_kg": {"mass", "small_mass"},
    "_MPa": {"stress"},
    "_percent": {"percent", "moisture"},
    "_permille": {"strain"},
    "_share": {"share"},
    "_Hz": {"frequency", "density"},
    "_hz": {"frequency"},
    "_cents": {"pitch"},
    "_mm_per_N": {"compliance"},
    "_mm_per_m": {"tilt"},
    "_per_m": {"curvature"},
    "_per_Hz": {"density"},
    "degrees_per_mm": {"loss"},
}
PER = {"tilt_x_mm_per_m", "tilt_y_mm_per_m"}


def test_every_measure_is_read_here() -> None:
    assert set(READ) == set(MEASURES)


@pytest.mark.parametrize("quantity", MEASURED, ids=lambda quantity: quantity.name)
def test_a_quantity_is_read_in_both_systems(quantity) -> None:
    measure = next(name for name, each in MEASURES.items() if each is quantity.measure)
    value, metric, inch = READ[measure]
    plus = "+" if quantity.signed else ""
    assert said(quantity.name, value, METRIC) == plus + metric
    assert said(quantity.name, value, INCH) == plus + inch
    assert said(quantity.name, float("nan"), INCH) == "–"
    assert not said(quantity.name, 0.0, METRIC).startswith(("+", "-"))


@pytest.mark.parametrize("quantity", MEASURED, ids=lambda quantity: quantity.name)
def test_the_unit_in_a_key_is_the_unit_of_its_measure(quantity) -> None:
    measure = next(name for name, each in MEASURES.items() if each is quantity.measure)
    suffix = max((end for end in SUFFIXES if quantity.key.endswith(end)), key=len, default=None)
    if suffix is None and not re.search(r"_deg_|^mm$|^percent$", quantity.key):
        assert measure in {"number", "error", "share"}, quantity.key
    elif suffix is not None:
        assert measure in SUFFIXES[suffix]


def test_a_key_tells_one_thing_and_a_meaning_is_a_phrase() -> None:
    for name, quantity in QUANTITIES.items():
        assert re.fullmatch(r"([a-z]+\.)?[A-Za-z0-9_]+", name)
        assert quantity.meaning
        assert not quantity.meaning.endswith(".")
        assert not quantity.meaning[0].isupper() or quantity.meaning.startswith("RH")


def test_forces_have_their_own_unit() -> None:
    assert said("downforce_N", 9.80665, KGF) == "1.00 kgf"
    assert said("downforce_N", LB_N, Units(length="mm", force="lb")) == "1.00 lb"
    assert said("plane_front_mm", 1.0, KGF) == "1.00 mm"


@pytest.mark.parametrize(
    ("words", "units"),
    [
        ("mm", METRIC), ("in", INCH), ("N", METRIC), ("lb", Units(force="lb")), ("mm,kgf", KGF),
        ("fraction", Units(length="fraction", force="lb")), ("in, N", Units(length="in", force="N")),
    ],
)  # fmt: skip
def test_units_are_named_by_length_and_force(words: str, units: Units) -> None:
    assert units_named(words) == units


@pytest.mark.parametrize("words", ["cm", "mm,in", "N,lb", "", "mm,mm"])
def test_other_units_are_refused(words: str) -> None:
    with pytest.raises(ValueError, match=f"^found '{words}', expected one of mm, in, fraction, or a force"):
        units_named(words)


def test_long_lengths_stand_as_on_a_rule_and_depths_in_thousandths() -> None:
    rule = Units(length="fraction", force="lb")
    assert said("span_mm", 50.875 * 25.4, rule) == "50 7/8 in"
    assert said("plane_front_mm", 1.27, rule) == "0.050 in"
    assert [fraction(inches) for inches in (0.0, 1 / 64, 0.5, -1.75, 63.999)] == ["0", "1/64", "1/2", "-1 3/4", "64"]


def test_csv_decimals_are_one_more_than_shown() -> None:
    """By hand: 0.01 mm shown, 0.001 kept; 1 % of a share shown, 0.001 kept; 0.01 µm/N shown, 0.000001 mm/N kept."""
    kept = {name: MEASURES[name].decimals_inside for name in ("height", "share", "compliance", "small_mass", "radius")}
    assert kept == {"height": 3, "share": 3, "compliance": 6, "small_mass": 4, "radius": 0}


def test_a_number_never_shows_minus_nothing() -> None:
    assert (number(-0.004, 2), number(0.004, 2, signed=True), number(float("inf"), 1)) == ("0.00", "0.00", "–")


def test_names_notes_and_flags() -> None:
    assert QUANTITIES["notes"].text([26, 27, 28]) == "A♯2 to C3"
    assert QUANTITIES["notes"].text([40]) == "C4"
    assert (QUANTITIES["short"].text(True), QUANTITIES["short"].text(False)) == ("SHORT", "")
    assert QUANTITIES["pages"].text(None) == "–"
