"""Pages out of templates: everything is escaped unless it is a picture or a piece of page that we made ourselves."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

_ISLAND = {ord("<"): "\\u003c", ord(">"): "\\u003e", ord("&"): "\\u0026", 0x2028: "\\u2028", 0x2029: "\\u2029"}


def island(value: Any) -> Markup:
    """Data for a page's script, in `<script type="application/json">`: JSON in which nothing can end the element."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(text.translate(_ISLAND))  # nothing of HTML is left in it


@cache
def environment() -> Environment:
    """The templates of the package. A name that a page's record does not have is an error, never an empty place."""
    shelf = files("lodestring.web").joinpath("templates")

    def load(name: str) -> str | None:
        found = shelf.joinpath(name)
        return found.read_text(encoding="utf-8") if found.is_file() else None

    made = Environment(
        loader=FunctionLoader(load), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters["island"] = island
    return made


def render(template: str, page: Any) -> str:
    """A template with the fields of one record of pages.py."""
    if not is_dataclass(page):
        raise TypeError("a page is a record of pages.py")
    context = {f.name: getattr(page, f.name) for f in fields(page)}
    return environment().get_template(template).render(context)


def static(name: str) -> bytes | None:
    """A file of the package's static folder by its plain name, None where there is none."""
    found = files("lodestring.web").joinpath("static").joinpath(name)
    return found.read_bytes() if found.is_file() else None
