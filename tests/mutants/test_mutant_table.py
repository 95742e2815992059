"""The table of mutants holds on this code. Kind of every expected value: invariant. run.py plants them."""

import ast
from pathlib import Path

import pytest
from run import ROOT, mutants

TABLE = mutants()


def test_there_are_at_least_sixty_and_none_twice() -> None:
    assert len(TABLE) >= 60
    assert len({(each["file"], each["old"], each["new"]) for each in TABLE}) == len(TABLE)
    assert len({each["what"] for each in TABLE}) == len(TABLE)


@pytest.mark.parametrize("mutant", TABLE, ids=lambda each: each["what"])
def test_what_is_replaced_stands_once_and_what_replaces_it_can_run(mutant: dict) -> None:
    text = (ROOT / mutant["file"]).read_text(encoding="utf-8")
    assert text.count(mutant["old"]) == 1, "re-anchor this mutant in tests/mutants/mutants.toml"
    assert mutant["new"] != mutant["old"]
    ast.parse(text.replace(mutant["old"], mutant["new"]))
    assert mutant["tests"]
    assert all((ROOT / Path(test.split("::")[0])).exists() for test in mutant["tests"])
