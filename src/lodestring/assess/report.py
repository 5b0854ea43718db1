"""The assessment as contract 2 says it: flat keys, no NaN, absent where not computed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

from lodestring.assess.curve import Curve
from lodestring.assess.curves import curves
from lodestring.assess.findings import find_all
from lodestring.assess.model import Fact, Model
from lodestring.design.finding import Finding
from lodestring.errors import DomainError
from lodestring.quantity import Units
from lodestring.reference import catalogue
from lodestring.version import __version__

FORMAT = 1


class Facts(Mapping[str, Fact]):
    """The facts of a model by key, in the order of the set file; each is computed when it is first asked for."""

    def __init__(self, model: Model) -> None:
        self._model = model

    def __getitem__(self, key: str) -> Fact:
        if key not in self._model.specs():
            raise KeyError(key)
        fact = self._model.fact(key)
        for number in (fact.value, fact.low, fact.high):
            if isinstance(number, float) and not math.isfinite(number):
                raise DomainError(f"{key} must be finite", str(number), "report this set file as a fault of ours")
        return fact

    def __contains__(self, key: object) -> bool:
        return key in self._model.specs()

    def __iter__(self) -> Iterator[str]:
        return iter(self._model.specs())

    def __len__(self) -> int:
        return len(self._model.specs())


class Assessment:
    """What can be said of one set; facts and findings are computed when asked for. Every view is made from it."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.facts = Facts(model)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, the weightiest first."""
        return find_all(self.model)

    @property
    def units(self) -> Units:
        """In which units the maker wants figures said; what is computed is SI."""
        return self.model.inputs.units

    def curves(self) -> dict[str, Curve]:
        return curves(self.model)

    def number(self, key: str) -> float:
        """The value of a numeric fact."""
        return self.facts[key].number


def assess(model: Model) -> Assessment:
    """The assessment of a model, findings made. A fact that is not finite raises DomainError when it is asked for."""
    assessment = Assessment(model)
    _ = assessment.findings
    return assessment


def as_json(assessment: Assessment, with_curves: bool = False, prefixes: tuple[str, ...] = ()) -> dict[str, Any]:
    """The contract's JSON object; with `prefixes` only facts and curves whose keys start with one of them."""
    wanted = prefixes or ("",)
    hashes = assessment.model.inputs.hashes
    names = ("set", "workshop", "hand", "stock", "spools")
    return {
        "assessment": FORMAT,
        "made_by": {"lodestring": __version__, "catalogue": catalogue().digest},
        "inputs": {name: hashes.get(name) for name in names},
        "facts": {key: fact_json(assessment.facts[key]) for key in assessment.facts if key.startswith(wanted)},
        "curves": {
            key: _curve(curve, with_curves) for key, curve in assessment.curves().items() if key.startswith(wanted)
        },
        "findings": [finding.as_json() for finding in _in_usual_units(assessment).findings],
    }


def _in_usual_units(assessment: Assessment) -> Assessment:
    """The same set where nobody has chosen units: who reads JSON finds the same sentences in every workshop."""
    inputs = assessment.model.inputs
    if inputs.workshop is None or inputs.workshop.shown is None:
        return assessment
    workshop = inputs.workshop.model_copy(update={"shown": None})
    return Assessment(Model(replace(inputs, workshop=workshop), assessment.model.store))


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
