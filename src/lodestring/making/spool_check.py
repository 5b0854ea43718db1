"""The spool check before the evening: ohms of a 10 m sample, grams and metres needed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lodestring.assess import blocks, named
from lodestring.assess.report import Assessment
from lodestring.design.coil import Wire
from lodestring.physics import wire as physics
from lodestring.quantity import WireSize
from lodestring.quantity.figures import Figure, figure
from lodestring.reference import metal
from lodestring.reference import wire as catalogue_wire

SAMPLE = 10.0
"""Metres of the sample: five loops round two nails 1 m apart."""
NEIGHBOURS = (40, 41, 42, 43, 44)


@dataclass(frozen=True, slots=True)
class SpoolCheck:
    """One kind of wire: what its sample should read, what the neighbours would, and what the coils need."""

    label: str
    coils: tuple[str, ...]
    sample: Figure
    others: tuple[tuple[str, Figure], ...]
    metres_each: tuple[Figure, ...]
    metres: Figure
    grams: Figure
    grams_per_10_m: Figure


def spool_checks(assessment: Assessment) -> tuple[SpoolCheck, ...]:
    """One check for each kind of wire in the set."""
    model = assessment.model
    kinds: dict[str, tuple[Wire, list[tuple[str, str]]]] = {}
    for pickup, coil in blocks.every_coil(model):
        spec = blocks.coil_of(model, pickup, coil).wire
        kinds.setdefault(f"{spec.size.label} {spec.film} {spec.enamel}", (spec, []))[1].append((pickup, coil))
    return tuple(_check(assessment, label, spec, coils) for label, (spec, coils) in kinds.items())


def _check(assessment: Assessment, label: str, spec: Wire, coils: list[tuple[str, str]]) -> SpoolCheck:
    model, units = assessment.model, assessment.units
    sample = model.estimate(
        ("sample", named.wire_label(spec)),
        lambda m: SAMPLE * physics.resistance_per_metre(named.resistivity(m), named.bare_diameter(m, spec)),
        "coil.dc_resistance",
    )
    needs = [assessment.facts[f"{blocks.coil_path(*c)}.wire_for_spool"] for c in coils]
    per_metre = named.mass_per_metre(model, spec)
    total = math.fsum(n.number for n in needs)
    return SpoolCheck(
        label,
        tuple(f"{p}.{c}" for p, c in coils),
        figure(sample.value, "ohm", sample.low, sample.high),
        tuple((f"{n} AWG", _neighbour(n)) for n in NEIGHBOURS),
        tuple(figure(n.number, "m", n.low, n.high, units) for n in needs),
        figure(round(total), "m", units=units),
        figure(total * per_metre, "kg", units=units),
        figure(SAMPLE * per_metre, "kg", units=units),
    )


def _neighbour(number: int) -> Figure:
    """What 10 m of a gauge read, within the limits of the standard."""
    bare = catalogue_wire(WireSize("AWG", number, None, f"{number} AWG"), "single").bare
    rho = metal("copper").resistivity.nominal
    ohms, high, low = (SAMPLE * physics.resistance_per_metre(rho, d) for d in (bare.nominal, bare.low, bare.high))
    return figure(ohms, "ohm", low, high)
