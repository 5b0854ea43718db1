"""What a catalogue is made of: a source, a value with its spread, a row of values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lodestring.errors import CatalogueError
from lodestring.reference.naming import unknown_name

HOW_KNOWN = (
    "standard read",
    "second-hand",
    "memory hi",
    "memory mid",
    "memory lo",
    "common practice",
    "assumed",
    "computed",
)


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from: `what` it is (standard, data sheet, paper ...), `year`, `address` ('' if none)."""

    id: str
    title: str
    what: str
    year: str
    address: str


@dataclass(frozen=True, slots=True)
class Spread:
    """low <= nominal <= high, SI. What low and high mean is said in the row's conditions."""

    low: float
    nominal: float
    high: float


@dataclass(frozen=True, slots=True)
class Value:
    """One figure of a row.

    A number has `value`, `low`, `high` in the SI unit `unit`; a band has only `low` and `high`; a text has only `text`.
    `written` is the figure as the source prints it. `source`, `place`, `known` are the row's, unless the figure
    has its own.
    """

    value: float | None
    unit: str
    text: str
    low: float | None
    high: float | None
    written: str
    source: str
    place: str
    known: str

    def spread(self) -> Spread:
        """low, nominal, high in SI; the nominal of a band is its middle. Raises CatalogueError for a text."""
        if self.low is None or self.high is None:
            raise CatalogueError("a figure that is counted with must be a number", f"the text {self.text!r}")
        nominal = self.value if self.value is not None else (self.low + self.high) / 2
        return Spread(self.low, nominal, self.high)


@dataclass(frozen=True, slots=True)
class Row:
    """One cited row. `row["resistivity"].value` is SI; `also` holds other names the row answers to."""

    id: str
    title: str
    values: Mapping[str, Value]
    conditions: str
    source: str
    place: str
    known: str
    also: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> Value:
        found = self.values.get(name)
        if found is None:
            raise unknown_name(f"a figure of the row {self.id}", name, tuple(self.values))
        return found

    def spread(self, name: str) -> Spread | None:
        """The spread of a figure, or None where the row does not have it (absent, never guessed)."""
        found = self.values.get(name)
        return None if found is None else found.spread()
