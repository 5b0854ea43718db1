"""What was typed into a field, said once more in the unit that figures are said in. What was typed stays as it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from lodestring.assess.shown import size_beside
from lodestring.errors import LodestringError
from lodestring.quantity import Kind, Units, read, read_wire_size
from lodestring.quantity.figures import same_in

KINDS = {kind.name.lower(): kind for kind in (Kind.LENGTH, Kind.MASS, Kind.FORCE)}
"""Kinds that have a choice of units, by the word of a field's row."""
_PLAIN = re.compile(r"[-\u2212]?[\d.]+([a-zµ]+)")
"""A decimal number and its unit."""
MANY = 3
"""Of a longer list only the first and the last are said again."""


def also(value: Any, takes: str, units: Units) -> str:
    """`= 1 9/16 in` for what a field holds; "" where it is typed so, cannot be read, or has no choice of units.

    value: as the file has it: a text, a list of texts, or a table of two. takes: of the field's row.
    """
    words = set(takes.replace("list of ", "").split(" or "))
    if "a wire size" in words:
        return _wire(value, units)
    kind = next((kind for word, kind in KINDS.items() if word in words), None)
    items = [*value.values()] if isinstance(value, Mapping) else value if isinstance(value, list) else [value]
    if kind is None or not items:
        return ""
    said = [_again(item, kind, units) for item in items]
    if not all(said):
        return ""
    said = list(dict.fromkeys(said)) if len(set(said)) == 1 else said
    return " … ".join((said[0], said[-1])) if len(said) > MANY else ", ".join(said)


def _again(item: Any, kind: Kind, units: Units) -> str:
    if not isinstance(item, str):
        return ""
    try:
        said = same_in(read(item, kind), units)
    except LodestringError:
        return ""
    mine, other = _bare(said.lstrip("= ≈")), _bare(item)
    units_of = [_PLAIN.match(text) for text in (mine, other)]
    same = all(units_of) and len({m.group(1) for m in units_of if m}) == 1
    return "" if same or mine == other else said


def _bare(text: str) -> str:
    """A text without what makes no difference: blanks, the decimal comma, signs for inches."""
    plain = "".join(text.split()).replace(",", ".").replace("\u2033", '"').replace("''", '"').replace('"', "in")
    return plain.replace("+-", "±").replace("+/-", "±").lower()


def _wire(value: Any, units: Units) -> str:
    try:
        return size_beside(read_wire_size(value), units) if isinstance(value, str) else ""
    except LodestringError:
        return ""
