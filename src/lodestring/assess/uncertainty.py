"""The one home of uncertainty: named inputs with spread and source, and one stated spread per method."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any

from lodestring.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Input:
    """One named input: value and 90 % interval in SI, where the spread comes from, and what would narrow it."""

    name: str
    value: float
    low: float
    high: float
    basis: str
    why: str
    narrow: str = ""
    rows: tuple[str, ...] = ()

    def at(self, side: int) -> float:
        """The value (0), its upper end (+1) or its lower end (-1)."""
        return self.value if side == 0 else self.high if side > 0 else self.low

    @property
    def warning(self) -> str:
        """What a fact says of this input where it is assumed."""
        return f"assumed: {self.name} ({self.why})"

    @property
    def certain(self) -> bool:
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Method:
    """How a fact is computed, in a sentence, and the half-width (90 %) of what the method itself may be off.

    `absolute` is in the fact's own unit (metres, decibels); `spread` says it in words, "" for none.
    """

    name: str
    sentence: str
    relative: float
    absolute: float
    spread: str
    known: str
    source: str


@cache
def _tables() -> Mapping[str, Any]:
    text = files("lodestring.assess").joinpath("uncertainty.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _own_spread(row: Mapping[str, Any]) -> str:
    for key, unit in (("percent", "per cent"), ("half_mm", "mm"), ("half_db", "dB")):
        if row.get(key):
            return f"{row[key]:g} {unit}"
    return ""


@cache
def methods() -> Mapping[str, Method]:
    """Every method by name."""
    return {
        name: Method(
            name,
            row["sentence"],
            row.get("percent", 0.0) / 100.0,
            row.get("half_mm", 0.0) * 1e-3 + row.get("half_db", 0.0),
            _own_spread(row),
            row["known"],
            row["source"],
        )
        for name, row in _tables()["method"].items()
    }


@dataclass(frozen=True, slots=True)
class GivenSpread:
    """One row of the table of typed values: which key paths, half-width in words, and why."""

    match: str
    half: str
    why: str
    known: str
    narrow: str


def given_spreads() -> tuple[GivenSpread, ...]:
    """The table of typed values, in the order in which it is searched."""
    return tuple(
        GivenSpread(
            row["match"],
            f"{row['percent']:g} %" if "percent" in row else f"{row['half_mm']:g} mm",
            row["why"],
            row["known"],
            row["narrow"],
        )
        for row in _tables()["given"]
    )


@cache
def _spread_of(name: str) -> Mapping[str, Any]:
    for row in _tables()["given"]:
        if fnmatchcase(name, row["match"]):
            return row  # type: ignore[no-any-return]
    return {}


def given_input(name: str, quantity: Quantity) -> Input:
    """A value typed in a file: its own ± where there is one, else the spread of its kind."""
    value = quantity.value
    if quantity.half_width is not None:
        return Input(
            name,
            value,
            value - quantity.half_width,
            value + quantity.half_width,
            "measured",
            f"typed as {quantity.text}",
        )
    row = _spread_of(name)
    if not row:
        return Input(name, value, value, value, "measured", "typed without a spread")
    half = abs(value) * row["percent"] / 100.0 if "percent" in row else row["half_mm"] * 1e-3
    low = value - half
    if value > 0.0 >= low:
        low = value / (1.0 + half / value)
    return Input(name, value, low, value + half, "assumed", row["why"], row["narrow"])
