"""Writes docs/validation.md out of the published cases; run it after a case or the solver has changed.

python tests/published/write_validation.py
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from cases import Case, Source

PAGE = Path(__file__).parents[2] / "docs" / "validation.md"
FILES = (
    "test_plate_tables", "test_roark", "test_orthotropic_series", "test_modes", "test_strips", "test_shallow_cap",
    "test_ribbed_panel", "test_solid_reference", "test_solid_modes", "test_solid_bridge", "test_large_plates",
    "test_shallow_roof", "test_cap_large", "test_two_layer_strip", "test_strings", "test_strung_mode",
    "test_wood_handbook", "test_wire_standards",
)  # fmt: skip

OPENING = """\
# What the numbers were checked against

Every value here is computed when the tests run and compared with a value that was not made by this program: printed in
a book, a handbook or a standard, or computed by other means. A test fails when one leaves its tolerance, and another
when this page is out of date. “Known” says how the published value came to us: *read* in the source, read in a
*second-hand copy* of it, *from memory*, or *computed* apart from this program where no printed value exists.
No complete published case of a loaded soundboard was found, so no check here is of a whole instrument.
"""


def sources() -> list[Source]:
    """Every published source, in the order of the page."""
    return [import_module(name).SOURCE for name in FILES]


def row(case: Case) -> str:
    """A case as a line of the page's tables."""
    return (
        f"| {case.what} | {case.value:.5g} | {case.reference:.5g} | {case.unit} | {case.difference_percent:+.2f} % "
        f"| {case.tolerance_percent:.2g} % | {case.known} |"
    )


def page() -> str:
    """The whole page."""
    parts = [OPENING]
    for source in sources():
        parts += [
            f"\n## {source.title}\n\n*Source:* {source.cite}.\n\n{source.about}\n\n*Tolerance:* {source.why}\n",
            "| case | ours | published | unit | difference | tolerance | known |",
            "|---|---|---|---|---|---|---|",
            *(row(case) for case in source.cases),
        ]
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
