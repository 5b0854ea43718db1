"""What is believed of a coil before it is measured: a centre and a spread for each thing that moves its readings.

Everything comes from the assessment's own table of uncertainty and from the hand where it has learned; nothing is typed
in here but the places where each is found. Positive quantities vary on a log scale.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from lodestring.assess import blocks, coil_capacitance, named, pole_bodies
from lodestring.assess.model import Model
from lodestring.assess.uncertainty import methods
from lodestring.proving.measurement import NINETY
from lodestring.proving.tables import CoilTables

COUNTED = 0.01
"""Half-width (90 %) of turns counted as drawn: a press missed, a pass lost at a pause. Assumed."""
FREE = 1.0
"""Half-width of turns that nobody counted, in ln units: flat for all that a meter can say."""


@dataclass(frozen=True, slots=True)
class Spread:
    """One thing that moves readings: SI, normal about its centre, or about its logarithm with `log`; `sigma` then in ln
    units."""

    name: str
    centre: float
    sigma: float
    log: bool = True


Spreads = tuple[Spread, ...]


def changed(spreads: Spreads, *new: Spread) -> Spreads:
    """`spreads` with some replaced by name and others added."""
    by_name = {s.name: s for s in new}
    kept = tuple(by_name.pop(s.name, s) for s in spreads)
    return kept + tuple(by_name.values())


def of(spreads: Spreads, name: str) -> Spread:
    """The spread of one name. Raises KeyError."""
    for spread in spreads:
        if spread.name == name:
            return spread
    raise KeyError(name)


def with_turns(spreads: Spreads, half_width: float) -> Spreads:
    """The same with turns known to `half_width` (90 %, ln units)."""
    return changed(spreads, replace(of(spreads, "turns"), sigma=half_width / NINETY))


def spreads_of(model: Model, tables: CoilTables) -> Spreads:
    """Every spread of a coil as drawn, turns counted."""
    p, c = tables.pickup, tables.coil
    record, path = blocks.coil_of(model, p, c), blocks.coil_path(p, c)
    given = tables.copper

    def found(name: str, compute: Callable[[Model], float], log: bool = True, method: str = "as given") -> Spread:
        e = model.estimate(("proving", p, c, name), compute, method, log)
        if log:
            return Spread(name, e.value, math.log(e.high / e.low) / (2.0 * NINETY))
        return Spread(name, e.value, (e.high - e.low) / (2.0 * NINETY), False)

    out = [
        Spread("turns", float(given.turns), COUNTED / NINETY),
        found("bare", lambda m: named.bare_diameter(m, record.wire)),
        found("film", lambda m: named.film_increase(m, record.wire)),
        found("packing", lambda m: named.packing(m, record, path), method="coil.depth"),
        found("belly", named.belly, False),
        found("inner", lambda m: blocks.row(m, p, c).inner.r),
        found("window", lambda m: m.given(f"{path}.bobbin.window", record.bobbin.window)),
        Spread(
            "straight", max(given.straight, 1e-6), math.log(tables.row_factor[1] / tables.row_factor[0]) / (2 * NINETY)
        ),
        found("resistivity", named.resistivity),
        found("density", named.copper_density),
        found("capacitance", lambda m: coil_capacitance.at_ends(m, p, c), method="coil.capacitance"),
        Spread("loss", 0.015, 0.6),  # loss tangent of enamel, wax and air together: assumed, a factor 2.7
        Spread("warmer", 0.0, 1.0, False),  # the coil against the thermometer [K]: assumed
    ]
    strain = found("stretch", lambda m: blocks.strain(m, p, c))
    out.append(strain if strain.centre > 1e-5 else Spread("stretch", 1e-4, 0.5))
    body = record.poles.body
    if body is not None and tables.answer is not None:
        out.append(found("permeability", lambda m: pole_bodies.permeability(m, body)))
    if tables.fields:
        out.append(Spread("strength", 1.0, 0.10))
    return tuple(out)


def own_spread(quantity: str) -> tuple[float, float]:
    """How far the model itself may be off for a quantity, one standard deviation: relative, absolute in its unit."""
    method = {
        "resistance": "coil.dc_resistance",
        "inductance": "coil.inductance_1khz",
        "inductance_poles_out": "coil.inductance_air",
        "resonance": "coil.self_resonance",
        "wire_mass": "coil.mass",
        "outer_length": "coil.outline",
        "outer_width": "coil.outline",
        "field": "poles.remanence",
    }.get(quantity)
    if method is None:
        return {"series_resistance": (0.03, 0.0), "peak": (0.0, 1.0)}.get(quantity, (0.0, 0.0))
    found = methods()[method]
    return found.relative / NINETY, found.absolute / NINETY
