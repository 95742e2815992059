"""`bellywork ribs` as a user meets it."""

from functools import partial
from pathlib import Path

import pytest
from schemas import valid

ROOT = Path(__file__).resolve().parents[2]
SCHEMES = ROOT / "sample_boards" / "seven_foot_grand" / "schemes"


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search of a few rules and a comparison on coarse cells: what is tested here are words and forms."""
    from bellywork.schemes import compared, search

    monkeypatch.setattr(search, "searched", partial(search.searched, generations=1, population=5))
    monkeypatch.setattr(search, "AGAIN", 0)
    # what is compared stands on the coarse cells of a search; tests/schemes hold the fine ones
    monkeypatch.setattr(compared, "on_all_cores", lambda function, things: [function(each) for each in things])
    monkeypatch.setattr(compared, "assessed", partial(compared.assessed, rough_cell_mm=60.0))
    monkeypatch.setattr(compared, "compared", partial(compared.compared, with_damp=False))


def test_the_whole_answer_is_as_documented(ran, grand, quick, tmp_path) -> None:
    words = ("ribs", grand, SCHEMES / "even.toml", grand / "ribs.csv", "--search", SCHEMES / "search.toml")
    answer = ran(*words, "--json", "--csv", tmp_path / "n.csv", "--plots", tmp_path / "plots")
    valid(answer.json)
    schemes = answer.json["schemes"]
    assert [each["name"] for each in schemes] == ["as described", "Parallel and even", "ribs", "Found by search"]
    own, table = schemes[0], schemes[2]
    stands = answer.json["search"]["best_given"]
    assert stands["name"] in {each["name"] for each in schemes[:3]}
    assert stands["ribs_kg"] == {each["name"]: each["ribs_kg"] for each in schemes}[stands["name"]]
    assert [note["net_deg"] for note in own["notes"]] == [note["net_deg"] for note in table["notes"]]
    assert set(table["difference"]["compliance_percent"]) == {0.0}
    lines = (tmp_path / "n.csv").read_text(encoding="utf-8").splitlines()
    assert sum(not line.startswith("#") for line in lines) == 1 + 4 * 88
    assert sorted(path.stem for path in (tmp_path / "plots").iterdir()) == [
        "bearing", "compliance", "crown_left", "pareto", "stress",
    ]  # fmt: skip


def test_the_tables_name_what_an_engineer_looks_for(ran, grand, quick) -> None:
    answer = ran("ribs", grand, SCHEMES / "graded.toml", "--units", "in")
    assert answer.code == 0
    said = (
        "A  as described;B  Graded, taller;each against A;Lightest: ;crown left;bending used;bare beam;A carries: ribs;"
        "Compliance at the bridge top;Net bearing, strung;Where the compliance;tenor to low treble;Lowest modes;"
        "common practice;lb;psi"
    )
    for words in said.split(";"):
        assert words in answer.out


def test_a_search_is_told_against_the_schemes_given(ran, grand, quick, tmp_path) -> None:
    answer = ran("ribs", grand, "--search", SCHEMES / "search.toml", "--plots", tmp_path, "--svg")
    assert "rules tried; least mass is wished for" in answer.out
    assert "Of the other schemes, as described meets the wish with the least mass: 3.4" in answer.out
    drawn = sorted(tmp_path.iterdir())
    assert {path.suffix for path in drawn} == {".svg"}
    assert not any("dc:date" in path.read_text(encoding="utf-8") for path in drawn)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((SCHEMES / "none.toml",), "none.toml"),
        ((SCHEMES.parent / "README.md",), "a rib table (.csv) or a scheme (.toml)"),
        (("--search", SCHEMES / "even.toml"), "has no rule and wish to search by"),
        (("--svg",), "--plots FOLDER says that and where"),
    ],
)
def test_what_is_wrong_is_one_sentence(ran, grand, words, sentence) -> None:
    answer = ran("ribs", grand, *words)
    assert answer.code == 2
    assert sentence in answer.err
    assert answer.out == ""


def test_a_board_of_strings_alone_is_told_what_is_missing(ran) -> None:
    answer = ran("ribs", ROOT / "sample_boards" / "string_line_inches")
    assert answer.code == 2
    assert "needs the strings' points in plan" in answer.err
