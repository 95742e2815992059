"""The pages: links lead somewhere, commands in them exist, and the code in them runs."""

import doctest
import os
import re
import tomllib
from pathlib import Path

import pytest

from bellywork.cli.common import EXTRAS
from bellywork.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), f"{page.name} links to {target}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_commands_named_in_the_pages_exist(page: Path) -> None:
    after = "FOLDER|BOARD|my_grand|sample_boards|--"
    for command in re.findall(rf"bellywork ([a-z]+) (?:{after})", page.read_text(encoding="utf-8")):
        assert command in COMMANDS


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_bellywork_is_called_one_way(page: Path) -> None:
    assert not re.search(r"(?:bin/|-m )bellywork", page.read_text(encoding="utf-8"))


def test_every_command_stands_in_its_table() -> None:
    text = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `bellywork ([a-z]+)", text, re.MULTILINE)
    assert list(dict.fromkeys(rows)) == list(COMMANDS)


def test_the_extras_are_those_that_commands_ask_for() -> None:
    """Table of the page, names that commands ask for, and what pyproject.toml installs."""
    text = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    assert set(re.findall(r"^\| `pip install '\.\[([a-z]+)\]'`", text, re.MULTILINE)) == set(EXTRAS)
    assert set(declared) - {"test"} == set(EXTRAS)
    for extra, modules in EXTRAS.items():
        assert set(modules) <= {re.split("[<>=]", each)[0] for each in declared[extra]}


@pytest.mark.slow
def test_the_python_of_the_pages_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert os.getcwd() == str(ROOT)
    for page in ("commands.md", "python.md"):
        failed, tried = doctest.testfile(str(ROOT / "docs" / page), module_relative=False, encoding="utf-8")
        assert tried > 0
        assert failed == 0
