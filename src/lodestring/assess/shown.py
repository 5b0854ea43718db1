"""A fact as a figure for people: the one place that knows which ratios are said in per cent."""

from __future__ import annotations

import math

from lodestring.assess.model import Fact
from lodestring.quantity import USUAL, Units, WireSize, show_value
from lodestring.quantity.figures import Figure, figure
from lodestring.quantity.kinds import Kind
from lodestring.quantity.wire_size import GAUGES
from lodestring.reference import gauge_diameter, gauge_number

PER_CENT = ("stretch", "window_fill")
BETWEEN = 0.25
"""Of a step from gauge to gauge: a wire farther than this from the nearest one is called by two."""


def shown(fact: Fact, units: Units = USUAL) -> Figure:
    """The figure of a fact in the units the maker chose; a text fact shows its text."""
    if isinstance(fact.value, str):
        return Figure(fact.value, "", "")
    return show_number(fact.key, fact.value, fact.unit, fact.low, fact.high, units)


def show_number(
    key: str,
    value: float,
    unit: str | None,
    low: float | None = None,
    high: float | None = None,
    units: Units = USUAL,
) -> Figure:
    """A number in the manner of the fact `key`."""
    if key.rpartition(".")[2] in PER_CENT:
        low, high = (None if v is None else 100 * v for v in (low, high))
        return figure(100 * value, "%", low, high)
    return figure(value, unit, low, high, units)


def size_beside(size: WireSize, units: Units) -> str:
    """A wire's size in the chosen system, "" where it is named so already: `≈ 0.0633 mm`, `≈ 42 AWG`.

    "≈", and two gauges where it lies between them, for no size of one system is one of the other: a wire is bought by
    its own name, and what is computed is computed from that.
    """
    if units.wire == "mm" and size.number is not None:
        return f"≈ {show_value(gauge_diameter(size.number), Kind.LENGTH, 'mm', 3)}"
    if units.wire == "AWG" and size.diameter is not None:
        number = gauge_number(size.diameter)
        between = abs(number - round(number)) > BETWEEN
        named = (math.floor(number), math.ceil(number)) if between else (round(number),)
        return f"≈ {' to '.join(map(str, named))} AWG" if {*named} <= {*GAUGES} else ""
    return ""


def size_said(size: WireSize, units: Units) -> str:
    """A wire's size as it is called, the chosen system behind it: `42 AWG (≈ 0.0633 mm)`."""
    beside = size_beside(size, units)
    return f"{size.label} ({beside})" if beside else size.label
