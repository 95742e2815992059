"""The pages: links lead somewhere, commands in them exist, and the README's code runs (doctest collects it too)."""

import doctest
import os
import re
from pathlib import Path

import pytest

from bellywork.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), f"{page.name} links to {target}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_commands_named_in_the_pages_exist(page: Path) -> None:
    for command in re.findall(r"bellywork ([a-z]+) (?:FOLDER|BOARD|my_grand|sample_boards)", page.read_text("utf-8")):
        assert command in COMMANDS


def test_the_readmes_python_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert os.getcwd() == str(ROOT)
    failed, tried = doctest.testfile(str(ROOT / "README.md"), module_relative=False, encoding="utf-8")
    assert tried > 0
    assert failed == 0
