"""The shelf: every set of the folder; new, copy, rename, bin, import."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, page, wants_json
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import NewPage, Notice, ShelfPage

if TYPE_CHECKING:
    from collections.abc import Callable


async def shelf(here: Here, request: Request) -> Response:
    """Every set of the folder."""
    answer = await _shelf(here, ())
    here.shown.set()
    return answer


async def _shelf(here: Here, notices: tuple[Notice, ...], status: int = 200) -> Response:
    entries = await asyncio.to_thread(here.bench.shelf)
    examples = await asyncio.to_thread(here.bench.examples)
    units = await asyncio.to_thread(here.bench.units)
    stages = await here.book.ask(lambda d: d.stages())
    record = ShelfPage("Shelf", here.folder, entries, tuple(examples.items()), units, stages, notices)
    return page("shelf.html", record, status)


async def new(here: Here, request: Request) -> Response:
    """The five questions."""
    return await _new(here, {}, "", ())


async def _new(
    here: Here, answers: dict[str, str], name: str, notices: tuple[Notice, ...], status: int = 200
) -> Response:
    def make() -> NewPage:
        bench = here.bench
        kinds, examples = tuple(bench.kinds().items()), tuple(bench.examples().items())
        return NewPage("A new set", bench.questions(), bench.ready_strings(), kinds, answers, name, examples, notices)

    record = await asyncio.to_thread(make)
    return page("new.html", record, status)


async def make_new(here: Here, request: Request) -> Response:
    """From an example (`example`), or from the answers to the five questions."""
    form = await read_form(request)
    name = form.get("name").strip()
    answers = {key: value for key, value in form.fields.items() if key not in ("name", "example")}

    def make() -> None:
        if form.get("example"):
            here.bench.from_example(name, form.get("example"))
        else:
            here.bench.first_set(name, answers)

    try:
        await asyncio.to_thread(make)
    except LodestringError as error:
        notices = _notices(error)
        if wants_json(request):
            return _json_refusal(notices)
        return await _new(here, answers, name, notices, 422)
    return done(request, f"/set/{name}", name=name)


def _notices(error: LodestringError) -> tuple[Notice, ...]:
    problems = getattr(error, "problems", None)
    if problems:
        return tuple(Notice("problem", f"{p.sentence()}.", p.path) for p in problems)
    return (Notice("problem", f"{error}."),)


def _json_refusal(notices: tuple[Notice, ...]) -> Response:
    return JSONResponse({"done": False, "problems": [{"path": n.path, "sentence": n.sentence} for n in notices]}, 422)


async def _act(here: Here, request: Request, form: Form, act: Callable[[], None], back: str = "/") -> Response:
    """Do something with a set of the shelf; a refusal is told on the shelf."""
    try:
        await asyncio.to_thread(act)
    except LodestringError as error:
        notices = _notices(error)
        return _json_refusal(notices) if wants_json(request) else await _shelf(here, notices, 422)
    return done(request, back)


async def shelf_copy(here: Here, request: Request) -> Response:
    """A copy under another name."""
    form = await read_form(request)
    return await _act(here, request, form, lambda: here.bench.copy(form.get("name"), form.get("new").strip()))


async def shelf_rename(here: Here, request: Request) -> Response:
    """Another name for a set, its history and kept states with it."""
    form = await read_form(request)
    here.desks.close(form.get("name"))
    return await _act(here, request, form, lambda: here.bench.rename(form.get("name"), form.get("new").strip()))


async def shelf_bin(here: Here, request: Request) -> Response:
    """Into the bin; nothing is deleted."""
    form = await read_form(request)
    here.desks.close(form.get("name"))
    return await _act(here, request, form, lambda: here.bench.to_bin(form.get("name")))


async def shelf_import(here: Here, request: Request) -> Response:
    """A set file from elsewhere, as a file or as text."""
    form = await read_form(request)
    text = form.get("file") or form.get("text")
    name = form.get("name").strip() or here.bench.suggested(form.file_name.rpartition(".")[0])
    return await _act(here, request, form, lambda: here.bench.take_in(name, text))
