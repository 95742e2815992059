"""Answers: bands beside values, legends, JSON and CSV of the same numbers; on invented results, no board."""

import csv
import io
from dataclasses import replace
from types import SimpleNamespace

import jsonschema
import numpy as np
import pytest

from bellywork.answers.answer import Answer, View, view_text
from bellywork.answers.answer_table import AnswerColumn, AnswerTable, rows_of, table_of
from bellywork.answers.form import filled, many, one, schema_of
from bellywork.bench.stages import page_of
from bellywork.measures import METRIC, Units
from bellywork.quantities import QUANTITIES, QuantityKind

INCH = Units(length="in", force="lb")
NET = np.array([0.984321, -0.25])
BANDED = SimpleNamespace(
    note=np.array([39, 40]),
    name=("B3", "C4"),
    net_deg=NET,
    plane_front_mm=np.array([1.2512, np.nan]),
    bands={"net_deg": (NET - 0.14, NET + 0.3)},
)
FORM = one("invented", "an invented answer", many("notes", "each note", "note name net_deg plane_front_mm"))


@pytest.fixture
def table() -> AnswerTable:
    return table_of("notes", FORM.part("notes").quantities, BANDED, bands=BANDED.bands)


@pytest.fixture
def answer(table: AnswerTable) -> Answer:
    return Answer(
        schema="bellywork-invented/1",
        title="Invented",
        headline=("Do this.",),
        parts=filled(FORM, {"notes": table}),
        assumptions=("Assumed.",),
        body=(View(table=table),),
        table=table,
    )


def test_a_band_stands_beside_its_value_in_json_and_its_schema_knows_it(answer: Answer) -> None:
    first, second = answer.as_parts()["notes"]
    assert list(first) == ["note", "name", "net_deg", "net_deg_low", "net_deg_high", "plane_front_mm"]
    assert (first["net_deg_low"], first["net_deg_high"]) == pytest.approx((0.844321, 1.284321))
    assert second["plane_front_mm"] is None
    parts = {"notes": answer.as_parts()["notes"]}
    jsonschema.Draft202012Validator(schema_of(FORM)).validate(parts)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema_of(FORM)).validate({"notes": [{**first, "other": 1}]})


def test_what_sends_a_reader_on_in_print_stands_in_print_only(answer: Answer) -> None:
    told = replace(answer, below="1 to look at, under the table.", left_out="Shown is one.", to_look_at=("Look.",))
    lines = told.as_text().splitlines()
    assert lines[1:3] == ["Do this.", "1 to look at, under the table."]
    assert lines.index("Shown is one.") < lines.index("To look at")
    assert list(told.as_parts()["headline"]) == page_of(told)["headline"] == ["Do this."]
    assert not [block for block in page_of(told)["blocks"] if "text" in block]


def test_a_result_without_a_band_has_no_such_keys() -> None:
    plain = table_of("notes", FORM.part("notes").quantities, BANDED)
    assert list(plain.rows()[0]) == ["note", "name", "net_deg", "plane_front_mm"]
    assert "(" not in view_text(View(table=plain, legend=False), METRIC)


def test_a_band_needs_a_quantity_that_is_registered_for_one() -> None:
    assert not QUANTITIES["tension_N"].banded
    with pytest.raises(ValueError, match=r"^tension_N is not registered to have a band\.$"):
        table_of("notes", ("note",), BANDED, bands={"tension_N": (NET, NET)})


def test_csv_has_a_legend_a_band_and_short_numbers(answer: Answer) -> None:
    lines = answer.as_csv().splitlines()
    assert lines[2] == "# net_deg: front and rear bearing together"
    rows = list(csv.DictReader(io.StringIO("\n".join(line for line in lines if not line.startswith("#")))))
    assert rows[0] == {
        "note": "39", "name": "B3", "net_deg": "0.984", "net_deg_low": "0.844", "net_deg_high": "1.284",
        "plane_front_mm": "1.251",
    }  # fmt: skip
    assert rows[1]["plane_front_mm"] == ""


def test_a_name_is_no_formula_in_csv() -> None:
    named = rows_of("ribs", ("rib", "mass_kg"), [{"rib": "=1+1", "mass_kg": -0.5}])
    told = Answer(schema="s", title="t", headline=(), parts={}, assumptions=(), table=named)
    assert told.as_csv().splitlines()[-1] == "'=1+1,-0.5"


@pytest.mark.parametrize(
    ("half", "cell"),
    [(0.3, "1.23 ± 0.30"), (3.0, "1.2 ± 3.0"), (30.0, "1 ± 30"), (0.0, "1.23 ± 0.00")],
)
def test_digits_are_no_finer_than_the_band_deserves(half: float, cell: str) -> None:
    """Two figures of the half width: 0.30 leaves hundredths, 3.0 tenths, 30 whole ones."""
    column = AnswerColumn(
        quantity="plane_front_mm", values=[1.2345], band=(np.array([1.2345 - half]), np.array([1.2345 + half]))
    )
    assert column.cell(0, METRIC) == cell


def test_a_band_is_told_in_the_users_unit() -> None:
    column = AnswerColumn(quantity="plane_front_mm", values=[2.54], band=(np.array([1.27]), np.array([3.81])))
    assert column.cell(0, INCH) == "0.100 ± 0.050"


def test_a_table_on_screen_has_heads_units_groups_and_legend(table: AnswerTable) -> None:
    text = view_text(View(table=table, groups={"bass": [0], "treble": [1]}), METRIC)
    lines = text.splitlines()
    assert lines[0].split() == ["note", "net", "exact", "front"]
    assert lines[1].split() == ["°", "mm"]
    assert [lines[2], lines[4]] == ["bass", "treble"]
    assert lines[3].split() == ["39", "B3", "0.98", "(0.84", "to", "1.28)", "1.25"]
    assert lines[6] == "  net          front and rear bearing together"
    assert all(len(line) <= 118 for line in lines)


def test_rows_that_are_not_shown_leave_their_groups(table: AnswerTable) -> None:
    text = view_text(View(table=table, rows=[1], groups={"bass": [0], "treble": [1]}, legend=False), METRIC)
    assert "B3" not in text
    assert "C4" in text


def test_the_answer_begins_with_its_headline_and_ends_with_what_it_stands_on(answer: Answer) -> None:
    text = answer.as_text()
    assert text.startswith("Invented\nDo this.\n")
    assert text.index("Do this.") < text.index("net") < text.index("Assumed.") < text.index("licensed practice")


def test_the_labels_of_a_table_tell_its_columns_apart() -> None:
    from bellywork.answers.form import Part
    from bellywork.answers.forms import FORMS

    def tables(part: Part) -> list[Part]:
        inner = [each for field in part.fields if isinstance(field, Part) for each in tables(field)]
        return [part, *inner] if part.many else inner

    for form in FORMS.values():
        for part in tables(form):
            labels = [
                QUANTITIES[name].label for name in part.quantities if QUANTITIES[name].kind is QuantityKind.NUMBER
            ]
            assert len(labels) == len(set(labels)), part.key


def test_every_field_is_asked_for() -> None:
    with pytest.raises(KeyError, match="plane_front_mm is told by none of the results"):
        filled(one("x", "x", "plane_front_mm"), {"net_deg": 1.0})
