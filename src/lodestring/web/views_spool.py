"""Spools, coil cards, two coils side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import Response

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, page
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import ComparePage, Notice, SpoolPage

if TYPE_CHECKING:
    from lodestring.folder.winding_desk import WindingDesk


async def spool_page(here: Here, request: Request) -> Response:
    """One spool: what is on it, what it gave, whether the next coil fits."""
    return await _spool(here, str(request.path_params["spool"]), ())


async def _spool(here: Here, name: str, notices: tuple[Notice, ...], status: int = 200) -> Response:
    from lodestring.folder.winding_spool_report import spool_report

    report = await here.book.ask(lambda d: spool_report(d.folder, d.book, name))
    (card,) = await here.book.ask(lambda d: d.cards("spool-sample"))
    return page("spool.html", SpoolPage(f"Spool {name}", report, card, notices), status)


async def spool_begin(here: Here, request: Request) -> Response:
    """A new spool for the book."""
    form = await read_form(request)
    name = form.get("name").strip()

    def make(desk: WindingDesk) -> None:
        from lodestring.folder.places import check_name
        from lodestring.folder.winding_spool import spool_begin_body, spool_names

        check_name(name)
        if name in spool_names(desk.folder, desk.book):
            raise LodestringError("a spool's name must be new", f'"{name}", which is known', "another")
        body = spool_begin_body(
            form.get("size"), form.get("enamel"), form.get("film"), form.get("mass"), form.get("empty")
        )
        desk.note_spool(name, "spool.begin", body)

    try:
        await here.book.ask(make)
    except LodestringError as error:
        from lodestring.web.views_bench import _list

        return await _list(here, (Notice("problem", f"{error}."),), form, 422)
    return done(request, f"/spool/{name}")


async def spool_note(here: Here, request: Request) -> Response:
    """A weighing or a sample of 10 m."""
    form = await read_form(request)
    name = str(request.path_params["spool"])

    def make(desk: WindingDesk) -> None:
        kind, body = _body(form)
        desk.note_spool(name, kind, body)

    try:
        await here.book.ask(make)
    except LodestringError as error:
        return await _spool(here, name, (Notice("problem", f"{error}."),), 422)
    return done(request, f"/spool/{name}")


def _body(form: Form) -> tuple[str, Any]:
    from lodestring.folder.winding_spool import sample_body, weigh_body

    if form.get("kind") == "spool.weigh":
        return "spool.weigh", weigh_body(form.get("mass"))
    return "spool.sample", sample_body(form.get("metres") or "10 m", form.get("ohm"), form.get("temperature"))


async def bench_card(here: Here, request: Request) -> Response:
    """The coil card, to print and stick into the case."""
    from lodestring.folder.winding_card import coil_card

    serial, paper = str(request.path_params["serial"]), request.query_params.get("paper", "a4")
    raw = await here.book.ask(lambda d: coil_card(d.book, serial, paper))
    shown = f'inline; filename="{serial}-card.pdf"'
    return Response(raw, media_type="application/pdf", headers={"content-disposition": shown})


async def bench_compare(here: Here, request: Request) -> Response:
    """Two coils side by side."""
    from lodestring.folder.winding_compare import compare_coils

    a, b = (str(request.path_params[n]) for n in ("serial", "other"))
    found = await here.book.ask(lambda d: compare_coils(d.book, a, b))
    return page("compare.html", ComparePage(f"{a} and {b}", found))


async def bench_compare_form(here: Here, request: Request) -> Response:
    """Two coils were chosen."""
    form = await read_form(request)
    return done(request, f"/compare/{form.get('a', 'x')}/{form.get('b', 'x')}")
