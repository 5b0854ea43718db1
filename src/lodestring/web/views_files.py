"""What is no page: pictures, files to take away, static files, the entrance and the sign of life."""

from __future__ import annotations

import math
import re
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.websockets import WebSocket

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, refused, while_wanted
from lodestring.web.guard import WORDLESS
from lodestring.web.push import News
from lodestring.web.render import static as static_file
from lodestring.web.ways import fits
from lodestring.web.work import Urgency

MEDIA = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "woff2": "font/woff2",
}
WIDTH = 640.0
"""Pixels of a picture that is asked for without a width."""
_NONCE = re.compile(r"[0-9a-f]{16,64}")


async def enter(here: Here, request: Request) -> Response:
    """The address that the terminal printed: its word becomes a cookie, and leaves the address."""
    if not here.gate.knows(request.query_params.get("word", "")):
        return refused(request, 403, WORDLESS, "")
    answer = RedirectResponse("/", 303)
    answer.set_cookie(here.gate.cookie, here.gate.word, path="/", httponly=True, samesite="strict")
    return answer


async def alive(here: Here, request: Request) -> Response:
    """Proof, for a second start on the same folder, that this server is the one of the lock."""
    nonce = request.query_params.get("nonce", "")
    if not _NONCE.fullmatch(nonce):
        return PlainTextResponse("a nonce must be 16 to 64 hexadecimal digits", 400)
    return PlainTextResponse(here.gate.answer_to(nonce))


async def static(here: Here, request: Request) -> Response:
    """A file of the package: style sheet, script, font."""
    name = str(request.path_params["file"])
    raw = static_file(name)
    if raw is None:
        return refused(request, 404, "There is no such file; try the shelf.")
    return Response(raw, media_type=MEDIA[name.rpartition(".")[2]])


async def picture(here: Here, request: Request) -> Response:
    """One picture as SVG, at the width the page has for it."""
    view, width = str(request.path_params["view"]), _width(request.query_params.get("width", ""))
    desk, kept = here.desk(request), request.query_params.get("compare", "")
    work = desk.ask(lambda d: here.bench.picture(d.computed(), view, width, d.kept(kept)), Urgency.ASKED)
    drawn = await while_wanted(request, work)
    return Response(drawn, media_type="image/svg+xml")


def _width(text: str) -> float:
    try:
        width = float(text) if text else WIDTH
    except ValueError:
        width = math.nan
    if not math.isfinite(width):
        raise LodestringError("the width of a picture must be a number of pixels", f'"{text[:20]}"', "640")
    return width


async def readout(here: Here, request: Request) -> Response:
    """Data of a plot, for pointer and keyboard."""
    view, width = str(request.path_params["view"]), _width(request.query_params.get("width", ""))
    desk, kept = here.desk(request), request.query_params.get("compare", "")
    work = desk.ask(lambda d: here.bench.readout(d.computed(), view, width, d.kept(kept)), Urgency.ASKED)
    return JSONResponse(await while_wanted(request, work))


async def sheet(here: Here, request: Request) -> Response:
    """The build sheet, to look at and print."""
    return await _hand_over(here, request, "sheet", "sheet.pdf", "paper")


async def template(here: Here, request: Request) -> Response:
    """The paper template, 1:1."""
    return await _hand_over(here, request, "template", "template.pdf", "paper")


async def figures(here: Here, request: Request) -> Response:
    """All figures, as `assess --json` gives them."""
    return await _hand_over(here, request, "figures", "figures.json", "")


async def netlist(here: Here, request: Request) -> Response:
    """The circuit of one position for any SPICE."""
    return await _hand_over(here, request, "netlist", "netlist.cir", "position")


async def _hand_over(here: Here, request: Request, kind: str, ending: str, choice: str) -> Response:
    chosen, desk = request.query_params.get(choice, ""), here.desk(request)
    work = desk.ask(lambda d: here.bench.hand_over(d.computed(), kind, chosen), Urgency.ASKED)
    handed = await while_wanted(request, work)
    return _named(handed.raw, handed.media, f"{desk.name}-{ending}", inline=kind in ("sheet", "template"))


async def set_toml(here: Here, request: Request) -> Response:
    """The set file, byte for byte."""
    desk = here.desk(request)
    raw = await desk.ask(lambda d: d.sitting().raw)
    return _named(raw, "application/toml", f"{desk.name}.toml", inline=False)


def _named(raw: bytes, media: str, name: str, inline: bool) -> Response:
    shown = "inline" if inline else "attachment"
    return Response(raw, media_type=media, headers={"content-disposition": f'{shown}; filename="{quote(name)}"'})


async def push(here: Here, socket: WebSocket) -> None:
    """News of one set for one tab."""
    name = str(socket.path_params["name"])
    if not fits(socket.path_params):
        await socket.close(1008)
        return
    desk = here.desks.desk(name)
    try:
        sitting = await desk.ask(lambda d: d.sitting())
    except LodestringError:
        here.desks.close(name)
        await socket.close(1008)
        return
    await here.hub.serve(socket, name, News(name, sitting.digest, "", "here"))
