"""The documentation as a site: it builds without a warning, and fetches nothing from anywhere."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = ROOT / "docs" / "settings" / "mkdocs.yml"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site; strict: a link, a picture or an anchor that leads nowhere, or a page that no menu has, ends it."""
    folder = tmp_path_factory.mktemp("site")
    words = ["mkdocs", "build", "--strict", "--config-file", str(SETTINGS), "--site-dir", str(folder)]
    built = subprocess.run([sys.executable, "-m", *words], capture_output=True, text=True, cwd=ROOT)
    assert built.returncode == 0, built.stderr
    return folder


def test_every_page_is_there(site: Path) -> None:
    pages = {path.stem for path in (ROOT / "docs").glob("*.md")}
    assert pages <= {path.stem for path in site.glob("*.html")}


def test_nothing_is_fetched_from_anywhere(site: Path) -> None:
    """The pages open without a network: what they load stands beside them."""
    for page in site.glob("*.html"):
        text = page.read_text(encoding="utf-8")
        loaded = re.findall(r'<(?:script|img|iframe)[^>]*\ssrc="([^"]*)"|<link[^>]*\shref="([^"]*)"', text)
        far = [src or href for src, href in loaded if re.match(r"(https?:)?//", src or href)]
        assert far == [], page.name
    for sheet in site.rglob("*.css"):
        assert not re.search(r"url\(['\"]?(https?:)?//", sheet.read_text(encoding="utf-8")), sheet.name


def test_the_sink_without_a_model_is_two_clicks_from_the_door(site: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "(docs/index.md)" in readme
    assert 'href="sink.html"' in (site / "index.html").read_text(encoding="utf-8")
