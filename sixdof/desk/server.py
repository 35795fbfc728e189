"""The desk's server: a page, its answers, and the pages of runs."""

from __future__ import annotations

import errno
import socket
import threading
import webbrowser
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import uvicorn
from anyio import to_thread
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.base import BaseHTTPMiddleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from sixdof.desk.guard import MOST_BYTES, OF_RUNS, Guard
from sixdof.desk.said import ask, percent, ratios, text, texts
from sixdof.desk.work import Busy, Desk
from sixdof.files.errors import InputError

__all__ = ["PORT", "application", "serve"]

PORT = 8614
_HERE = Path(__file__).parent
_ASSETS = {
    "/": "page.html",
    **{f"/{name}": name for name in ("desk.js", "trim.js", "causes.js", "notes.js", "desk.css")},
    "/card.js": "../field/card.js",
    "/player.js": "../show/player.js",
    "/flights.css": "../show/flights.css",
}
_TYPES = {".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css"}
#: Files of a run that the page may show.
_SHOWN = {"report.html", "sheet.html", "card.html"}

Answer = Callable[[dict[str, Any]], Any]


def application(desk: Desk, guard: Guard) -> Starlette:
    """The desk as an application; every request passes the guard."""
    answers: dict[str, Answer] = {
        "airplanes": lambda _: desk.airplanes(),
        "paper": lambda _: desk.paper(),
        "job": lambda _: desk.job(),
        "check": lambda _: desk.check(),
        "logbook": lambda _: desk.logbook(),
    }
    changes: dict[str, Answer] = {
        "open": lambda said: desk.open(text(said, "name")),
        "new": lambda said: desk.new(text(said, "name"), text(said, "units")),
        "value": lambda said: desk.value(text(said, "key"), text(said, "text"), text(said, "sha")),
        "tune": lambda said: desk.tune(texts(said, "changes")),
        "diagnose": lambda said: desk.diagnose(texts(said, "changes")),
        "learn": lambda said: desk.learn(
            text(said, "name"),
            text(said, "text", most=200_000),
            undo=said.get("undo") is True,
            keep=said.get("keep") is True,
        ),
        "cancel": lambda _: desk.cancel(),
        "fly": lambda said: desk.fly(
            ask(said), ratios(said), texts(said, "changes"), texts(said, "then"), has=text(said, "has")
        ),
        "explore": lambda said: desk.explore(
            ask(said),
            ratios(said),
            texts(said, "changes"),
            text(said, "vary"),
            percent(said, "most", 0.5, 100.0),
        ),
        "steps": lambda said: desk.steps(texts(said, "changes"), text(said, "change")),
    }
    routes = [
        *(Route(path, partial(_asset, file)) for path, file in _ASSETS.items()),
        *(
            Route(f"/api/{name}", partial(_answered, answer), methods=["GET"])
            for name, answer in answers.items()
        ),
        *(
            Route(f"/api/{name}", partial(_answered, answer), methods=["POST"])
            for name, answer in changes.items()
        ),
        Route("/runs/{run}/{file}", _of_run),
    ]
    return Starlette(routes=routes, middleware=[Middleware(BaseHTTPMiddleware, dispatch=guard)])


async def _asset(file: str, request: Request) -> Response:
    path = _HERE / file
    return Response(path.read_bytes(), media_type=_TYPES[path.suffix])


async def _answered(answer: Answer, request: Request) -> Response:
    """An answer as JSON; what cannot be is said in one line."""
    try:
        said = await _said(request) if request.method == "POST" else {}
        return JSONResponse(await to_thread.run_sync(answer, said))
    except Busy as error:
        return JSONResponse({"error": str(error)}, 409)
    except InputError as error:
        return JSONResponse({"error": str(error)}, 400)


async def _said(request: Request) -> dict[str, Any]:
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > MOST_BYTES:
            raise InputError("too long a message")
    import json

    try:
        said = json.loads(body or b"{}")
    except (ValueError, RecursionError):
        raise InputError("got no JSON") from None
    if not isinstance(said, dict):
        raise InputError("got no JSON object")
    return said


async def _of_run(request: Request) -> Response:
    """A page of a run below the working folder's runs, by plain names only."""
    run, file = request.path_params["run"], request.path_params["file"]
    folder = Path("runs").resolve()
    path = (folder / run / file).resolve()
    if (
        file not in _SHOWN
        or path.parent.parent != folder
        or path.parent.name.startswith(".")
        or not path.is_file()
    ):
        return PlainTextResponse("no such page\n", 404)
    return FileResponse(path, media_type=_TYPES[".html"], headers={"Content-Security-Policy": OF_RUNS})


def serve(aircraft: str | None, *, port: int = PORT, browser: bool = True) -> None:
    """Serve the desk on this machine until it is interrupted.

    Raises
    ------
    InputError
        The port is taken, or the aircraft file cannot be read.
    """
    desk, guard = Desk(aircraft), Guard(port)
    listening = _listening(port)
    print(f"desk: {guard.address}\nonly this machine can open it; Ctrl-C ends it", flush=True)
    threading.Thread(target=desk.warm_up, daemon=True).start()
    if browser:
        threading.Thread(target=webbrowser.open, args=(guard.address,), daemon=True).start()
    config = uvicorn.Config(
        application(desk, guard),
        log_level="error",
        lifespan="off",
        server_header=False,
        timeout_graceful_shutdown=2,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _listening(port: int) -> socket.socket:
    """The desk's socket.

    Raises
    ------
    InputError
    """
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("127.0.0.1", port))
    except OSError as error:
        listening.close()
        if error.errno == errno.EADDRINUSE:
            raise InputError(
                f"--port {port}: taken; a desk may run there already, its address is in the terminal it was started from: "
                f"use that one, or another port, as --port {port + 1}"
            ) from None
        raise InputError(f"--port {port}: cannot be used ({error.strerror})") from None
    listening.listen()
    return listening
