"""How-to cards: title and steps, read from `cards.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Card:
    """A how-to card."""

    title: str
    steps: tuple[str, ...]


@cache
def cards() -> Mapping[str, Card]:
    """Every card by name."""
    text = files("lodestring.making").joinpath("cards.toml").read_text(encoding="utf-8")
    return {name: Card(row["title"], tuple(row["steps"])) for name, row in tomllib.loads(text)["card"].items()}
