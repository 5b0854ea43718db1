"""Small words shared by findings: how a coil is called, millimetres, making a finding from its code."""

from __future__ import annotations

from collections.abc import Mapping

from lodestring.assess.findings.codes import code
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.design.vocabulary import Severity


def coil_name(model: Model, pickup: str, coil: str) -> str:
    """What a coil is called in a sentence: its pickup's name, and its own where there are two."""
    coils = model.inputs.design.pickup[pickup].coil or {}
    return f"the {pickup} coil" if len(coils) == 1 else f"coil {coil} of the {pickup} pickup"


def mm(length: float) -> str:
    """Millimetres with one decimal, two below 1 mm."""
    value = abs(length) * 1e3
    return f"{value:.2f} mm" if value < 1.0 else f"{value:.1f} mm"


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
