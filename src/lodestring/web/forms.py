"""What a form sends, as plain texts: URL-encoded as forms do it, or with a file. Limits come before the reading.

A field's name is a key path or one of our words; a name that comes twice counts once, the last time.
"""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import parse_qsl

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

MOST_FIELDS = 400
URLENCODED, MULTIPART = "application/x-www-form-urlencoded", "multipart/form-data"


@dataclass(frozen=True, slots=True)
class Form:
    """Fields as typed. Line ends as the browser sends them (CR LF) are made LF; NUL and lone surrogates are refused."""

    fields: dict[str, str]
    file_name: str = ""
    """What the file that came along is called at the maker's, for a name to suggest; never a path here."""

    def get(self, name: str, default: str = "") -> str:
        return self.fields.get(name, default)


async def read_form(request: Request) -> Form:
    """The form of a POST. HTTPException 400 or 415, with a sentence, for what is none."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind == URLENCODED:
        return Form(_decoded(await request.body()))
    if kind == MULTIPART:
        return await _multipart(request)
    raise HTTPException(415, "A form must be sent as a form; try it from the page.")


def _decoded(body: bytes) -> dict[str, str]:
    try:
        pairs = parse_qsl(
            body.decode("ascii"), keep_blank_values=True, encoding="utf-8", errors="strict", max_num_fields=MOST_FIELDS
        )
    except ValueError:
        raise _bad() from None
    return {_clean(name): _clean(value) for name, value in pairs}


async def _multipart(request: Request) -> Form:
    out, file_name = {}, ""
    try:
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            for name, value in form.multi_items():
                if isinstance(value, UploadFile):
                    file_name = _clean(value.filename or "")
                    out[_clean(name)] = _clean((await value.read()).decode("utf-8"))
                else:
                    out[_clean(name)] = _clean(value)
    except (ValueError, KeyError, AssertionError):  # the reader of such bodies has these for broken ones
        raise _bad() from None
    return Form(out, file_name)


def _clean(text: str) -> str:
    if "\x00" in text or any("\ud800" <= c <= "\udfff" for c in text):
        raise _bad()
    return text.replace("\r\n", "\n")


def _bad() -> HTTPException:
    return HTTPException(400, "What was sent must be text in UTF-8, as a form sends it; try it from the page.")
