"""Small words shared by findings: how a coil is called, lengths and pulls, making a finding from its code."""

from __future__ import annotations

from collections.abc import Mapping

from lodestring.assess.findings.codes import code
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.design.vocabulary import Severity
from lodestring.quantity.unit_tables import FOOT, GRAVITY, INCH, POUND


def coil_name(model: Model, pickup: str, coil: str) -> str:
    """What a coil is called in a sentence: its pickup's name, and its own where there are two."""
    coils = model.inputs.design.pickup[pickup].coil or {}
    return f"the {pickup} coil" if len(coils) == 1 else f"coil {coil} of the {pickup} pickup"


def length(model: Model, metres: float) -> str:
    """Millimetres with one decimal, two below 1 mm; where inches are chosen, thousandths, as such lengths are small."""
    return f"{abs(metres) / float(INCH):.3f} in" if model.inputs.units.inches else mm(metres)


def mm(metres: float) -> str:
    """As `length`, for refusals, which are said before anybody's choice is known."""
    value = abs(metres) * 1e3
    return f"{value:.2f} mm" if value < 1.0 else f"{value:.1f} mm"


def long(model: Model, metres: float) -> str:
    """Wire, in whole metres or feet."""
    return f"{metres / float(FOOT):.0f} ft" if model.inputs.units.inches else f"{metres:.0f} m"


def mass(model: Model, kilograms: float) -> str:
    """Whole grams, or tenths of an ounce."""
    ounces = model.inputs.units.mass == "oz"
    return f"{kilograms / float(POUND / 16):.1f} oz" if ounces else f"{kilograms * 1e3:.0f} g"


def pull(model: Model, low: float, high: float | None = None) -> str:
    """A pull on wire, or from one to another, in whole gf or mN."""
    step, unit = (1e-3, "mN") if model.inputs.units.force == "mN" else (float(GRAVITY / 1000), "gf")
    return f"{low / step:.0f} " + (unit if high is None else f"to {high / step:.0f} {unit}")


def count(number: float) -> str:
    """A whole number, thousands set off."""
    return f"{number:,.0f}".replace(",", "\u202f")


def finding(
    name: str,
    severity: Severity,
    about: str,
    sentence: str,
    attempt: str,
    change: Mapping[str, str] | None = None,
    weight: float = 0.0,
) -> Finding:
    """A finding by its code; the last stage of its cure comes from the code's row."""
    row = code(name)
    if severity not in row.severities:
        raise ValueError(f"{name} is never a {severity}")
    return Finding(name, severity, about, sentence, attempt, row.until, change, weight)
