"""A fact as a figure for people: the one place that knows which ratios are said in per cent."""

from __future__ import annotations

from lodestring.assess.model import Fact
from lodestring.quantity.figures import Figure, figure

PER_CENT = ("stretch", "window_fill")


def shown(fact: Fact) -> Figure:
    """The figure of a fact; a text fact shows its text."""
    if isinstance(fact.value, str):
        return Figure(fact.value, "", "")
    return show_number(fact.key, fact.value, fact.unit, fact.low, fact.high)


def show_number(
    key: str, value: float, unit: str | None, low: float | None = None, high: float | None = None
) -> Figure:
    """A number in the manner of the fact `key`."""
    if key.rpartition(".")[2] in PER_CENT:
        low, high = (None if v is None else 100 * v for v in (low, high))
        return figure(100 * value, "%", low, high)
    return figure(value, unit, low, high)
