"""The docs' pictures: each is there, and drawn from what stands here now."""

import re

from write_pictures import EVERY, PICTURES, ROOT, kept


def test_no_picture_is_out_of_date() -> None:
    """By the fingerprint of the sample and of the sources that draw, never by pixels."""
    made_from = kept()
    stale = [name for name, each in EVERY.items() if made_from.get(name) != each.fingerprint]
    assert stale == [], "make them anew: python tests/docs/write_pictures.py"
    assert [name for name in EVERY if not (PICTURES / name).stat().st_size] == []


def test_every_picture_that_is_a_screen_or_a_sheet_is_made_by_the_script() -> None:
    pages = [page.read_text(encoding="utf-8") for page in (ROOT / "docs").glob("*.md")]
    shown = {name for text in pages for name in re.findall(r"\(pictures/(\w+\.png)\)", text)}
    assert shown == set(EVERY)
