"""The assessment as contract 2 says it: flat keys, no NaN, absent where not computed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from lodestring.assess.curves import Curve, curves
from lodestring.assess.findings import find_all
from lodestring.assess.model import Fact, Model
from lodestring.design.finding import Finding
from lodestring.errors import DomainError
from lodestring.reference import catalogue
from lodestring.version import __version__

FORMAT = 1


@dataclass(frozen=True)
class Assessment:
    """Everything that was computed for one set. Every view is made from it."""

    model: Model
    facts: dict[str, Fact]
    findings: tuple[Finding, ...]

    def curves(self) -> dict[str, Curve]:
        return curves(self.model)

    def number(self, key: str) -> float:
        """The value of a numeric fact."""
        return self.facts[key].number


def assess(model: Model) -> Assessment:
    """All facts and findings of a model. Raises DomainError should a number not be finite."""
    facts = {key: model.fact(key) for key in model.specs()}
    for key, fact in facts.items():
        for number in (fact.value, fact.low, fact.high):
            if isinstance(number, float) and not math.isfinite(number):
                raise DomainError(
                    f"{key} must be a finite number", str(number), "report this set file as a fault of ours"
                )
    return Assessment(model, facts, find_all(model))


def as_json(assessment: Assessment, with_curves: bool = False) -> dict[str, Any]:
    """The contract's JSON object."""
    hashes = assessment.model.inputs.hashes
    names = ("set", "workshop", "hand", "stock", "spools")
    return {
        "assessment": FORMAT,
        "made_by": {"lodestring": __version__, "catalogue": catalogue().digest},
        "inputs": {name: hashes.get(name) for name in names},
        "facts": {key: fact_json(fact) for key, fact in assessment.facts.items()},
        "curves": {key: _curve(curve, with_curves) for key, curve in assessment.curves().items()},
        "findings": [finding.as_json() for finding in assessment.findings],
    }


def fact_json(fact: Fact) -> dict[str, Any]:
    """One fact as the contract writes it."""
    return {
        "value": fact.value,
        "low": fact.low,
        "high": fact.high,
        "unit": fact.unit,
        "basis": fact.basis,
        "method": fact.method,
        "source": list(fact.source),
        "at": dict(fact.at),
        "warnings": list(fact.warnings),
    }


def _curve(curve: Curve, with_points: bool) -> dict[str, Any]:
    out: dict[str, Any] = {
        "x": {"name": curve.x_axis.name, "unit": curve.x_axis.unit},
        "y": {"unit": curve.y_axis.unit},
        "n": len(curve.x),
    }
    if with_points:
        out["x"]["values"] = list(curve.x)
        out["y"]["values"] = list(curve.y)
    return out
