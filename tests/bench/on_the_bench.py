"""A board small and quick enough to be answered at every reading: a string line with the sink entered by hand."""

import asyncio
from pathlib import Path
from shutil import copytree
from typing import Any

import httpx
from starlette.applications import Starlette

HOST = "127.0.0.1:8000"

SAMPLE = Path(__file__).resolve().parents[2] / "sample_boards" / "string_line_inches"


SUPPORTS = """support,x_in,y_in,height_in,lowest_move_in,highest_move_in
nose,10,4,1.2,-0.1,0.02
tail,3,40,1.3,-0.01,0.1
"""


def folder(tmp_path: Path) -> Path:
    """A copy of the sample whose plate stands on two supports. Invented."""
    copied = Path(copytree(SAMPLE, tmp_path / "board"))
    (copied / "supports.csv").write_text(SUPPORTS)
    return copied


def described(tmp_path: Path) -> Path:
    """A copy of the lopsided sample before its strings went on: the board itself is described, so that it can be
    learned, and nothing of it was learned yet.
    """
    copied = Path(copytree(SAMPLE.parent / "lopsided_board", tmp_path / "board"))
    rows = (copied / "readings.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (copied / "readings.csv").write_text("".join(row for row in rows if ",strung," not in row), encoding="utf-8")
    return copied


def typed(state: dict[str, Any], note: int, column: str, text: str, **more: Any) -> dict[str, Any]:
    """A reading as the page sends it."""
    entry = next(each for each in state["notes"] if each["note"] == note)
    key = f"{note} {column} {text} {len(more)}"
    return {"key": key, "note": note, "column": column, "text": text, "before": entry["cells"][column], **more}


class Client:
    """A browser's part: requests to an application in this process, with the cookies that it set."""

    def __init__(self, app: Starlette) -> None:
        self.app, self.cookies = app, httpx.Cookies()

    def get(self, path: str, **words: Any) -> httpx.Response:
        return self.asked("GET", path, **words)

    def post(self, path: str, **words: Any) -> httpx.Response:
        return self.asked("POST", path, **words)

    def asked(self, method: str, path: str, **words: Any) -> httpx.Response:
        async def ask() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app)
            async with httpx.AsyncClient(
                transport=transport, base_url=f"http://{HOST}", cookies=self.cookies
            ) as client:
                answer = await client.request(method, path, **words)
                self.cookies.update(client.cookies)
                return answer

        return asyncio.run(ask())
