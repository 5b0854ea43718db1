"""Figures for people: a value with its interval, in the unit of the bench and no more digits than it deserves.

One way everywhere: screen, sheet and log print through this module. A figure shows two digits of its half-width at
most, so `5.64 kOhm, 5.2 to 6.1` and never `5638.218 Ohm`. The maker may have chosen other units: see `chosen.py`.

Inches and fractions: the value to the nearest 1/64, with "≈" before it where that is not exact; the ends of its
interval so too where the half-width is 1/64 and more, else in thousandths, which say what the fraction leaves over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.quantity.chosen import EXACT, FINEST, LEAST_FRACTION, NO_REST, USUAL, Rows, Units, nearest, rows_of
from lodestring.quantity.kinds import Kind, Quantity
from lodestring.quantity.showing import show
from lodestring.quantity.unit_tables import INCH

UNITS: dict[str, Rows] = {
    # SI unit: (from this size on, divide by, unit of the bench); the first that fits
    "m": ((2.0, 1.0, "m"), (0.0, 1e-3, "mm")),
    "kg": ((2.0, 1.0, "kg"), (0.0, 1e-3, "g")),
    "s": ((120.0, 60.0, "min"), (0.0, 1.0, "s")),
    "ohm": ((1e6, 1e6, "MOhm"), (1e3, 1e3, "kOhm"), (0.0, 1.0, "Ohm")),
    "H": ((0.5, 1.0, "H"), (0.0, 1e-3, "mH")),
    "F": ((0.5e-9, 1e-9, "nF"), (0.0, 1e-12, "pF")),
    "Hz": ((1e3, 1e3, "kHz"), (0.0, 1.0, "Hz")),
    "V": ((0.5, 1.0, "V"), (0.5e-3, 1e-3, "mV"), (0.0, 1e-6, "uV")),
    "N": ((0.0, 1e-3, "mN"),),
    "T": ((0.0, 1e-3, "mT"),),
    "K": ((0.0, 1.0, "C"),),
}
ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True)
class Figure:
    """A value, its interval and its unit, as text. `interval` is empty where there is none."""

    value: str
    interval: str
    unit: str

    @property
    def text(self) -> str:
        """`5.64 kOhm`"""
        return f"{self.value} {self.unit}".strip()

    @property
    def whole(self) -> str:
        """`5.64 kOhm (5.2 to 6.1)`"""
        return f"{self.text} ({self.interval})" if self.interval else self.text


def figure(
    value: float, unit: str | None, low: float | None = None, high: float | None = None, units: Units = USUAL
) -> Figure:
    """A fact's number for people. `unit` is an SI unit of the assessment, or "1"; `units`: what the maker chose."""
    divide, shown = bench_unit(value, unit or "1", units)
    if shown == "in" and units.length == "inch fractions" and abs(value) >= LEAST_FRACTION:
        return _fraction(value, low, high)
    offset = ZERO_CELSIUS if unit == "K" else 0.0
    value, low, high = ((None if v is None else (v - offset) / divide) for v in (value, low, high))  # type: ignore[assignment]
    if low is None or high is None or low == high:
        return Figure(_inches(value) if shown == "in" else plain(value, None), "", shown)
    half = max(high - value, value - low)
    return Figure(plain(value, half), f"{plain(low, half)} to {plain(high, half)}", shown)


def bench_unit(value: float, unit: str, units: Units = USUAL) -> tuple[float, str]:
    """What to divide an SI value of this size by, and the unit it is then in."""
    for size, divide, shown in rows_of(unit, units) or UNITS.get(unit, ((0.0, 1.0, "" if unit == "1" else unit),)):
        if abs(value) >= size:
            return divide, shown
    raise AssertionError("the last row of a unit fits every size")


def drawn_inches(metres: float, units: Units) -> str:
    """A length for a drawing in inches: `3/16` where it is that within 0.002 in, else `0.189`.

    No "≈" and no rest behind a sign, which a drawing's reader would take for a tolerance.
    """
    if units.length == "inch fractions":
        words, rest = nearest(metres)
        if abs(rest) <= NO_REST and abs(metres) >= LEAST_FRACTION:
            return words
    return _rounded(metres / float(INCH), 3)


def same_in(quantity: Quantity, units: Units) -> str:
    """What was typed, said in the chosen unit: `= 1 9/16 in`; `≈ 1 37/64 in (1.575)`; "" for what has no choice."""
    if quantity.kind is Kind.LENGTH:
        return _same_length(quantity, units)
    unit = {Kind.MASS: units.mass, Kind.FORCE: units.force}.get(quantity.kind)
    return "" if unit is None else _same(quantity, unit, 4)


def _same(quantity: Quantity, unit: str, digits: int) -> str:
    """All digits where five are enough, else as many as are asked for and "≈"."""
    text = show(quantity, unit, 5)
    return f"= {text}" if show(quantity, unit, 9) == text else f"≈ {show(quantity, unit, digits)}"


def _same_length(quantity: Quantity, units: Units) -> str:
    long = abs(quantity.value) >= 2.0
    if not units.inches:
        return _same(quantity, "m" if long else "mm", 5)
    if long or units.length == "inch decimals" or abs(quantity.value) < LEAST_FRACTION:
        return _same(quantity, "ft" if long else "in", 3 if abs(quantity.value) < INCH else 4)
    words, rest = nearest(quantity.value)
    half = "" if not quantity.half_width else f" ± {show(Quantity(Kind.LENGTH, quantity.half_width), 'in', 2)}"
    if abs(rest) < EXACT:
        return f"= {words} in{half}"
    return f"≈ {words} in ({_inches(quantity.value / float(INCH))}){half}"


def _fraction(value: float, low: float | None, high: float | None) -> Figure:
    words, rest = nearest(value)
    about = "" if abs(rest) < EXACT else "≈ "
    if low is None or high is None or low == high:
        return Figure(about + words, "", "in")
    inch = float(INCH)
    half = max(high - value, value - low)
    if half * FINEST >= inch:
        return Figure(about + words, f"{nearest(low)[0]} to {nearest(high)[0]}", "in")
    half /= inch
    return Figure(about + words, f"{plain(low / inch, half)} to {plain(high / inch, half)}", "in")


def _inches(value: float) -> str:
    """Inches as decimals where no interval says how many: thousandths, three figures of what is smaller or larger."""
    if value == 0.0:
        return "0"
    magnitude = _magnitude(value)
    return _rounded(value, max(2 - magnitude, min(3 - magnitude, 3), 0))


def plain(value: float, half_width: float | None) -> str:
    """A number without exponent, rounded to the leading digit of its half-width (to the next one where that is
    below 5), thousands set off by a space.
    """
    if half_width is None or half_width <= 0.0:
        decimals = 0 if float(value).is_integer() else max(0, 2 - _magnitude(value))
    else:
        decimals = max(0, -_magnitude(half_width) + (1 if half_width / 10 ** _magnitude(half_width) < 5.0 else 0))
    return _rounded(value, decimals)


def _rounded(value: float, decimals: int) -> str:
    text = f"{value:,.{decimals}f}".replace(",", "\u202f")
    return text.replace("-", "\u2212") if float(f"{value:.{decimals}f}") != 0.0 else text.lstrip("-")


def _magnitude(value: float) -> int:
    return math.floor(math.log10(abs(value))) if value else 0
