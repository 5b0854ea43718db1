"""The circuit of one selector position as a netlist for any circuit program: plain R, L, C, K and V.

Closed contacts are one node; node 0 is ground and node `out` the jack's hot end. Each control is two resistors over
the share of its track below the wiper, a parameter whose values over travel stand in a comment. One .ac run gives the
position's response. What a position leaves open is tied to ground, for a circuit program wants a way for direct current
from every node.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from lodestring.assess import blocks, circuit, circuit_coil, circuit_net
from lodestring.assess.model import Model
from lodestring.assess.senses import polarity_of_coil
from lodestring.errors import DomainError
from lodestring.making.spice_coils import Drive, Errors, write_coils
from lodestring.making.spice_deck import Deck, number
from lodestring.physics.network_check import floating, joined, linked
from lodestring.physics.network_mesh import Groups
from lodestring.physics.network_parts import (
    Branches,
    Capacitor,
    Control,
    Harness,
    Inductor,
    OnePort,
    Part,
    Position,
    Resistor,
)
from lodestring.physics.poles import Numbers
from lodestring.physics.ring import Array

TIE = 1e12
"""Ohms of a tie. A piece that hangs by 40 pF alone has 2e8 ohm of way at 20 Hz: the tie takes 2e-4 of what reaches it
there, and of what reaches the output through it, far less."""
MAINS = 50.0


def spice_netlist(model: Model, position: str, travels: Mapping[str, float] | None = None) -> str:
    """The netlist of a position of the set's selector, controls at `travels` 0..1 by name, the others fully up.

    Raises DomainError for a set without a harness, a position or control that is not there, and a travel outside 0..1.
    """
    names = circuit_net.position_names(model)
    if not names:
        raise DomainError(
            "a netlist needs a harness", "a set without one", 'circuit = "one volume, one tone" in [harness]'
        )
    if position not in names:
        raise DomainError("a netlist is of a position of the selector", f'"{position}"', f"one of {', '.join(names)}")
    harness = circuit.network(model).harness
    settings = {**circuit_net.settings(model, "", 1.0), **(travels or {})}
    where = (names.index(position) + 1, len(names))
    return netlist(harness, circuit_coil.FREQUENCIES, position, settings, string_drive(model, position), where)


def string_drive(model: Model, position: str) -> Drive:
    """The strings' EMFs in a position: volts by turns and polarity, one for a coil of the usual number of turns and for
    a kept pickup, none for what the position leaves out; n pickups apart by 180/n degrees."""
    names = circuit.network(model).harness.branches
    on = circuit.coils_on(model, position)
    turns = {n: float(blocks.coil_of(model, *n.split(".")).turns) for n in names if "." in n}
    usual = sum(turns.values()) / len(turns) if turns else 1.0
    order = list(dict.fromkeys(n.partition(".")[0] for n in names if n in on))
    weight = np.zeros(len(names))
    angle = np.zeros(len(names))
    for k, name in enumerate(names):
        if name not in on:
            continue
        angle[k] = -180.0 * order.index(name.partition(".")[0]) / len(order)
        weight[k] = _sign(model, name) * turns[name] / usual if name in turns else 1.0
    made = np.array(["." in n for n in names])
    left: Numbers = np.where(made[:, None], circuit.emf(model, "string"), 1.0)
    hum = np.real(circuit.at(circuit.emf(model, "hum"), MAINS))
    return Drive(weight, left, angle, hum)


def _sign(model: Model, name: str) -> float:
    """Sign of a coil's string EMF, finish against start."""
    pickup, coil = name.split(".")
    end = polarity_of_coil(model, (pickup, coil))
    return circuit_coil.winding_sign(model, pickup, coil) * (-1.0 if end == "south" else 1.0)


def netlist(
    harness: Harness,
    frequency: Array,
    position: str,
    travels: Mapping[str, float],
    drive: Drive,
    where: tuple[int, int] = (1, 1),
) -> str:
    """The netlist of one position of a circuit at its frequencies (f,) [Hz], above 0; `where`: which position of how
    many. Raises DomainError as `spice_netlist`, and for a part of a free impedance, which no plain part stands for."""
    chosen = _chosen(harness, position)
    for name in set(travels) - {c.name for c in harness.controls}:
        raise DomainError("a control of the circuit", f'"{name}"', "the name of a control")
    groups = joined(harness, chosen)
    deck = Deck(groups, harness.ground, harness.output)
    deck.say("position", *where)
    errors, first = [Errors(0.0, 0.0)], 0
    for part in harness.everything:
        if isinstance(part, Branches):
            count = len(part.names)
            errors.append(write_coils(deck, part, frequency, drive.take(slice(first, first + count))))
            first += count
    for part in harness.everything:
        _write(deck, part, travels)
    _ties(deck, harness, groups)
    _remarks(deck, frequency, errors, drive)
    return deck.text()


def _chosen(harness: Harness, name: str) -> Position:
    for position in harness.positions:
        if position.name == name:
            return position
    known = ", ".join(p.name for p in harness.positions)
    raise DomainError("a netlist is of a position of the selector", f'"{name}"', f"one of {known}")


def _write(deck: Deck, part: Part, travels: Mapping[str, float]) -> None:
    match part:
        case Resistor():
            deck.part("R", part.name, deck.node(part.a), deck.node(part.b), part.ohm)
        case Capacitor():
            deck.part("C", part.name, deck.node(part.a), deck.node(part.b), part.farad)
        case Inductor():
            middle = deck.inner() if part.ohm > 0.0 else deck.node(part.b)
            deck.part("L", part.name, deck.node(part.a), middle, part.henry)
            if part.ohm > 0.0:
                deck.part("R", part.name, middle, deck.node(part.b), part.ohm)
        case Control():
            _control(deck, part, travels.get(part.name, 1.0))
        case OnePort():
            raise DomainError("a netlist is made of resistors, coils and capacitors", f"{part.name}, an impedance")
        case Branches():
            pass  # written first


def _control(deck: Deck, part: Control, travel: float) -> None:
    a, wiper, b = (deck.node(n) for n in (part.a, part.wiper, part.b))
    if a == wiper == b:
        return
    share = deck.share(float(part.taper.share(travel)))
    deck.say("share", int(share.removeprefix("share_")))
    deck.say("tenths", *part.taper.share(np.linspace(0.0, 1.0, 11)))
    deck.part("R", part.name, a, wiper, f"{{{number(part.ohm)}*{share}}}")
    deck.part("R", part.name, wiper, b, f"{{{number(part.ohm)}*(1-{share})}}")


def _ties(deck: Deck, harness: Harness, groups: Groups) -> None:
    """Capacitors let no direct current through: what hangs by them alone, or by nothing, gets a tie."""
    strays = {part.name for part in harness.everything if isinstance(part, Capacitor)}
    every = [(a, b) for _, a, b in linked(harness, groups)]
    ways = [(a, b) for name, a, b in linked(harness, groups) if name not in strays]
    pieces = floating([*ways, *((n, n) for ends in every for n in ends)], groups(harness.ground))
    if pieces:
        deck.say("tie")
    for piece in pieces:
        deck.part("R", "tie", deck.node(min(piece)), "0", TIE)


def _remarks(deck: Deck, frequency: Array, errors: list[Errors], drive: Drive) -> None:
    deck.say("fit", frequency.min(), frequency.max(), max(e.inductance for e in errors), max(e.emf for e in errors))
    for which in ("within", "strings", "phases", "eddy"):
        deck.say(which)
    for source, hum in zip(deck.coils, drive.hum, strict=True):
        deck.say("hum", source, abs(hum), 180.0 if hum < 0.0 else 0.0)
    deck.say("instead")
