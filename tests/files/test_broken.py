"""Every kind of finding: a folder with just that mistake, and what `check` says of it."""

import re
from pathlib import Path

import pytest
from broken import BROKEN, HOME

from bellywork.errors import UnusableInput
from bellywork.files.read import read_board
from bellywork.findings import Finding
from bellywork.review.board_review import reviewed

ROOT = Path(__file__).resolve().parents[2]


def findings(folder: Path) -> tuple[Finding, ...]:
    try:
        found = read_board(folder)
    except UnusableInput as error:
        return error.findings
    return (*found.findings, *reviewed(found.board))


@pytest.mark.parametrize("code", sorted(BROKEN))
def test_the_mistake_is_named_with_its_place_and_remedy(code: str) -> None:
    found = findings(HOME / code)
    assert {each.code for each in found} == {code, *BROKEN[code].also}
    mine = next(each for each in found if each.code == code)
    assert BROKEN[code].file in mine.place.file
    assert BROKEN[code].column == mine.place.column
    assert all((each.found, each.expected, each.remedy) for each in found)
    assert mine.remedy[0].isupper()
    assert mine.remedy[-1] in ".?"


@pytest.mark.parametrize("code", sorted(BROKEN))
def test_the_folder_says_what_it_shows(code: str) -> None:
    assert f"finds `{code}`" in (HOME / code / "README.md").read_text(encoding="utf-8").splitlines()[0]


def codes_in_the_source() -> set[str]:
    """Codes of findings as the code of files and geometry gives them."""
    sources = [*(ROOT / "bellywork" / "files").glob("*.py"), *(ROOT / "bellywork" / "geometry").glob("*.py")]
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    return set(re.findall(r'(?:code=|gathered\.add\(\s*|\.add\(\s*)"([a-z]+(?:-[a-z]+)+)"', text))


def test_every_code_stands_in_the_documentation() -> None:
    page = (ROOT / "docs" / "findings.md").read_text(encoding="utf-8")
    documented = set(re.findall(r"^\| `([a-z-]+)` \|", page, re.MULTILINE))
    assert codes_in_the_source() <= documented
    assert set(BROKEN) <= documented
