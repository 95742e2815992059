"""The reference of JSON is made from the registry, and stands as it was made."""

import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from write_reference import DOCS, page, schema_path, schema_text

from bellywork.answers.form import entries
from bellywork.answers.forms import FORMS, answer_schema
from bellywork.cli.main import COMMANDS
from bellywork.quantities import QUANTITIES


def test_the_page_is_up_to_date() -> None:
    assert (DOCS / "json.md").read_text(encoding="utf-8") == page(), "run python tests/docs/write_reference.py"


def test_each_form_has_its_schema_and_no_other_stands_there() -> None:
    assert {path for path in (DOCS / "schemas").iterdir()} == {schema_path(name) for name in FORMS}
    assert {name.partition("-")[2].partition("/")[0] for name in FORMS} == (
        set(COMMANDS) - {"new", "view", "bench"} | {"where", "years", "history"}
    )


@pytest.mark.parametrize("name", FORMS)
def test_a_schema_is_up_to_date_and_is_one(name: str) -> None:
    path: Path = schema_path(name)
    assert path.read_text(encoding="utf-8") == schema_text(name), "run python tests/docs/write_reference.py"
    Draft202012Validator.check_schema(answer_schema(name))


def test_no_quantity_is_registered_for_nothing() -> None:
    """Every quantity stands in an answer, in a sheet or in a sentence: its name is spelt somewhere."""
    told = {quantity.name for form in FORMS.values() for _, quantity, _ in entries(form)}
    spelt = "\n".join(
        path.read_text(encoding="utf-8")
        for folder in ("bellywork", "viewer/bellywork_viewer")
        for path in (DOCS.parent / folder).rglob("*.py")
    )
    words = set(re.findall(r"[\w.]+", spelt))
    assert not {name for name in QUANTITIES if name not in told | words}
