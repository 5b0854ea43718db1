"""Key paths in trade words: the groups and labels of board.toml."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from lodestring.folder.typed import pattern_of


@dataclass(frozen=True, slots=True)
class Group:
    """One group of fields: where it is in the file (a pattern), its title, what can be added in it."""

    at: str
    title: str
    add: tuple[tuple[str, str], ...]
    remove: bool


@cache
def table() -> Mapping[str, Any]:
    """board.toml as it is read."""
    return tomllib.loads(files("lodestring.folder").joinpath("board.toml").read_text(encoding="utf-8"))


@cache
def groups() -> tuple[Group, ...]:
    """Every group, in the order of the page."""
    return tuple(
        Group(g["at"], g["title"], tuple(g.get("add", {}).items()), g.get("remove", False)) for g in table()["group"]
    )


@cache
def group_of(pattern: str) -> Group:
    """The group a field belongs to: the one with the longest `at` above it."""
    fitting = [g for g in groups() if not g.at or pattern == g.at or pattern.startswith(f"{g.at}.")]
    return max(fitting, key=lambda g: len(g.at))


def titled(title: str, path: str, design: Any = None) -> str:
    """A title with the parts of its key path put in: `{1}` the second one, `{coil}` what the coil is called.

    `design`: the data of the set file, for whether a pickup has one coil or two.
    """
    parts = path.split(".") if path else []
    names = {str(i): part for i, part in enumerate(parts)}
    coil = ""
    if len(parts) > 3 and parts[0] == "pickup" and parts[2] == "coil":
        coils = ((design or {}).get("pickup") or {}).get(parts[1]) or {}
        coils = coils.get("coil") if isinstance(coils, Mapping) else None
        coil = parts[1] if coils is not None and len(coils) == 1 else f"{parts[1]} {parts[3]}"
    for key, value in {**names, "coil": coil}.items():
        title = title.replace("{" + key + "}", value)
    return title


def label_of(path: str, design: Any = None) -> str:
    """A field in words, its group named: `plate width (Bobbin, bridge)`; the path itself where it is no field."""
    pattern = pattern_of(path)
    while pattern and pattern not in table()["fields"]:
        pattern = pattern.rpartition(".")[0]
    if not pattern:
        at = next((g for g in groups() if g.at and g.at == pattern_of(path)), None)
        return titled(at.title, path, design) if at is not None else _in_words(path)
    group = group_of(pattern)
    here = ".".join(path.split(".")[: len(group.at.split("."))]) if group.at else ""
    return f"{table()['fields'][pattern]} ({titled(group.title, here, design)})"


def _in_words(name: str) -> str:
    """An input that is no field, such as `wire.42-awg-single.bare`: wire 42 awg single, bare."""
    first, _, rest = name.partition(".")
    middle, _, last = rest.rpartition(".")
    return f"{first} {middle.replace('-', ' ')}, {last}" if middle else f"{first}, {last}" if last else name
