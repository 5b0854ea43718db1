"""Figures for people: a value with its interval, in the unit of the bench and no more digits than it deserves.

One way everywhere: screen, sheet and log print through this module. A figure shows two digits of its half-width at
most, so `5.64 kOhm, 5.2 to 6.1` and never `5638.218 Ohm`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

UNITS: dict[str, tuple[tuple[float, float, str], ...]] = {
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


def figure(value: float, unit: str | None, low: float | None = None, high: float | None = None) -> Figure:
    """A fact's number for people. `unit` is an SI unit of the assessment, or "1"."""
    divide, shown = _bench_unit(value, unit or "1")
    offset = ZERO_CELSIUS if unit == "K" else 0.0
    value, low, high = ((None if v is None else (v - offset) / divide) for v in (value, low, high))  # type: ignore[assignment]
    if low is None or high is None or low == high:
        return Figure(plain(value, None), "", shown)
    half = max(high - value, value - low)
    return Figure(plain(value, half), f"{plain(low, half)} to {plain(high, half)}", shown)


def _bench_unit(value: float, unit: str) -> tuple[float, str]:
    for size, divide, shown in UNITS.get(unit, ((0.0, 1.0, "" if unit == "1" else unit),)):
        if abs(value) >= size:
            return divide, shown
    raise AssertionError("the last row of a unit fits every size")


def plain(value: float, half_width: float | None) -> str:
    """A number without exponent, rounded to the leading digit of its half-width (to the next one where that is
    below 5), thousands set off by a space.
    """
    if half_width is None or half_width <= 0.0:
        decimals = 0 if float(value).is_integer() else max(0, 2 - _magnitude(value))
    else:
        decimals = max(0, -_magnitude(half_width) + (1 if half_width / 10 ** _magnitude(half_width) < 5.0 else 0))
    text = f"{value:,.{decimals}f}".replace(",", "\u202f")
    return text.replace("-", "\u2212") if float(f"{value:.{decimals}f}") != 0.0 else text.lstrip("-")


def _magnitude(value: float) -> int:
    return math.floor(math.log10(abs(value))) if value else 0
