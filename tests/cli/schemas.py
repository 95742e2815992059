"""Answers held against the schemas that the docs print."""

from typing import Any

import jsonschema

from bellywork.answers.forms import answer_schema


def valid(answer: dict[str, Any]) -> None:
    """Raise where an answer is not as its schema says."""
    jsonschema.Draft202012Validator(answer_schema(answer["schema"])).validate(answer)
