"""The reason behind a figure: method, inputs, sources, and what moves it most. A view of the assessment."""

from __future__ import annotations

from dataclasses import dataclass

from lodestring.assess.report import Assessment
from lodestring.assess.shown import show_number, shown
from lodestring.assess.uncertainty import methods
from lodestring.quantity.figures import Figure
from lodestring.reference import catalogue


@dataclass(frozen=True, slots=True)
class Moved:
    """One input and the figure with that input at its lower and upper end."""

    name: str
    low: str
    high: str
    why: str
    narrow: str
    basis: str


@dataclass(frozen=True, slots=True)
class Why:
    """Everything `--why` tells."""

    key: str
    figure: Figure
    help: str
    method: str
    how: str
    origin: str
    method_spread: str
    basis: str
    sources: tuple[str, ...]
    influences: tuple[Moved, ...]


def explain(assessment: Assessment, key: str) -> Why:
    """The reason of one fact. Raises KeyError for a key the set does not have."""
    fact = assessment.facts[key]
    method = methods()[fact.method]
    model = assessment.model
    moved = []
    for influence in model.influences(key):
        fine = ((fact.high or 0.0) - (fact.low or 0.0)) / 10.0
        ends = [
            show_number(key, v, fact.unit, v - fine, v + fine, assessment.units.decimals).text
            for v in (influence.at_low, influence.at_high)
        ]
        named = influence.input
        moved.append(Moved(named.name, ends[0], ends[1], named.why, named.narrow, named.basis))
    spread = "adds nothing to the interval"
    if method.spread:
        spread = f"may be {method.spread} off ({method.known})"
    return Why(
        key,
        shown(fact, assessment.units),
        model.specs()[key].help,
        fact.method,
        method.sentence,
        method.source,
        spread,
        fact.basis,
        tuple(_cite(row) for row in fact.source),
        tuple(moved),
    )


def _cite(row_id: str) -> str:
    row = catalogue().row(row_id)
    return f"{row_id}: {row.title}; {row.place}; {row.known}"
