"""docs/validation.md holds what the published cases give today."""

from __future__ import annotations

import pytest
from write_validation import FILES, PAGE, row, sources

CASES = [(source.title, case) for source in sources() for case in source.cases]


def test_every_source_is_on_the_page():
    files = PAGE.parents[1].joinpath("tests", "published").glob("test_*.py")
    assert {path.stem for path in files if "\nSOURCE = " in path.read_text(encoding="utf-8")} == set(FILES)


def test_the_page_holds_no_other_rows():
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("|") for line in lines) == len(CASES) + 2 * len(FILES)


@pytest.mark.parametrize(("title", "case"), CASES, ids=[f"{title}: {case.what}" for title, case in CASES])
def test_a_row_is_current(title, case):
    """The printed row says what is computed now: words exactly, numbers to the digits that other machines repeat."""
    section = PAGE.read_text(encoding="utf-8").split(f"\n## {title}\n")[1].split("\n## ")[0]
    printed = next(line for line in section.splitlines() if line.startswith(f"| {case.what} |"))
    then, now = (line.strip("| ").split(" | ") for line in (printed, row(case)))
    assert [then[i] for i in (0, 3, 5, 6)] == [now[i] for i in (0, 3, 5, 6)]
    for i in (1, 2):
        assert float(then[i]) == pytest.approx(float(now[i]), rel=2e-3)
