"""The whole circuit of a set: coils, capacitances, harness; solved for a position of the selector and a setting."""

from __future__ import annotations

import numpy as np

from lodestring.assess import blocks, circuit_coil, circuit_net, coil_capacitance, kept_pickup
from lodestring.assess.circuit_coil import FREQUENCIES
from lodestring.assess.circuit_net import ALONE
from lodestring.assess.eddy_blocks import at
from lodestring.assess.model import Model
from lodestring.physics.network import Network, Response, prepare
from lodestring.physics.network_parts import Branches, Harness, Part
from lodestring.physics.one_thread import one_thread
from lodestring.physics.poles import Numbers


def coils(model: Model) -> tuple[Part, ...]:
    """Coils that some position has on, each with its capacitances; kept pickups by their readings."""
    design = model.inputs.design
    used = circuit_net.used(model)
    out: list[Part] = []
    for pickup, record in design.pickup.items():
        if circuit_net.kept(record):
            if pickup in used:
                out += kept_pickup.parts(model, pickup)
            continue
        names = [c for c in blocks.sides(record) if f"{pickup}.{c}" in used]
        if not names:
            continue
        found = circuit_coil.branches(model, pickup)
        take = [found.names.index(c) for c in names]
        out.append(
            Branches(
                tuple(f"{pickup}.{c}" for c in names),
                tuple(circuit_net.coil_nodes(pickup, c) for c in names),
                found.impedance[np.ix_(take, take)],
                found.resistance[take],
            )
        )
        for coil in names:
            out += coil_capacitance.parts(model, pickup, coil)
    return tuple(out)


def harness(model: Model) -> Harness:
    """Every part, and the positions."""
    found = circuit_net.wiring(model)
    return Harness(
        (*coils(model), *found.parts), circuit_net.JACK, circuit_net.GROUND, found.load, positions=found.positions
    )


def network(model: Model) -> Network:
    """The circuit, checked and made ready."""

    def make() -> Network:
        with one_thread():
            return prepare(harness(model), FREQUENCIES)

    return model.block(("network",), make)


def response(model: Model, position: str) -> Response:
    """Transfers of a position, every control fully up and a blend control at its middle."""

    def make() -> Response:
        with one_thread():
            return network(model).solve(position, circuit_net.settings(model, "", 1.0))

    return model.block(("circuit response", position), make)


def family(model: Model, position: str, control: str, travels: tuple[float, ...]) -> Response:
    """Transfers of a position over the travel of one control, all others fully up."""
    each = [circuit_net.settings(model, control, t) for t in travels]
    merged = {name: [s[name] for s in each] for name in each[0]} if each else {}
    with one_thread():
        return network(model).solve(position, merged)


def coils_on(model: Model, position: str) -> tuple[str, ...]:
    """Names of the coils that play in a position; of an own netlist, all."""
    choice = next((c for c in circuit_net.choices(model) if c.name == position), None) if ready(model) else None
    if choice is None:
        return circuit_net.used(model)
    out: list[str] = []
    for name in choice.on:
        pickup, _, coil = name.partition(".")
        record = model.inputs.design.pickup[pickup]
        out += [name] if coil or circuit_net.kept(record) else [f"{pickup}.{c}" for c in blocks.sides(record)]
    return tuple(out)


def ready(model: Model) -> bool:
    """Whether the harness is a ready circuit."""
    found = model.inputs.design.harness
    return found is not None and found.circuit != "own netlist"


def emf(model: Model, which: str) -> Numbers:
    """(c, f) one share of EMF a coil, in the network's order: "hum" [V s/T] or "string", what is left of the string's
    share; 0 for kept pickups."""

    def make() -> Numbers:
        names = circuit_net.used(model)
        out = np.zeros((len(names), len(FREQUENCIES)), complex)
        of = circuit_coil.hum_moment if which == "hum" else circuit_coil.string_share
        for i, name in enumerate(names):
            pickup, _, coil = name.partition(".")
            if coil:
                out[i] = of(model, pickup, coil)
        return out

    return model.block(("emf", which), make)


__all__ = ["ALONE", "at", "coils", "coils_on", "emf", "family", "harness", "network", "ready", "response"]
