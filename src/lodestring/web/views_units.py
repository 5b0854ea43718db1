"""In which units figures are said: one form for the shelf and every drawing board."""

from __future__ import annotations

import asyncio
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from lodestring.errors import LodestringError
from lodestring.web.answers import Here, done, refused
from lodestring.web.forms import read_form
from lodestring.web.ways import PATTERNS

NO_CHOICE = ("digest", "set", "compare")
"""Names of the form's fields that are none."""


async def units(here: Here, request: Request) -> Response:
    """Write the choice into the workshop file; every open page is painted anew."""
    form = await read_form(request)
    wanted = {key: value for key, value in form.fields.items() if key not in NO_CHOICE}
    back = "/"
    if PATTERNS["name"].fullmatch(form.get("set")):
        kept = form.get("compare")
        back = f"/set/{form.get('set')}" + (f"?{urlencode({'compare': kept})}" if kept else "")
    try:
        await asyncio.to_thread(here.bench.choose_units, wanted, form.get("digest"))
    except LodestringError as error:
        problems = getattr(error, "problems", None)
        sentence = " ".join(f"{p.path}: {p.sentence()}." for p in problems[:3]) if problems else f"{error}."
        return refused(request, 422, sentence, back)
    here.desks.tell_units()
    return done(request, back)
