"""What was measured of a coil, as the book holds it, in words: the last value of each quantity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lodestring.book.fold import CoilState, Noted
from lodestring.making.lost_count import SIZE_READ
from lodestring.quantity import USUAL, Units
from lodestring.quantity.figures import figure

LABELS: Mapping[str, str] = {
    "resistance": "resistance",
    "inductance": "inductance",
    "series_resistance": "resistance in series with it",
    "resonance": "resonance",
    "peak": "height of its peak",
    "outer_length": "length over ends",
    "outer_width": "width at mid-side",
    "wire_mass": "mass of the wire",
    "field": "field at the face",
    "kick": "meter kicks",
    "compass": "end toward the strings",
    "pole_resistance": "coil to pole pieces",
    "cover_resistance": "coil to cover",
    "steadiness": "reading",
    "shape": "shape",
    "squeal": "tap test",
    "hum": "hum",
}
DIGITS = 0.005
"""Share of a value that is shown where nobody said how far it may be off: three to four digits, as meters have."""
ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True)
class Measured:
    """One quantity: its label, what was read with where and how, the number (None for words), and when."""

    quantity: str
    label: str
    text: str
    value: float | None
    at: str
    temperature: float | None = None
    """of the coil while it was read [K], None where it was not noted"""


def measured(state: CoilState, units: Units = USUAL) -> tuple[Measured, ...]:
    """The last reading of each quantity, in the order in which they were first taken."""
    found: dict[str, Measured] = {}
    for noted in state.measures:
        made = _reading(noted, units)
        found[made.label] = made
    return tuple(found.values())


def sizes(state: CoilState, units: Units = USUAL) -> tuple[Measured, ...]:
    """Length and width at the last check that has them."""
    rows = []
    for key, label in (("end", "length over ends, last check"), ("side", "width at mid-side, last check")):
        last = next((n for n in reversed(state.checks) if n.body.get(key) is not None), None)
        if last is not None:
            value = float(last.body[key])
            text = as_read(value, "m", SIZE_READ, units)
            rows.append(Measured(key, label, text, value, last.at))
    return tuple(rows)


def _reading(noted: Noted, units: Units) -> Measured:
    body = noted.body
    name, value = str(body["quantity"]), body["value"]
    where = body.get("at") if isinstance(body.get("at"), Mapping) else {}
    label = LABELS.get(name, name.replace("_", " ")) + _place(where or {})
    if isinstance(value, str):
        return Measured(name, label, value, None, noted.at)
    number, unit = float(value), str(body.get("unit") or "1")
    half = float(body.get("half_width") or DIGITS * abs(number))
    text = as_read(number, unit, half, units)
    warm = body.get("temperature")
    if warm is not None and name in ("resistance", "inductance"):
        text += f" at {float(warm) - ZERO_CELSIUS:.0f} C"
    return Measured(name, label, text, number, noted.at, None if warm is None else float(warm))


def as_read(value: float, unit: str, half: float, units: Units = USUAL) -> str:
    """A reading as a person would write it down: no more digits than its half-width has, no closing zeros."""
    found = figure(value, unit, value - half, value + half, units)
    plain = found.value
    if "." in plain and "/" not in plain:
        plain = plain.rstrip("0").rstrip(".")
    return f"{plain} {found.unit}".strip()


def _place(at: Mapping[str, Any]) -> str:
    """`, 1 kHz, series`, `, pole 3`."""
    words = []
    if isinstance(at.get("frequency"), int | float):
        words.append(figure(float(at["frequency"]), "Hz").text)
    if at.get("mode"):
        words.append(f"{at['mode']} mode"[:20])
    if isinstance(at.get("pole"), int):
        words.append(f"pole {at['pole']}")
    return f", {', '.join(words)}" if words else ""
