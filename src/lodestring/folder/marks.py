"""The mark "assumed" on a line of the set file: a value nobody measured yet, said where it stands.

    window = "10.5 mm"                                              # assumed
    { note = "D3", diameter = "0.026 in", core = "0.014 in" },      # assumed: core

A mark without names holds for everything on its line. When the maker changes a value, it is no longer assumed: its name
leaves the mark, and with the last name the mark goes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from lodestring.design.toml_lines import KeyPath, scan

_MARK = re.compile(r"(?:[ \t]*[\]},])*([ \t]*#[ \t]*assumed\b(?::[ \t]*([a-z_, ]+?))?[ \t]*)(?=\r?\n|\Z)")


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a mark stands in the text (half-open), and the names it is for, none for all."""

    at: int
    end: int
    names: tuple[str, ...]


@lru_cache(maxsize=16)
def assumed(text: str) -> frozenset[KeyPath]:
    """Key paths of all values that are marked. Kept for a text, as one page asks for each of its fields."""
    if "assumed" not in text:
        return frozenset()
    seen = scan(text)
    return frozenset(path for path in seen.spans if _mark_of(text, path, seen.spans) is not None)


def settled(text: str, path: KeyPath) -> str:
    """`text` without the mark for `path` and for what is inside it."""
    spans = scan(text).spans
    mark = _mark_of(text, path, spans)
    if mark is None:
        return text
    left = tuple(n for n in mark.names if n != path[-1])
    if left and left != mark.names:
        return text[: mark.at] + "  # assumed: " + ", ".join(left) + text[mark.end :]
    others = _line_mates(path, spans, text) if not mark.names else ()
    if others:
        return text[: mark.at] + "  # assumed: " + ", ".join(others) + text[mark.end :]
    return text[: mark.at] + text[mark.end :]


def _line_mates(path: KeyPath, spans: dict[KeyPath, tuple[int, int]], text: str) -> tuple[str, ...]:
    """Names of the other values between the same braces, where `path` is one of several there."""
    holder = path[:-1]
    if holder not in spans or not text.startswith("{", spans[holder][0]):
        return ()
    return tuple(str(p[-1]) for p in spans if p[:-1] == holder and p != path and isinstance(p[-1], str))


def _mark_of(text: str, path: KeyPath, spans: dict[KeyPath, tuple[int, int]]) -> Mark | None:
    """The mark that holds for a value: behind it, or behind the braces round it, on one line."""
    for length in range(len(path), 0, -1):
        span = spans.get(path[:length])
        if span is None:
            return None
        found = _MARK.match(text, span[1])
        if found is None:
            continue
        if length < len(path) and "\n" in text[spans[path][1] : span[1]]:
            return None  # the mark stands behind a list of many lines, of which this is one
        names = tuple(n.strip() for n in (found.group(2) or "").split(",") if n.strip())
        if names and str(path[-1]) not in names:
            return None
        return Mark(found.start(1), found.end(1), names)
    return None


def marked(text: str, path: KeyPath) -> str:
    """`text` with a mark behind the value at `path`; a line with a comment of its own stays as it is."""
    seen = scan(text)
    if path not in seen.spans:
        return text
    lines = [p for p in seen.pieces if p.at <= seen.spans[path][0] and seen.spans[path][1] <= p.end]
    for piece in sorted(lines, key=lambda p: p.end - p.at):
        rest = re.compile(r",?[ \t]*(?=\r?\n|\Z)").match(text, piece.end)
        if rest is not None and piece.kind != "header":
            if piece.path != path and isinstance(path[-1], int):
                return text  # one of several values of a list on one line: a mark would hold for all of them
            names = "" if piece.path == path or len(path) < len(piece.path) else f": {path[-1]}"
            return text[: rest.end()].rstrip(" \t") + f"  # assumed{names}" + text[rest.end() :]
    return text
