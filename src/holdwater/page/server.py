"""The page over HTTP, for this machine alone."""

from __future__ import annotations

import secrets
import socket
import sys
import traceback
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import uvicorn
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from holdwater.errors import HoldwaterError, InputError
from holdwater.page.asked import Asked
from holdwater.page.desk import Desk
from holdwater.page.guard import TOO_LARGE, Guard, TooLarge

HERE = "127.0.0.1"
STATIC = {
    "/": ("page.html", "text/html; charset=utf-8"),
    "/page.css": ("page.css", "text/css; charset=utf-8"),
    "/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/chart.js": ("chart.js", "text/javascript; charset=utf-8"),
    "/controls.js": ("controls.js", "text/javascript; charset=utf-8"),
}
"""All there is to read; nothing is looked up by the name a request gives."""
TOKEN_BYTES = 24
BACKLOG = 64
NOT_UNDERSTOOD = "the page asked for something this holdwater does not know; reload the page"


def new_token() -> str:
    """A token that nobody guesses."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def application(desk: Desk, token: str, port: int) -> ASGIApp:
    """The page of a desk behind its guard.

    Parameters
    ----------
    desk : Desk
        What answers.
    token : str
        The secret every request must bring.
    port : int
        The port it is served on.
    """

    def opening(asked: Asked) -> Response:
        return JSONResponse(desk.opening(asked))

    def afresh(asked: Asked) -> Response:
        return JSONResponse(desk.opening(asked, fresh=True))

    def answer(asked: Asked) -> Response:
        return JSONResponse(desk.answer(asked))

    def save(asked: Asked) -> Response:
        return JSONResponse(desk.save(asked))

    def plan(asked: Asked) -> Response:
        return Response(
            desk.plan(asked),
            media_type="text/html; charset=utf-8",
            headers={"content-disposition": 'attachment; filename="plan.html"'},
        )

    routes = [Route(path, _static(*held), methods=["GET"]) for path, held in STATIC.items()]
    for path, work in (
        ("/opening", opening),
        ("/afresh", afresh),
        ("/answer", answer),
        ("/save", save),
        ("/plan", plan),
    ):
        routes.append(Route(path, _posted(work), methods=["POST"]))
    return Guard(Starlette(routes=routes), token, port)


def _static(name: str, kind: str) -> Callable[[Request], Any]:
    content = files("holdwater.page").joinpath("static", name).read_bytes()

    async def send(request: Request) -> Response:
        return Response(content, media_type=kind)

    return send


def _posted(work: Callable[[Asked], Response]) -> Callable[[Request], Any]:
    """One question: read, answered in a thread of its own, its faults told in plain words."""

    async def answer(request: Request) -> Response:
        try:
            body = await request.body()
        except TooLarge:
            return JSONResponse({"faults": [TOO_LARGE]}, 413)
        try:
            asked = Asked.model_validate_json(body)
        except (ValidationError, RecursionError):
            return JSONResponse({"faults": [NOT_UNDERSTOOD]}, 400)
        try:
            return await run_in_threadpool(work, asked)
        except InputError as error:
            return JSONResponse({"faults": error.faults}, 422)
        except HoldwaterError as error:
            return JSONResponse({"faults": str(error).splitlines()}, 422)
        except Exception as bug:
            traceback.print_exc(file=sys.stderr)
            said = f"this is a fault of holdwater, not yours: {type(bug).__name__}; the terminal shows where"
            return JSONResponse({"faults": [said]}, 500)

    return answer


def listening(port: int) -> socket.socket:
    """A socket of this machine alone; port 0 takes a free one.

    Raises
    ------
    InputError
        The port is taken or not allowed.
    """
    held = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would let a second server take the same port
            held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        held.bind((HERE, port))
        held.listen(BACKLOG)  # from now on a browser waits for its answer
    except OSError as error:
        held.close()
        raise InputError(
            f"--port {port}: it cannot be used ({error.strerror or error}); leave --port out to take a free one"
        ) from None
    return held


def address(port: int, token: str) -> str:
    """Where the page is, with its token."""
    return f"http://{HERE}:{port}/?token={token}"


def server(app: ASGIApp) -> uvicorn.Server:
    """A server that speaks plain HTTP only and says nothing."""
    return uvicorn.Server(
        uvicorn.Config(
            app,
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_level="critical",
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            limit_concurrency=64,
            backlog=BACKLOG,
            h11_max_incomplete_event_size=16_384,
            timeout_keep_alive=15,
            timeout_graceful_shutdown=1,
        )
    )
