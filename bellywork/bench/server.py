"""The bench as a small server: one page, one address, on this machine alone or with a token on the shop's network."""

from __future__ import annotations

import asyncio
import hmac
import json
import re
import secrets
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from bellywork.bench.papers import bench_sheet, owner_page, plain_page
from bellywork.bench.plate import best_setting, move_typed, plate_moved
from bellywork.bench.scene import scene_data
from bellywork.bench.session import Clash, Session
from bellywork.bench.stages import STAGES
from bellywork.errors import BellyworkError, BoardError, OutputError

TOKEN_BYTES = 16  # 128 bits
COOKIE = "bellywork_bench"
LARGEST_BYTES = 4096  # of a reading
LOOK_S, WAIT_S = 0.2, 20.0  # how often a waiting page is looked after, and how long it waits
PAGES = {
    "bench.js": "text/javascript",
    "typed.js": "text/javascript",
    "look.js": "text/javascript",
    "reach.js": "text/javascript",
    "bench.css": "text/css",
    "bench.html": "text/html",
}
SCENE_FILES = ("three.core.min.js", "three.module.min.js", "OrbitControls.js", "board.js")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
OWNERS_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"  # one file, its style in it
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}
NO_TOKEN = "This bench asks for its token: open the address with ?token=… that 'bellywork bench' printed."


@dataclass(frozen=True, kw_only=True)
class Gate:
    """Who is let in.

    hosts   what the Host header may say, with the port
    token   asked for from every device; None: only this machine can come here at all
    """

    hosts: frozenset[str]
    token: str | None = None

    def refusal(self, request: Request) -> str:
        """Why a request is refused, in a sentence; empty where it is let in."""
        host, origin = request.headers.get("host", ""), request.headers.get("origin")
        if host not in self.hosts:
            return "This bench does not answer under that name."
        if origin is not None and origin.partition("://")[2] not in self.hosts:
            return "This bench answers its own page only."
        if self.token is not None:
            given = request.query_params.get("token") or request.cookies.get(COOKIE) or ""
            if not hmac.compare_digest(given.encode(), self.token.encode()):
                return NO_TOKEN
        return ""


def new_token() -> str:
    """A token that nobody guesses."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def application(session: Session, gate: Gate) -> Starlette:
    """The bench of a session behind a gate, as an ASGI application."""

    def guarded(answer: Callable[[Request], Awaitable[Response]]) -> Callable[[Request], Awaitable[Response]]:
        async def inner(request: Request) -> Response:
            if refused := gate.refusal(request):
                return PlainTextResponse(refused, 403, headers=HEADERS)
            response = await answer(request)
            for name, value in HEADERS.items():
                response.headers.setdefault(name, value)
            if gate.token is not None and "token" in request.query_params:
                response.set_cookie(COOKIE, gate.token, httponly=True, samesite="strict")
            return response

        return inner

    async def page(_: Request) -> Response:
        return HTMLResponse(_shipped("bench.html"))

    def plain(_: Request) -> Response:
        return HTMLResponse(plain_page(session.answer()))

    async def file(request: Request) -> Response:
        name = request.path_params["name"]
        if name in SCENE_FILES:
            return Response(_scene_file(name), media_type="text/javascript")
        if name not in PAGES:
            return PlainTextResponse("The bench has no such file.", 404)
        return Response(_shipped(name), media_type=PAGES[name])

    async def state(request: Request) -> Response:
        seen = request.query_params.get("seen", "")
        for _ in range(int(WAIT_S / LOOK_S)):
            revision = await run_in_threadpool(lambda: session.revision)
            if f"{revision[0]},{revision[1]}" != seen:
                return JSONResponse(await run_in_threadpool(session.state))
            await asyncio.sleep(LOOK_S)
        return Response(status_code=204)

    def posted(answer: Callable[[dict[str, Any]], Any]) -> Callable[[Request], Awaitable[Response]]:
        async def inner(request: Request) -> Response:
            body = b""
            async for part in request.stream():
                body += part
                if len(body) > LARGEST_BYTES:
                    return PlainTextResponse("That is too much at once.", 413)
            try:
                typed = json.loads(body)
                if not isinstance(typed, dict):
                    raise BoardError("What is sent is one JSON object.")
                return JSONResponse(await run_in_threadpool(answer, typed))
            except Clash as clash:
                return JSONResponse({"now": clash.now}, 409)
            except (OutputError, OSError) as error:
                return PlainTextResponse(str(error), 507)
            except (ValueError, RecursionError) as error:  # no JSON, or not what is taken here
                told = str(error) if isinstance(error, BellyworkError) else "That cannot be read."
                return PlainTextResponse(told, 422)
            except BellyworkError as error:
                return PlainTextResponse(str(error), 409)

        return inner

    def got(answer: Callable[[Request], Response]) -> Callable[[Request], Awaitable[Response]]:
        async def inner(request: Request) -> Response:
            try:
                return await run_in_threadpool(answer, request)
            except BellyworkError as error:
                return PlainTextResponse(str(error), 409)

        return inner

    def told(request: Request) -> Response:
        stage = request.path_params["stage"]
        if stage not in STAGES:
            return PlainTextResponse("The bench has no such stage.", 404)
        return JSONResponse(session.told(stage))

    def sheet(_: Request) -> Response:
        pdf = bench_sheet(session.answer(), session.units)
        return Response(
            pdf, media_type="application/pdf", headers={"Content-Disposition": 'inline; filename="bearing.pdf"'}
        )

    def owner(_: Request) -> Response:
        told = owner_page(session.answer(), session.units)
        return HTMLResponse(told, headers={"Content-Security-Policy": OWNERS_POLICY})

    def scene(_: Request) -> Response:
        return JSONResponse(scene_data(session.answer(), units=session.units))

    reading = posted(session.read)
    plate = posted(lambda typed: plate_moved(session.answer(), move_typed(typed), session.units))
    tried = posted(lambda typed: scene_data(session.answer(), move_typed(typed), session.units))
    setting = posted(lambda _: best_setting(session.answer(), session.units))

    return Starlette(
        routes=[
            Route("/", guarded(page)),
            Route("/state", guarded(state)),
            Route("/plain.html", guarded(got(plain))),
            Route("/scene", guarded(got(scene))),
            Route("/tried", guarded(tried), methods=["POST"]),
            Route("/told/{stage}", guarded(got(told))),
            Route("/bearing.pdf", guarded(got(sheet))),
            Route("/owner.html", guarded(got(owner))),
            Route("/row", guarded(posted(session.add_row)), methods=["POST"]),
            Route("/back", guarded(posted(session.take_back)), methods=["POST"]),
            Route("/out", guarded(posted(session.take_out)), methods=["POST"]),
            Route("/reading", guarded(reading), methods=["POST"]),
            Route("/plate", guarded(plate), methods=["POST"]),
            Route("/setting", guarded(setting), methods=["POST"]),
            Route("/{name}", guarded(file)),
        ]
    )


@cache
def _shipped(name: str) -> str:
    return files("bellywork.bench").joinpath("web", name).read_text(encoding="utf-8")


@cache
def _scene_file(name: str) -> str:
    """A script of the board in three dimensions; it imports its neighbours by their addresses here."""
    text = files("bellywork_viewer").joinpath("web", name).read_text(encoding="utf-8")
    return re.sub(r"""(from\s*)(["'])three\2""", r"\1\2./three.module.min.js\2", text)
