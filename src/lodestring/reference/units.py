"""From the unit a source prints to SI, once, while a data file is loaded.

The set file's own parser is `lodestring.quantity`; this small table exists because sources print units a maker never
types (uohm cm, kJ/m3, %/K), and because reading it costs nothing at start-up.
"""

from __future__ import annotations

ZERO_CELSIUS = 273.15
STANDARD_GRAVITY = 9.80665  # exact by definition (CGPM 1901)

_TO_SI: dict[str, tuple[float, str]] = {
    "1": (1.0, "1"),
    "%": (1e-2, "1"),
    "m": (1.0, "m"),
    "cm": (1e-2, "m"),
    "mm": (1e-3, "m"),
    "um": (1e-6, "m"),
    "in": (25.4e-3, "m"),
    "mil": (25.4e-6, "m"),
    "kg": (1.0, "kg"),
    "g": (1e-3, "kg"),
    "s": (1.0, "s"),
    "ms": (1e-3, "s"),
    "min": (60.0, "s"),
    "1/min": (1.0 / 60.0, "Hz"),
    "Hz": (1.0, "Hz"),
    "kHz": (1e3, "Hz"),
    "ohm": (1.0, "ohm"),
    "kohm": (1e3, "ohm"),
    "Mohm": (1e6, "ohm"),
    "ohm m": (1.0, "ohm m"),
    "uohm cm": (1e-8, "ohm m"),
    "nohm m": (1e-9, "ohm m"),
    "ohm g/m2": (1e-3, "ohm kg/m2"),
    "H": (1.0, "H"),
    "nF": (1e-9, "F"),
    "pF": (1e-12, "F"),
    "pF/m": (1e-12, "F/m"),
    "T": (1.0, "T"),
    "mT": (1e-3, "T"),
    "A/m": (1.0, "A/m"),
    "kA/m": (1e3, "A/m"),
    "kJ/m3": (1e3, "J/m3"),
    "kg/m3": (1.0, "kg/m3"),
    "g/cm3": (1e3, "kg/m3"),
    "mg/m3": (1e-6, "kg/m3"),
    "Pa": (1.0, "Pa"),
    "MPa": (1e6, "Pa"),
    "GPa": (1e9, "Pa"),
    "N": (1.0, "N"),
    "gf": (STANDARD_GRAVITY * 1e-3, "N"),
    "K": (1.0, "K"),
    "1/K": (1.0, "1/K"),
    "%/K": (1e-2, "1/K"),
    "dB": (1.0, "dB"),
    "dB/mm": (1e3, "dB/m"),
}


def known_units() -> tuple[str, ...]:
    """Every unit a data file may use; `C` is a temperature on the Celsius scale, `K` a difference."""
    return (*_TO_SI, "C")


def si_unit(unit: str) -> str:
    """The SI unit that `to_si` gives for `unit`. Raises KeyError for a unit that is not in the table."""
    return "K" if unit == "C" else _TO_SI[unit][1]


def to_si(number: float, unit: str) -> float:
    """`number` in `unit` as an SI float. Raises KeyError for a unit that is not in the table."""
    if unit == "C":
        return number + ZERO_CELSIUS
    return number * _TO_SI[unit][0]
