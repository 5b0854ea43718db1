"""How a question is answered: as a page, as JSON for a page's script, or by going back to a page."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable, Coroutine
from dataclasses import dataclass
from functools import wraps
from typing import Any, TypeVar

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from lodestring.errors import LodestringError, SetFileError
from lodestring.web.bench import Bench
from lodestring.web.book_here import BookHere
from lodestring.web.desk import Desk, Desks
from lodestring.web.guard import Gate
from lodestring.web.pages import RefusedPage
from lodestring.web.push import Hub
from lodestring.web.render import render
from lodestring.web.ways import fits


@dataclass(frozen=True, slots=True)
class Here:
    """What every handler works with."""

    gate: Gate
    bench: Bench
    hub: Hub
    desks: Desks
    folder: str
    shown: threading.Event
    """Set once the shelf was shown: until then nothing else may slow it down."""
    book: BookHere

    def desk(self, request: Request) -> Desk:
        """The desk of the set that the address names."""
        return self.desks.desk(str(request.path_params["name"]))


T = TypeVar("T")
Handler = Callable[[Here, Request], Awaitable[Response]]


def endpoint(here: Here, handler: Handler) -> Callable[[Request], Awaitable[Response]]:
    """The handler behind a route: names checked before, errors of ours said after."""

    @wraps(handler)
    async def answer(request: Request) -> Response:
        if not fits(request.path_params):
            raise HTTPException(404, "There is no such page; try the shelf.")
        try:
            return await handler(here, request)
        except LodestringError as error:
            return refused(request, _status(here, request), _first(error))

    return answer


def _status(here: Here, request: Request) -> int:
    """404 where the set that the address names could not be opened at all, else 422."""
    name = request.path_params.get("name")
    if name is None or here.desks.desk(str(name)).open:
        return 422
    here.desks.close(str(name))
    return 404


def _first(error: LodestringError) -> str:
    if isinstance(error, SetFileError):
        return " ".join(f"{p.path}: {p.sentence()}." if p.path else f"{p.sentence()}." for p in error.problems[:3])
    return f"{error}."


async def while_wanted(request: Request, work: Coroutine[Any, Any, T]) -> T:
    """What `work` gives, unless whoever asked goes away before: then it is given up. Raises LodestringError then."""

    async def gone() -> None:
        while (await request.receive())["type"] != "http.disconnect":
            pass

    task, watch = asyncio.create_task(work), asyncio.create_task(gone())
    try:
        await asyncio.wait({task, watch}, return_when=asyncio.FIRST_COMPLETED)
        if task.done():
            return task.result()
    finally:
        task.cancel()
        watch.cancel()
    raise LodestringError("this was given up", "", "asking again")


def wants_json(request: Request) -> bool:
    """Whether a page's script asks, and not the browser itself."""
    return "application/json" in request.headers.get("accept", "")


def refused(request: Request, status: int, sentence: str, back: str = "/") -> Response:
    """A sentence in place of what was asked for."""
    if wants_json(request):
        return JSONResponse({"done": False, "sentence": sentence}, status)
    return HTMLResponse(refused_page(status, sentence, back), status)


def refused_page(status: int, sentence: str, back: str = "") -> str:
    """The whole page of a refusal."""
    return render("refused.html", RefusedPage("Not this way", status, sentence, back))


def page(template: str, record: Any, status: int = 200) -> Response:
    """A page out of its template and its record."""
    return HTMLResponse(render(template, record), status)


def done(request: Request, back: str, **told: Any) -> Response:
    """A change was made: JSON for a script, else back to the page by GET, so that loading it again repeats nothing."""
    if wants_json(request):
        return JSONResponse({"done": True, **told})
    return RedirectResponse(back, 303)
