"""How each fact of a pickup, and of the set, follows from the blocks. A scope is (pickup,) or empty for the set."""

from __future__ import annotations

import math
from collections.abc import Callable

from lodestring.assess import blocks, named
from lodestring.assess.coil_facts import Scope
from lodestring.assess.model import Model, Value
from lodestring.layout import clearance
from lodestring.physics import wire


def has_housing(model: Model, scope: Scope) -> bool:
    """Whether the pickup says what it must fit."""
    return model.inputs.design.pickup[scope[0]].housing is not None


def made_with_housing(model: Model, scope: Scope) -> bool:
    """Whether the pickup is to be made, and says what it must fit."""
    return has_housing(model, scope) and model.inputs.design.pickup[scope[0]].measured is None


def resistance(model: Model, scope: Scope) -> float:
    """Resistance at the pickup's two leads at 20 C [ohm]: of its coils as connected, or the reading brought to 20 C."""
    pickup = scope[0]
    record = model.inputs.design.pickup[pickup]
    if record.measured is not None:
        reading = model.given(f"pickup.{pickup}.measured.resistance", record.measured.resistance)
        given = record.measured.temperature
        warm = named.room(model) if given is None else given.value
        return reading / wire.at_temperature(1.0, named.temperature_coefficient(model), warm)
    each = [blocks.copper(model, pickup, c).resistance for c in blocks.sides(record)]
    return 1.0 / math.fsum(1.0 / r for r in each) if record.connect == "parallel" else math.fsum(each)


def depth_room(model: Model, scope: Scope) -> float:
    """Lowest part to the housing's floor [m]."""
    return blocks.housing(model, scope[0]).depth + blocks.lowest(model, scope[0])


def plates_room(model: Model, scope: Scope) -> float:
    """Plates to the housing's wall, the least of the pickup's coils [m]."""
    pickup = scope[0]
    housing = blocks.housing(model, pickup)
    rooms = []
    for coil in blocks.sides(model.inputs.design.pickup[pickup]):
        shape, inner = blocks.plate(model, pickup, coil), blocks.row(model, pickup, coil).inner
        rooms.append(
            clearance.plate_inside_housing(shape.length, shape.width, shape.corner, inner.cx, inner.cy, housing)
        )
    return min(rooms)


def sum_over_coils(key: str) -> Callable[[Model, Scope], Value]:
    """A fact of each coil, added over the whole set; at an input's end, the coils' facts are there too."""

    def compute(model: Model, scope: Scope) -> Value:
        return math.fsum(model.fact_at(f"{blocks.coil_path(*coil)}.{key}") for coil in blocks.every_coil(model))

    return compute
