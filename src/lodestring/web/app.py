"""The application: the table of ways with their handlers, behind the guard."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.websockets import WebSocket

from lodestring.web import (
    views_bench,
    views_devices,
    views_files,
    views_set,
    views_shelf,
    views_spool,
    views_units,
    views_winding,
)
from lodestring.web.answers import Here, endpoint, refused, refused_page
from lodestring.web.bench import Bench, bench_of, warm_up
from lodestring.web.book_here import BookHere
from lodestring.web.desk import Desks
from lodestring.web.guard import App, Gate, Guard, Refusal, Scope
from lodestring.web.push import Hub
from lodestring.web.ways import WAYS, Way

VIEWS = (views_bench, views_winding, views_spool, views_devices, views_shelf, views_set, views_files, views_units)


def make_app(folder: Path, gate: Gate, bench: Bench | None = None) -> App:
    """The workbench of a folder. `bench`: what stands for the folder in a test."""
    used = bench_of(folder) if bench is None else bench
    hub = Hub()
    here = Here(gate, used, hub, Desks(used, hub), folder.name, threading.Event(), BookHere(folder))

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        hub.begin(asyncio.get_running_loop())
        if bench is None:
            warm_up(here.shown)
        yield
        here.desks.close_all()
        here.book.close()

    inner = Starlette(
        routes=[_route(here, way) for way in WAYS],
        exception_handlers={HTTPException: _http, Exception: _fault},
        lifespan=life,
        middleware=[Middleware(GZipMiddleware, minimum_size=8192, compresslevel=2)],
    )
    inner.router.redirect_slashes = False
    return Guard(inner, gate, _refuse)


def _route(here: Here, way: Way) -> BaseRoute:
    handler = next(getattr(view, way.name) for view in VIEWS if hasattr(view, way.name))
    if way.method == "WS":
        return WebSocketRoute(way.path, _socket(here, handler), name=way.name)
    return Route(way.path, endpoint(here, handler), methods=[way.method], name=way.name)


def _socket(
    here: Here, handler: Callable[[Here, WebSocket], Awaitable[None]]
) -> Callable[[WebSocket], Awaitable[None]]:
    async def answer(socket: WebSocket) -> None:
        await handler(here, socket)

    return answer


def _refuse(scope: Scope, refusal: Refusal) -> tuple[bytes, str]:
    """The page of a refusal."""
    return refused_page(refusal.status, refusal.sentence).encode(), "text/html; charset=utf-8"


async def _http(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    detail = error.detail if isinstance(error, HTTPException) else ""
    known = {
        404: "There is no such page; try the shelf.",
        405: "This page is not asked for in that way; try the shelf.",
    }
    answer = refused(request, status, known.get(status, detail) if not detail.endswith(".") else detail)
    answer.headers.update(getattr(error, "headers", None) or {})
    return answer


async def _fault(request: Request, error: Exception) -> Response:
    """A fault of ours; its traceback goes to the terminal, the page gets a sentence."""
    return refused(
        request, 500, "This went wrong, and it is a fault of ours; the terminal says where. Nothing was changed."
    )
