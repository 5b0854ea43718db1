"""Numbers as they stand in a picture: coordinates, millimetres, and engineering form with SI prefixes.

Views format; they never model. A unit is one of contract 2's; what is shown is the unit's own sign.
"""

from __future__ import annotations

import math

from lodestring.errors import DomainError
from lodestring.quantity import USUAL, Units
from lodestring.quantity.figures import drawn_inches

_SIGN = {
    "1": "",
    "ohm": "Ω",
    "N/m": "N/m",
    "V.s/m": "V·s/m",
    "V.s/T": "V·s/T",
}
_PREFIX = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
# Units that take no prefix, or only some: nobody says kilokelvin, and the bench says 1 050 m of wire, not 1.05 km.
_ALLOWED = {
    "1": (0,),
    "dB": (0,),
    "cent": (0,),
    "K": (0, -3),
    "m": (0, -3, -6),
    "s": (0, -3, -6),
    "kg": (0, -3, -6),
}
NBSP = "\u00a0"
MINUS = "\u2212"


def coordinate(value: float) -> str:
    """At most four decimals (0.1 micrometre of a millimetre drawing), no trailing zeros, never `-0`."""
    if not math.isfinite(value):
        raise DomainError("a coordinate is a finite number", f"{value}", "the value it was computed from")
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def plain(value: float, decimals: int) -> str:
    """Fixed decimals, a true minus sign, groups of three from five figures on (`12 000`); never a minus zero."""
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    whole, dot, rest = text.partition(".")
    if len(whole.lstrip("-")) > 4:  # groups of three from five figures on
        whole = f"{int(whole):,}".replace(",", NBSP)
    return (whole + dot + rest).replace("-", MINUS)


def millimetres(value: float, decimals: int = 2) -> str:
    """A length for a dimension: `4.8`, `17`, `0.25`; the drawing says once that it is in mm."""
    text = plain(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def drawn(value: float, units: Units = USUAL) -> str:
    """A length given in mm, for a dimension: in mm, or in inches where the maker chose them."""
    return drawn_inches(value * 1e-3, units) if units.inches else millimetres(value)


def prefix_for(magnitude: float, unit: str) -> int:
    """The power of ten (a multiple of 3) that brings `magnitude` into 1 to 1000, among those the unit is said with."""
    allowed = _ALLOWED.get(unit, tuple(_PREFIX))
    if not math.isfinite(magnitude) or magnitude <= 0:
        return 0
    wanted = 3 * math.floor(math.log10(magnitude) / 3 + 1e-12)
    return max(min(wanted, max(allowed)), min(allowed))


def unit_sign(unit: str, power: int = 0) -> str:
    """`("H", -3)` is `mH`; `("ohm", 3)` is `kΩ`; `("kg", -3)` is `g`."""
    if unit == "kg" and power:
        return {-3: "g", -6: "mg"}[power]
    return _PREFIX[power] + _SIGN.get(unit, unit)


def engineering(value: float, unit: str, digits: int = 3) -> str:
    """`3420, "Hz"` is `3.42 kHz`: `digits` significant figures, a prefix, a space that does not break."""
    if not math.isfinite(value):
        raise DomainError("a number to be shown is finite", f"{value}", "the value it was computed from")
    if value == 0:
        return f"0{NBSP}{unit_sign(unit)}".rstrip(NBSP)
    rounded = float(f"{value:.{digits - 1}e}")  # first round, then choose: 999.6 Hz is 1.00 kHz, not 1000 Hz
    power = prefix_for(abs(rounded), unit)
    scaled = rounded / 10.0**power
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(scaled)) + 1e-12))
    return f"{plain(scaled, min(decimals, 12))}{NBSP}{unit_sign(unit, power)}".rstrip(NBSP)
