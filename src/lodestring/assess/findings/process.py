"""Wax, plastic and enamel: what the process does to the parts."""

from __future__ import annotations

from collections.abc import Iterator

from lodestring.assess import blocks
from lodestring.assess.findings.say import coil_name, finding
from lodestring.assess.model import Model
from lodestring.design.finding import Finding
from lodestring.design.vocabulary import Severity
from lodestring.reference import band, enamel, plastic

ZERO_C = 273.15


def find(model: Model) -> Iterator[Finding]:
    """Findings about potting, pickup by pickup, and about soldering, coil by coil."""
    for pickup, record in model.inputs.design.pickup.items():
        potting = record.potting
        if record.coil and potting is not None and potting.temperature is not None:
            yield from _wax(pickup, potting.temperature.value)
            yield from _plastic(model, pickup, potting.temperature.value)
    for pickup, coil in blocks.every_coil(model):
        yield from _enamel(model, pickup, coil)


def _wax(pickup: str, bath: float) -> Iterator[Finding]:
    steps: tuple[tuple[str, Severity], ...] = (("wax.block", "blocker"), ("wax.warn", "warning"), ("wax.note", "note"))
    for name, severity in steps:
        limit = band(name).spread().nominal
        if bath > limit:
            path = f"pickup.{pickup}.potting.temperature"
            yield finding(
                "wax-hot",
                severity,
                path,
                f"the wax bath of the {pickup} pickup is at {bath - ZERO_C:.0f} C, above {limit - ZERO_C:.0f} C",
                "60 to 65 C is enough for 80/20 paraffin and beeswax; use a thermometer and a double boiler",
                {path: '"62 C"'},
                bath - limit,
            )
            return


def bath_limit(material: str) -> float | None:
    """The hottest bath [K] a plate material survives: deflection temperature less the margin, or its own wax limit."""
    found = plastic(material)
    if found.wax_limit is not None:
        return found.wax_limit.nominal
    if found.deflection is None:
        return None
    return found.deflection.nominal - band("wax.deflection-margin").spread().nominal


def _plastic(model: Model, pickup: str, bath: float) -> Iterator[Finding]:
    seen: set[str] = set()
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        material = blocks.coil_of(model, pickup, coil).bobbin.plate.material
        limit = bath_limit(material)
        if material in seen or limit is None or bath <= limit:
            continue
        seen.add(material)
        cool = limit - ZERO_C
        cure = (
            f"a bath below {cool:.0f} C"
            if cool >= 60.0
            else "plates of ABS or vulcanised fibre, or brushed lacquer in place of hot wax"
        )
        yield finding(
            "plastic-softens-in-wax",
            "blocker",
            f"{blocks.coil_path(pickup, coil)}.bobbin.plate.material",
            f"{material} creeps under winding pressure above about "
            f"{cool:.0f} C, and the wax bath of the {pickup} pickup "
            f"is at {bath - ZERO_C:.0f} C",
            cure,
            {f"pickup.{pickup}.potting": '{ kind = "lacquer" }'} if cool < 60.0 else None,
            bath - limit,
        )


def _enamel(model: Model, pickup: str, coil: str) -> Iterator[Finding]:
    kind = blocks.coil_of(model, pickup, coil).wire.enamel
    if enamel(kind).solderable:
        return
    yield finding(
        "enamel-not-solderable",
        "note",
        f"{blocks.coil_path(pickup, coil)}.wire.enamel",
        f"{kind} does not melt off under the iron: both ends of "
        f"{coil_name(model, pickup, coil)} must be stripped first",
        "strip 10 mm with fine abrasive paper under a lens, tin, and check with the meter before winding on",
    )
