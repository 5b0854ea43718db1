"""Pages of other devices: the maker's list with the code to scan, and the page a phone comes in by."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from lodestring.web.answers import Here, done, page, refused
from lodestring.web.devices import COOKIE, Devices
from lodestring.web.forms import Form, read_form
from lodestring.web.pages import DevicesPage, JoinPage

NOT_SHARED = "The workbench is not shared; end it with Ctrl-C and open it with: lodestring open --share."
NOT_INVITED = "This code has been used, or its five minutes are over; ask for a new one on the page of devices."
FIRST = "/bench"
"""Where a device that comes in begins: it is there to count."""


async def devices(here: Here, request: Request) -> Response:
    """The devices that were let in, and the code that lets the next one in."""
    known, gate = here.gate.devices, here.gate
    if known is None:
        return page("devices.html", DevicesPage("Other devices", False, False, "", Markup(""), 0, ()))
    invitation = known.invitation()
    address = f"http://{gate.lan}:{gate.port}{invitation.path}" if invitation.path else ""
    code = Markup(_code(address)) if address else Markup("")
    left = max(1, round(invitation.seconds / 60.0))
    return page("devices.html", DevicesPage("Other devices", True, known.closed, address, code, left, known.all()))


def _code(address: str) -> str:
    """The QR code of an address (ISO/IEC 18004) as SVG, black on white in the dark too: cameras want it so."""
    import segno  # here, so that the address is answered before

    return segno.make(address, error="m", micro=False).svg_inline(scale=6, dark="#000", light="#fff", border=4)


async def invite_device(here: Here, request: Request) -> Response:
    """A new code; the one before is void."""
    known = here.gate.devices
    if known is None:
        return refused(request, 409, NOT_SHARED, "/devices")
    known.invite()
    return done(request, "/devices")


async def drop_device(here: Here, request: Request) -> Response:
    """Shut a device out."""
    return await _about(here, request, lambda known, id, form: known.drop(id))


async def allow_device(here: Here, request: Request) -> Response:
    """Say whether a device may change sets."""
    return await _about(here, request, lambda known, id, form: known.allow(id, form.get("design") == "yes"))


async def _about(here: Here, request: Request, act: Callable[[Devices, str, Form], bool]) -> Response:
    known = here.gate.devices
    if known is None:
        return refused(request, 409, NOT_SHARED, "/devices")
    form = await read_form(request)
    if not act(known, form.get("id", ""), form):
        return refused(request, 404, "There is no such device; it may be gone already.", "/devices")
    return done(request, "/devices")


async def join(here: Here, request: Request) -> Response:
    """The page that the code leads to. Looking uses nothing up: cameras and messengers look ahead."""
    word, known = str(request.path_params["word"]), here.gate.devices
    if known is None or not _over_lan(here, request) or not known.invited(word):
        return refused(request, 403, NOT_INVITED, "")
    return page("join.html", JoinPage("Come in", word, here.folder))


async def enter_device(here: Here, request: Request) -> Response:
    """Use the invitation: the device gets its own word as a cookie."""
    word, known = str(request.path_params["word"]), here.gate.devices
    form = await read_form(request)
    own = _enter(known, word, form.get("name", "")) if known is not None and _over_lan(here, request) else None
    if own is None:
        return refused(request, 403, NOT_INVITED, "")
    answer = RedirectResponse(FIRST, 303)
    answer.set_cookie(COOKIE.format(port=here.gate.port), own, path="/", httponly=True, samesite="strict")
    return answer


def _enter(known: Devices, word: str, name: str) -> str | None:
    return known.enter(word, "".join(c for c in name if c.isprintable()))


def _over_lan(here: Here, request: Request) -> bool:
    """Whether the request came to the address on the local network: on this machine itself the maker's word is used."""
    return request.headers.get("host", "").lower() == f"{here.gate.lan}:{here.gate.port}"
