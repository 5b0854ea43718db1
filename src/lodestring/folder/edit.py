"""A change asked for -> the new text of the set file, with what has to change along with it. Writes nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.design.toml_lines import KeyPath, scan, split_dotted
from lodestring.design.toml_read import read_toml
from lodestring.design.toml_write import apply_changes
from lodestring.folder.companions import companions, get
from lodestring.folder.marks import marked, settled

Changes = Mapping[str, str | None]


@dataclass(frozen=True, slots=True)
class Edited:
    """The new text, and the key paths that changed beside those asked for."""

    text: str
    along: tuple[str, ...]


def edited(text: str, asked: Changes, file: str, given: bool = True) -> Edited:
    """`text` with the changes asked for (TOML source by key path) and those that go with them.

    `given`: the values come from the maker, so a mark "assumed" on them goes; else they are marked. What is put in
    along with them is always marked. Raises FileProblem and SetFileError where the text cannot be changed so.
    """
    data = read_toml(text.encode(), file).data
    asked = {p: s for p, s in asked.items() if s is not None or get(data, p.split(".")) is not None}
    along: dict[str, str | None] = {}
    for path, source in asked.items():
        along |= companions(data, path, None if source is None else _value(source))
    along = {p: s for p, s in along.items() if p not in asked and not _covered(p, asked)}
    along = {p: s for p, s in along.items() if s is not None or get(data, p.split(".")) is not None}
    every = {**asked, **along}
    for path in (p for p, s in every.items() if s is None):
        text = _unmarked(text, path)
    new = apply_changes(_cleared(text, data, every, file), {p: s for p, s in every.items() if _still(p, s, data)}, file)
    for path, source in every.items():
        if source is not None:
            mark = settled if given and path in asked else marked
            new = mark(new, key_path(new, path))
    return Edited(new, tuple(along))


def _unmarked(text: str, path: str) -> str:
    """`text` without the marks of what is about to go."""
    whole = key_path(text, path)
    for inner in [p for p in scan(text).spans if p[: len(whole)] == whole]:
        text = settled(text, inner)
    return text


def key_path(text: str, path: str) -> KeyPath:
    """The key path with its list numbers as numbers, as the text has it."""
    parts = split_dotted(path) or ()
    numbers = tuple(int(p) if p.isdigit() else p for p in parts)
    return numbers if numbers in scan(text).lines else parts


def _cleared(text: str, data: dict[str, Any], changes: Changes, file: str) -> str:
    """`text` without the tables written as sections, `[a.b]`, that are to be given anew as one value."""
    spans = scan(text).spans
    gone = [
        path
        for path, source in changes.items()
        if source is not None
        and isinstance(get(data, path.split(".")), dict | list)
        and not any(isinstance(p, tuple) and ".".join(map(str, p)) == path for p in spans)
    ]
    return apply_changes(text, dict.fromkeys(gone), file) if gone else text


def _still(path: str, source: str | None, data: Mapping[str, Any]) -> bool:
    return source is not None or get(data, path.split(".")) is not None


def _covered(path: str, asked: Iterable[str]) -> bool:
    """Is the path inside one that is asked for as a whole?"""
    return any(path.startswith(f"{whole}.") for whole in asked)


def _value(source: str) -> Any:
    try:
        return tomllib.loads(f"x = {source}").get("x")
    except (ValueError, RecursionError):
        return None
