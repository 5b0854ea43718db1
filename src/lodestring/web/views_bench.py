"""The bench: coils on the winder and finished ones, and the page that counts. What must not be lost is POSTed and
answered only when it is in the book, on the disk."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.websockets import WebSocket

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, page, refused
from lodestring.web.book_here import island_of
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import BenchListPage, BenchLivePart, BenchPage, Notice
from lodestring.web.push import News
from lodestring.web.render import render
from lodestring.web.ways import fits

if TYPE_CHECKING:
    from lodestring.folder.winding_desk import WindingDesk

MOST_EVENTS = 500
"""In one message of a device; it sends the rest in the next."""
COUNTED = "counted"


def serial_of(request: Request) -> str:
    """The coil that the address names."""
    return str(request.path_params["serial"])


def tell(here: Here, serial: str) -> None:
    """All open pages of a coil: there is something new."""
    here.hub.tell(News(f"bench:{serial}", "", "", COUNTED))


# ---- pages ----


async def bench_list(here: Here, request: Request) -> Response:
    """Coils that were begun, and what could be begun."""
    return await _list(here, ())


async def _list(here: Here, notices: tuple[Notice, ...], form: Form | None = None, status: int = 200) -> Response:
    def make(desk: WindingDesk) -> BenchListPage:
        from lodestring.folder.open_set import workshop_beside
        from lodestring.folder.winding_begin import beginnings
        from lodestring.folder.winding_spool import spool_names
        from lodestring.folder.winding_stages import coils

        book = desk.book
        said = [Notice("problem", f"{w}") for w in book.warnings]
        if book.read_only_because:
            said.append(Notice("problem", f"The book can be read but not written: {book.read_only_because}."))
        beside = workshop_beside(desk.folder)
        winders = () if beside is None else tuple(beside.record.winder)
        spools = spool_names(desk.folder, book)
        typed = {} if form is None else dict(form.fields)
        return BenchListPage(
            "Bench", coils(book), beginnings(desk.folder, book), spools, winders, typed, (*notices, *said)
        )

    return page("bench-list.html", await here.book.ask(make), status)


async def bench_begin(here: Here, request: Request) -> Response:
    """Begin a coil of a set (`coil`: set/pickup/coil), wind one again (`again`), or unwind (`unwind`, an old coil)."""
    form = await read_form(request)

    def make(desk: WindingDesk) -> str:
        from lodestring.folder.winding_begin import begin_coil, begin_old_coil
        from lodestring.folder.winding_repeat import begin_repeat

        serial, spool, winder = (form.get(n).strip() for n in ("serial", "spool", "winder"))
        target = _whole(form.get("target"), "the number of turns") if form.get("target").strip() else None
        if form.get("again"):
            again = form.get("again").strip()
            return begin_repeat(desk.folder, desk.book, again, new=serial, spool=spool, winder=winder).coil
        if form.get("old"):
            return begin_old_coil(desk.folder, desk.book, serial=serial, winder=winder, guess=target or 8000).coil
        parts = form.get("coil").split("/")
        if len(parts) != 3:
            raise LodestringError("a coil to begin is one of the list", f'"{form.get("coil")[:60]}"', "the list")
        unwind = form.get("unwind") == "yes"
        made = begin_coil(
            desk.folder, desk.book, *parts, serial=serial, spool=spool, winder=winder, unwind=unwind, target=target
        )
        return made.coil

    try:
        serial = await here.book.ask(make)
    except LodestringError as error:
        return await _list(here, (Notice("problem", f"{error}."),), form, 422)
    return done(request, f"/bench/{serial}", serial=serial)


async def bench_page(here: Here, request: Request) -> Response:
    """The page beside the winder."""
    return await show(here, serial_of(request), ())


async def show(here: Here, serial: str, notices: tuple[Notice, ...], status: int = 200, ask: Any = None) -> Response:
    """The page of one coil with something to say first. `ask`: a question that needs a yes (record of a count)."""

    def make(desk: WindingDesk) -> BenchPage:
        state, fold = desk.look(serial)
        press = int((fold.begun or {}).get("turns_per_crank", 1))
        live = Markup(render("bench-live.html", BenchLivePart(state, fold)))
        some = desk.cards("snag", "start", "finish", "crank-once", "lost-count", "unwinding")
        return BenchPage(state.serial, state, fold, live, press, island_of(state, fold), some, ask, notices)

    return page("bench.html", await here.book.ask(make), status)


async def bench_state(here: Here, request: Request) -> Response:
    """Where the coil stands, for the page's script: numbers, and the living part of the page."""
    return JSONResponse(await here.book.ask(lambda desk: told(desk, serial_of(request))))


def told(desk: WindingDesk, serial: str) -> dict[str, Any]:
    """Numbers for the script and the living part of the page, in a thread."""
    state, fold = desk.look(serial)
    return {**island_of(state, fold), "html": render("bench-live.html", BenchLivePart(state, fold))}


async def bench_push(here: Here, socket: WebSocket) -> None:
    """News of one coil for one page."""
    if not fits(socket.path_params):
        await socket.close(1008)
        return
    name = f"bench:{socket.path_params['serial']}"
    await here.hub.serve(socket, name, News(name, "", "", "here"))


# ---- what devices send ----


async def bench_events(here: Here, request: Request) -> Response:
    """Events of a device: answered when they are on the disk. `holds`: its highest number, to ask for what is lacking.

    The answer names what the book has, and where the coil stands now. Events for another coil are refused.
    """
    serial = serial_of(request)
    try:
        sent = json.loads((await request.body()).decode("utf-8"))
        events, holds = sent["events"], sent.get("holds", {})
        if not isinstance(events, list) or not isinstance(holds, dict) or len(events) > MOST_EVENTS:
            raise ValueError
    except (ValueError, KeyError, TypeError, RecursionError):
        must = f"A device sends JSON with at most {MOST_EVENTS} events and what it holds; load the page again."
        return JSONResponse({"done": False, "sentence": must}, 400)

    def take(desk: WindingDesk) -> dict[str, Any]:
        taken = desk.take(serial, events, holds)
        return {
            "done": True, "have": taken.have, "refused": taken.refused, "wants": taken.wants,
            "state": told(desk, serial),
        }  # fmt: skip

    answer = await here.book.ask(take)
    if events:
        tell(here, serial)
    return JSONResponse(answer)


async def bench_sensor(here: Here, request: Request) -> Response:
    """A line of a home-made sensor (WindingDesk.sensor). A lost line costs nothing: the next total holds it."""
    serial, text = serial_of(request), (await request.body()).decode("ascii", "replace")
    try:
        turns = await here.book.ask(lambda desk: desk.sensor(serial, text))
    except LodestringError as error:
        return JSONResponse({"done": False, "sentence": f"{error}."}, 400)
    tell(here, serial)
    return JSONResponse({"done": True, "turns": turns})


async def bench_press(here: Here, request: Request) -> Response:
    """One crank or turn more, or less, by a form: for browsers without script."""
    form = await read_form(request)
    sign = -1 if form.get("way") == "off" else 1

    await here.book.ask(lambda desk: desk.press(serial_of(request), sign))
    tell(here, serial_of(request))
    return done(request, f"/bench/{serial_of(request)}")


def _whole(text: str, what: str) -> int:
    joined = "".join(text.split())
    if not joined.isascii() or not joined.isdigit() or len(joined) > 7:
        raise LodestringError(f"{what} is a whole number", f'"{text[:40]}"' if text.strip() else "nothing", "7800")
    return int(joined)


__all__ = ["bench_begin", "bench_events", "bench_list", "bench_page", "bench_press", "bench_push", "bench_sensor",
           "bench_state", "refused", "show", "tell"]  # fmt: skip
