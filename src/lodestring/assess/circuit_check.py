"""Does the harness hang together? Looked at with stand-ins for the coils, before anything is worked out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lodestring.assess import circuit_net, kept_pickup
from lodestring.assess.model import Model
from lodestring.design.cross_problem import Disagreement
from lodestring.errors import DomainError
from lodestring.physics.network_check import check
from lodestring.physics.network_parts import Branches, Capacitor, Harness, Part


def circuit_obstacles(model: Model) -> Iterator[Disagreement]:
    """What cannot be so of kept pickups; then the first thing that is wrong with an own netlist, at the part or
    position it names."""
    yield from kept_pickup.reading_obstacles(model)
    harness = model.inputs.design.harness
    if harness is None:
        return
    try:
        found = circuit_net.wiring(model)
        check(
            Harness(
                (*_stand_ins(model), *found.parts),
                circuit_net.JACK,
                circuit_net.GROUND,
                found.load,
                positions=found.positions,
            )
        )
    except DomainError as error:
        yield Disagreement(_place(model, f"{error.must} {error.came}"), error.must, error.came, error.attempt)


def _stand_ins(model: Model) -> Iterator[Part]:
    """Coils of one ohm, each with a capacitance: only where they are joined matters here."""
    for name in circuit_net.used(model):
        pickup, _, coil = name.partition(".")
        ends = circuit_net.coil_nodes(pickup, coil)
        yield Branches((name,), (ends,), np.ones((1, 1, 1), complex), np.ones(1))
        yield Capacitor(f"{name}.capacitance", *ends, 1e-12)


def _place(model: Model, sentence: str) -> tuple[str | int, ...]:
    """Key path of what a sentence names: a part, a position, else the harness."""
    harness = model.inputs.design.harness
    words = set(sentence.replace(",", " ").replace("(", " ").replace(")", " ").replace(";", " ").split())
    for name in (harness.part or {}) if harness is not None else ():
        if name in words:
            return ("harness", "part", name)
    for number, position in enumerate((harness.positions or ()) if harness is not None else (), 1):
        if position.name in words:
            return ("harness", "positions", number)
    return ("harness", "circuit")
