"""How a typed text and a proposal are put into a sentence."""

from __future__ import annotations

from collections.abc import Iterable


def quote(text: str, limit: int = 40) -> str:
    """`text` between quotation marks, on one line, cut at `limit`; nothing in it can disturb a terminal."""
    if not text:
        return "an empty text"
    cut = text if len(text) <= limit else text[: limit - 1] + "…"
    return '"' + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in cut) + '"'


def alternatives(texts: Iterable[str]) -> str:
    """`"5 mm" or "5 in"`."""
    return " or ".join(f'"{t}"' for t in texts)
