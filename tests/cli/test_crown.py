"""`bellywork crown` as a user meets it."""

from pathlib import Path

import pytest
from schemas import valid

ROOT = Path(__file__).resolve().parents[2]
OLD = ROOT / "sample_boards" / "old_small_grand"


def test_the_whole_answer_is_as_documented(ran, tmp_path) -> None:
    page = tmp_path / "owner.html"
    answer = ran("crown", OLD, "--json", "--page", page, "--csv", tmp_path / "notes.csv")
    valid(answer.json)
    assert answer.code == 1  # there is something to look at
    assert answer.json["ribs"][0]["killer_octave"]
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert ran("crown", OLD, "--page", page).code == 1  # an older page of its own may be replaced


def test_the_tables_say_what_was_found(ran) -> None:
    out = ran("crown", OLD).out
    for words in ("rib 3, 4.31 mm ± 0.18 mm of the 3.63", "Rib 3 is reversed", "Rib 5 is S-shaped", "licensed practice",
                  "Rib 7, strung: reading 3 is", "bearing gauge at note 60", "times as soft as described",
                  "The best plate setting", "of 88 notes are below", "The plate dropped",
                  "Read first: rib 7 at 370.0 mm, strung, where it was misread"):  # fmt: skip
        assert words in out
    assert " ft " in ran("crown", OLD, "--units", "in").out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((OLD, "--readings", "may"), "Tables of readings are: readings."),
        ((OLD, "--page", "p.pdf"), "expected a name that ends in .md or .html"),
        ((ROOT / "sample_boards" / "string_line_inches",), "needs readings"),
    ],
)
def test_what_is_wrong_is_one_sentence(ran, words, sentence) -> None:
    answer = ran("crown", *words)
    assert answer.code == 2
    assert sentence in answer.err
    assert answer.out == ""
