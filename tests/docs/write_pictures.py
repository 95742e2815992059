"""Makes every picture of the docs anew: python tests/docs/write_pictures.py [NAME …]

Needs Chromium and pdftoppm. Beside each picture's name made_from.json keeps a fingerprint of what it is drawn from, the
sample's tables and the sources that draw, so that `test_pictures.py` finds those that are out of date.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from bellywork.cli.main import main as command

ROOT = Path(__file__).resolve().parents[2]
PICTURES, SAMPLES = ROOT / "docs" / "pictures", ROOT / "sample_boards"
KEPT = PICTURES / "made_from.json"
GRAND, OLD, LOPSIDED = "seven_foot_grand", "old_small_grand", "lopsided_board"
PHONE, DESK = (390, 844), (1280, 900)
SHEET_DPI = 64


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A picture of the docs: how it is made into a file, of which sample, and the sources that draw it."""

    make: Callable[[Path], None]
    sample: str
    sources: tuple[str, ...]

    @property
    def fingerprint(self) -> str:
        """Of the sample's tables and the sources."""
        digest = hashlib.sha256()
        tables = (path for path in (SAMPLES / self.sample).rglob("*") if path.suffix in (".csv", ".toml"))
        drawing = (path for pattern in self.sources for path in ROOT.glob(pattern) if path.is_file())
        for path in sorted([*tables, *drawing]):
            digest.update(path.relative_to(ROOT).as_posix().encode() + b"\0" + path.read_bytes())
        return digest.hexdigest()


def told(*words: str) -> None:
    """Run a command as a user does."""
    code = command(list(words))
    assert code in (0, 1), (words, code)


def shot(*words: str) -> Callable[[Path], None]:
    return lambda to: told("view", str(SAMPLES / GRAND), *words, "--shot", str(to))


def plotted(*words: str) -> Callable[[Path], None]:
    return lambda to: told("season", str(SAMPLES / GRAND), *words, "--plot", str(to))


def sheet(what: str, sample: str = GRAND, *words: str, page: int = 1) -> Callable[[Path], None]:
    def make(to: Path) -> None:
        with tempfile.TemporaryDirectory() as folder:
            told("sheet", str(SAMPLES / sample), "--what", what, *words, "--to", folder)
            first = ["pdftoppm", "-r", str(SHEET_DPI), "-f", str(page), "-l", str(page), "-png", "-singlefile"]
            subprocess.run([*first, f"{folder}/{what}.pdf", str(to.with_suffix(""))], check=True)

    return make


@contextmanager
def browsed(size: tuple[int, int], address: str) -> Iterator[object]:
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader"]
        )
        page = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, has_touch=True, reduced_motion="reduce"
        ).new_page()
        page.goto(address)
        yield page
        browser.close()


def page_on_a_phone(to: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "board.html"
        told("view", str(SAMPLES / GRAND), "--page", str(file))
        with browsed(PHONE, file.as_uri()) as page:
            page.wait_for_timeout(3000)
            page.screenshot(path=to)


def bench(size: tuple[int, int], stage: str, *, full: bool = False) -> Callable[[Path], None]:
    def make(to: Path) -> None:
        import uvicorn
        from playwright.sync_api import expect

        from bellywork.bench.server import Gate, application
        from bellywork.bench.session import Session
        from bellywork.cli.bench import bound

        with tempfile.TemporaryDirectory() as folder:
            board = Path(shutil.copytree(SAMPLES / LOPSIDED, Path(folder) / "board"))
            session, door = Session(board), bound("127.0.0.1", 0)
            host = f"127.0.0.1:{door.getsockname()[1]}"
            app = application(session, Gate(hosts=frozenset({host})))
            server = uvicorn.Server(uvicorn.Config(app, log_level="critical", timeout_graceful_shutdown=1))
            thread = threading.Thread(target=server.run, kwargs={"sockets": [door]})
            thread.start()
            try:
                session.answer(within_s=300.0)
                with browsed(size, f"http://{host}/") as page:
                    expect(page.locator("#note")).not_to_have_text("–")
                    page.locator(f"nav button[data-stage={stage}]").tap()
                    if stage == "plate":
                        page.locator("#best").tap()
                    expect(page.locator("main")).not_to_contain_text("Working it out", timeout=300000)
                    if stage == "look":
                        expect(page.locator("#legend")).not_to_have_text("", timeout=300000)
                    page.wait_for_timeout(1500)
                    page.screenshot(path=to, full_page=full)
            finally:
                server.should_exit = True
                thread.join()
                door.close()
                session.close()

    return make


def smaller(path: Path) -> None:
    """The same picture in a hundred and twenty-eight colours."""
    from PIL import Image

    Image.open(path).convert("RGB").quantize(128).save(path, optimize=True)


VIEWER = ("viewer/bellywork_viewer/*.py",)
PAGE = (*VIEWER, "viewer/bellywork_viewer/web/*")
BENCH = ("bellywork/bench/web/*", "bellywork/bench/stages.py")
SHEETS = ("bellywork/sheets/*.py",)
RULES = [
    word for name in ("even", "graded", "lighter") for word in ("--scheme", f"{SAMPLES / GRAND}/schemes/{name}.toml")
]
PLOTS = ("viewer/bellywork_viewer/figure.py", "viewer/bellywork_viewer/*_plot.py")
EVERY = {
    "view.png": Picture(make=shot(), sample=GRAND, sources=VIEWER),
    "view_bridge.png": Picture(make=shot("--camera", "bridge"), sample=GRAND, sources=VIEWER),
    "view_plane.png": Picture(make=shot("--colour", "plane", "--camera", "top"), sample=GRAND, sources=VIEWER),
    "view_underside.png": Picture(make=shot("--camera", "underside"), sample=GRAND, sources=VIEWER),
    "page_phone.png": Picture(make=page_on_a_phone, sample=GRAND, sources=PAGE),
    "year.png": Picture(make=plotted(), sample=GRAND, sources=PLOTS),
    "years.png": Picture(make=plotted("--years", "10"), sample=GRAND, sources=PLOTS),
    "bench_measure.png": Picture(make=bench(DESK, "measure"), sample=LOPSIDED, sources=BENCH),
    "bench_phone.png": Picture(make=bench(PHONE, "measure"), sample=LOPSIDED, sources=BENCH),
    "bench_press.png": Picture(make=bench(DESK, "press"), sample=LOPSIDED, sources=BENCH),
    "bench_string.png": Picture(make=bench(PHONE, "string"), sample=LOPSIDED, sources=BENCH),
    "bench_plate.png": Picture(make=bench(DESK, "plate"), sample=LOPSIDED, sources=BENCH),
    "bench_look.png": Picture(make=bench(DESK, "look"), sample=LOPSIDED, sources=(*BENCH, *PAGE)),
    "sheet_bearing.png": Picture(make=sheet("bearing"), sample=GRAND, sources=SHEETS),
    "sheet_bridge.png": Picture(make=sheet("bridge"), sample=GRAND, sources=SHEETS),
    "sheet_plate.png": Picture(make=sheet("plate"), sample=GRAND, sources=SHEETS),
    "sheet_ribs.png": Picture(make=sheet("ribs", page=4), sample=GRAND, sources=SHEETS),
    "sheet_crown.png": Picture(make=sheet("crown", OLD), sample=OLD, sources=SHEETS),
    "sheet_owner.png": Picture(make=sheet("owner", OLD), sample=OLD, sources=SHEETS),
    "sheet_schemes.png": Picture(make=sheet("schemes", GRAND, *RULES), sample=GRAND, sources=SHEETS),
}


def kept() -> dict[str, str]:
    """The fingerprint that each picture was made from."""
    return dict(json.loads(KEPT.read_text(encoding="utf-8"))) if KEPT.exists() else {}


def main(names: list[str]) -> None:
    """Make the pictures named, else those that are out of date."""
    made_from = kept()
    for name in names or [name for name, each in EVERY.items() if made_from.get(name) != each.fingerprint]:
        sys.stderr.write(f"{name}\n")
        (PICTURES / name).unlink(missing_ok=True)  # it was made smaller, and no command takes it for its own
        EVERY[name].make(PICTURES / name)
        smaller(PICTURES / name)
        made_from[name] = EVERY[name].fingerprint
        KEPT.write_text(json.dumps(dict(sorted(made_from.items())), indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
