"""What a maker types into a field <-> TOML source, by the kind of the field. What was typed is kept letter for letter.

Lists are typed with commas or semicolons between their items, lists of lists with semicolons between the inner ones:
`1.0 mm, 1.5 mm` and `bridge.main, neck.main; ...`. A comma without a blank behind it belongs to its number (`3,5 mm`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from lodestring.design.describe import FieldRow, rows
from lodestring.design.fields import shown
from lodestring.design.pickup_set import PickupSet
from lodestring.design.toml_lines import split_dotted
from lodestring.errors import Problem

_CHOICE = re.compile(r'"([^"]*)"')
_WHOLE = re.compile(r"[+-]?\d{1,9}")
_THIN = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f](?=\d{3}(?!\d))")
_COMMA = re.compile(r",\s+|;|\n")
TABLES_BY_NAME = ("pickup", "coil", "bar", "part")
PAIRS = {"place": ("first", "last")}
"""Fields that take one value, or a table whose two values are typed as a list."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What a field takes: `takes` of the field's row, taken apart."""

    row: FieldRow
    choices: tuple[str, ...]
    list_of: bool
    """a list, or one value or a list of them"""
    nested: bool
    number: bool
    whole: bool
    table: bool


def pattern_of(path: str) -> str:
    """The key path with NAME for free names and N for list numbers: how the table of fields calls it."""
    steps: list[str] = []
    for part in split_dotted(path) or ():
        above = steps[-1] if steps else ""
        named = above in TABLES_BY_NAME and not (above == "part" and len(steps) != 2)
        steps.append("NAME" if named else "N" if part.isdigit() else part)
    return ".".join(steps)


@cache
def kinds() -> Mapping[str, Kind]:
    """Every field of the set file by its pattern."""
    return {row.path: _kind(row) for row in rows(PickupSet)}


def kind_of(path: str) -> Kind | None:
    """The kind of the field at a key path; items of a list have the kind of one item."""
    pattern = pattern_of(path)
    found = kinds().get(pattern)
    if found is None and pattern.endswith(".N"):
        whole = kinds().get(pattern.removesuffix(".N"))
        found = (
            None
            if whole is None
            else Kind(whole.row, whole.choices, False, False, whole.number, whole.whole, whole.table)
        )
    return found


def _kind(row: FieldRow) -> Kind:
    words = [w.removeprefix("list of ").removeprefix("list of ") for w in re.split(r" or (?=list of)", row.takes)]
    return Kind(
        row,
        tuple(dict.fromkeys(_CHOICE.findall(row.takes))),
        "list of" in row.takes and row.takes != "list of table",
        "list of list of" in row.takes,
        any(w == "number" or w.endswith(" or number") for w in words) or row.takes.isdigit(),
        any(w == "whole number" for w in words) or row.takes.isdigit(),
        any(w == "table" or w.endswith(" table") for w in words),
    )


def source_of(path: str, text: str) -> str | Problem:
    """TOML source of what was typed at `path`, or what is wrong with it. Whether it is sensible the reader says."""
    kind, text = kind_of(path), text.strip()
    last = path.rpartition(".")[2]
    if kind is None:
        return Problem(path, "this must be a field of the set file", f'"{path}"')
    if last in PAIRS and kind.table:
        items = _COMMA.split(text)
        if len(items) > 1:
            names = PAIRS[last]
            if len(items) != len(names):
                must = "this takes one value, or two: at string 1, at the last string"
                return Problem(path, must, f"{len(items)} values", "45 mm, 52 mm")
            return "{ " + ", ".join(f"{n} = {quoted(i.strip())}" for n, i in zip(names, items, strict=True)) + " }"
        return quoted(text)
    if kind.nested:
        inner = [
            [i.strip() for i in re.split(r",(?:\s+|(?=\D))", part) if i.strip()] for part in re.split(r"[;\n]", text)
        ]
        return "[" + ", ".join("[" + ", ".join(quoted(i) for i in items) + "]" for items in inner if items) + "]"
    if kind.list_of:
        only = kind.row.takes.startswith("list of")
        split = re.compile(r"[,;\n]") if kind.whole else _COMMA
        items = [i.strip() for i in split.split(text) if i.strip()]
        if only or len(items) > 1:
            sources = [_one(path, kind, i) for i in items]
            wrong = next((s for s in sources if isinstance(s, Problem)), None)
            return wrong or "[" + ", ".join(str(s) for s in sources) + "]"
    return _one(path, kind, text)


def _one(path: str, kind: Kind, text: str) -> str | Problem:
    """Source of a single value."""
    if kind.whole:
        plain = _THIN.sub("", text)
        if not _WHOLE.fullmatch(plain):
            return Problem(path, "this must be a whole number", shown(text), _whole_example(text))
        return str(int(plain))
    if kind.number and text not in kind.choices:
        number = text.replace(",", ".") if re.fullmatch(r"\d+,\d+", text) else text
        if re.fullmatch(r"[+-]?\d{1,9}(\.\d{1,9})?", number):
            return number.lstrip("+") if "." in number else str(int(number))
        if not kind.choices:
            return Problem(path, "this must be a number without a unit", shown(text), "80")
    if kind.table and kind.choices and text not in kind.choices and path.rpartition(".")[2] not in PAIRS:
        return f"{{ face = {quoted(text)} }}"  # a magnet's state: a word, or the reading at its face
    return quoted(text)


def _whole_example(text: str) -> str:
    return re.sub(r"\D", "", text) if re.fullmatch(r"\d{1,3}([.,' ]\d{3})+", text) else "7800"


def quoted(text: str) -> str:
    """A TOML string of one line. Control characters go through as escapes, for the reader to refuse in words."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + re.sub(r"[\x00-\x1f\x7f]", lambda m: f"\\u{ord(m.group()):04x}", escaped) + '"'


def typed_of(value: Any) -> str:
    """What a value of the file looks like in its field: inverse of `source_of`."""
    if isinstance(value, Mapping):
        if set(value) == {"face"}:
            return str(value["face"])
        return ", ".join(typed_of(v) for v in value.values())
    if isinstance(value, list):
        nested = any(isinstance(v, list) for v in value)
        return ("; " if nested else ", ").join(typed_of(v) for v in value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def source(value: Any) -> str:
    """A value of the file as TOML source, tables in braces."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {source(v)}" for key, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(source(v) for v in value) + "]"
    return quoted(str(value))
