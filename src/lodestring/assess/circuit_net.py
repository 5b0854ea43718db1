"""The harness as a circuit: parts, wires and selector positions by name, from the ready circuit or the own netlist.

Nodes: `PICKUP.COIL.start` and `.finish`, a kept pickup's `PICKUP.hot` and `PICKUP.ground`, `selector` (what the
selector passes on), `PICKUP.volume` and `PICKUP.wiper` (of that pickup's own volume control), `tone` (between the tone
control and its capacitor), `jack`, `ground`. Coils and their capacitances are added by circuit.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from lodestring.assess import blocks, harness_inputs
from lodestring.assess.model import Model
from lodestring.design.cross_harness import PER_PICKUP
from lodestring.design.harness import Position as GivenPosition
from lodestring.design.pickup import Pickup
from lodestring.physics.network_parts import Capacitor, Contact, Control, Part, Position, Resistor
from lodestring.physics.taper import LINEAR

GROUND, JACK, SELECTOR, TONE, BLEED = "ground", "jack", "selector", "tone", "bleed"
ALONE = "alone."
"""Prefix of the hidden positions in which one coil plays alone: what hum is set against."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything but the coils: parts up to the jack, what lies beyond it, the selector's positions."""

    parts: tuple[Part, ...]
    load: tuple[Part, ...]
    positions: tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """A position of a ready circuit: its name, what is on, whether in series, what is reversed."""

    name: str
    on: tuple[str, ...]
    series: bool = False
    reversed: tuple[str, ...] = ()


def choices(model: Model) -> tuple[Choice, ...]:
    """The selector's positions: as given, or each pickup alone and neighbours together."""
    harness = harness_inputs.harness_of(model)
    if harness.positions is not None:
        return tuple(_given(p) for p in harness.positions)
    names = tuple(model.inputs.design.pickup)
    if harness.circuit == "blend, one tone":
        return (Choice("blend", names),)
    out: list[Choice] = []
    for i, name in enumerate(names):
        if i:
            out.append(Choice(f"{names[i - 1]}-{name}"[:32].rstrip("-"), (names[i - 1], name)))
        out.append(Choice(name, (name,)))
    return tuple(out)


def _given(position: GivenPosition) -> Choice:
    return Choice(position.name, position.on or (), position.joined == "series", position.reversed)


def position_names(model: Model) -> tuple[str, ...]:
    """Names of the selector's positions; none without a harness."""
    harness = model.inputs.design.harness
    if harness is None:
        return ()
    if harness.circuit == "own netlist":
        return tuple(p.name for p in harness.positions or ()) or ("only",)
    return tuple(c.name for c in choices(model))


def kept(record: Pickup) -> bool:
    """Whether a pickup is known by measurement only."""
    return record.measured is not None


def coil_nodes(pickup: str, coil: str) -> tuple[str, str]:
    """Finish and start of a coil, or hot and ground lead of a kept pickup (coil "")."""
    path = f"{pickup}.{coil}" if coil else pickup
    return (f"{path}.finish", f"{path}.start") if coil else (f"{path}.hot", f"{path}.ground")


def ends(model: Model, name: str) -> tuple[str, str]:
    """Hot and other end of one coil ("main.front"), or of a pickup with one coil, or of a kept one."""
    pickup, _, coil = name.partition(".")
    record = model.inputs.design.pickup[pickup]
    if kept(record):
        return coil_nodes(pickup, "")
    coil = coil or next(iter(record.coil or {}))
    finish, start = coil_nodes(pickup, coil)
    return (finish, start) if blocks.coil_of(model, pickup, coil).hot == "finish" else (start, finish)


def joined(model: Model, name: str) -> tuple[str, str, tuple[Contact, ...]]:
    """Hot and other end of what is on, and the contacts inside it: a pair is joined as its `connect` says."""
    pickup, _, coil = name.partition(".")
    record = model.inputs.design.pickup[pickup]
    coils = blocks.sides(record)
    if coil or len(coils) < 2:
        return (*ends(model, name), ())
    (hot, middle), (other, last) = (ends(model, f"{pickup}.{c}") for c in coils)
    if record.connect == "parallel":
        return hot, middle, ((hot, other), (middle, last))
    return hot, last, ((middle, other),)


def _contacts(model: Model, choice: Choice, tops: dict[str, str]) -> tuple[Contact, ...]:
    """Contacts of a position; `tops` says where each pickup's hot end goes."""
    out: list[Contact] = []
    rail: dict[str, tuple[str, str]] = {}
    for name in choice.on:
        hot, other, inside = joined(model, name)
        out += inside
        rail[name] = (other, hot) if name in choice.reversed else (hot, other)
    if choice.series:
        names = list(choice.on)
        out.append((rail[names[0]][0], tops[names[0].partition(".")[0]]))
        out += [(rail[a][1], rail[b][0]) for a, b in pairwise(names)]
        out.append((rail[names[-1]][1], GROUND))
    else:
        for name in choice.on:
            out += [(rail[name][0], tops[name.partition(".")[0]]), (rail[name][1], GROUND)]
    return tuple(out)


def wiring(model: Model) -> Wiring:
    """Controls, leads, load and positions."""

    def make() -> Wiring:
        harness = harness_inputs.harness_of(model)
        ohm, farad = harness_inputs.load(model)
        load: list[Part] = [Resistor("input", JACK, GROUND, ohm)]
        wire = harness_inputs.cable(model) + farad
        if wire > 0.0:
            load.append(Capacitor("cable", JACK, GROUND, wire))
        if harness.circuit == "own netlist":
            return _own(model, tuple(load))
        return _ready(model, tuple(load))

    return model.block(("wiring",), make)


def used(model: Model) -> tuple[str, ...]:
    """Names of the coils ("pickup.coil", or a kept pickup's own) that some position has on, in the set's order."""
    harness = harness_inputs.harness_of(model)
    design = model.inputs.design
    every = [n for p, r in design.pickup.items() for n in ([p] if kept(r) else [f"{p}.{c}" for c in r.coil or {}])]
    if harness.circuit == "own netlist":
        return tuple(every)
    on = {n for choice in choices(model) for n in choice.on}
    return tuple(n for n in every if n in on or n.partition(".")[0] in on)


def _own(model: Model, load: tuple[Part, ...]) -> Wiring:
    harness = harness_inputs.harness_of(model)
    parts: list[Part] = []
    for name, part in (harness.part or {}).items():
        path, at = f"harness.part.{name}", part.ends
        if part.kind == "capacitor" and part.capacitance is not None:
            parts.append(Capacitor(name, at[0], at[1], model.given(f"{path}.capacitance", part.capacitance)))
        elif part.resistance is not None:
            ohm = model.given(f"{path}.resistance", part.resistance)
            if part.kind == "control":
                taper = harness_inputs.TAPERS[part.taper or "audio"]
                parts.append(Control(name, at[2], at[1], at[0], ohm, taper))
            else:
                parts.append(Resistor(name, at[0], at[1], ohm))
    positions = tuple(Position(p.name, p.closed or ()) for p in harness.positions or ())
    return Wiring(tuple(parts), load, positions or (Position("only"),))


def _ready(model: Model, load: tuple[Part, ...]) -> Wiring:
    harness = harness_inputs.harness_of(model)
    pickups = tuple(dict.fromkeys(n.partition(".")[0] for n in used(model)))
    parts: list[Part] = []
    lead = harness_inputs.lead_out(model)
    for pickup in pickups if lead > 0.0 else ():
        hot, other, _ = joined(model, pickup)
        parts.append(Capacitor(f"{pickup}.lead", hot, GROUND if hot != GROUND else other, lead))
    tops = dict.fromkeys(pickups, SELECTOR)
    joins: list[Contact] = []
    if harness.circuit == "straight to the jack":
        tops = dict.fromkeys(pickups, JACK)
    elif harness.circuit in ("one volume", "one volume, one tone"):
        parts += _volume(model, "volume", SELECTOR, JACK, 0)
        if "tone" in harness.circuit:
            parts += _tone(model, SELECTOR)
    elif harness.circuit in PER_PICKUP:
        order = tuple(model.inputs.design.pickup)
        for pickup in pickups:
            tops[pickup] = f"{pickup}.volume"
            parts += _volume(model, f"{pickup}.volume", tops[pickup], f"{pickup}.wiper", order.index(pickup))
        parts += _tone(model, JACK)
        joins = [(f"{p}.wiper", JACK) for p in pickups]
    else:
        track = harness_inputs.blend(model)
        for pickup in pickups:
            tops[pickup] = f"{pickup}.blend"
            parts.append(Control(f"{pickup}.blend", GROUND, JACK, tops[pickup], track, LINEAR))
        parts += _tone(model, JACK)
    positions = []
    for choice in (*choices(model), *_alone(model)):
        on = {n.partition(".")[0] for n in choice.on}
        mix = tuple(j for j in joins if j[0].partition(".")[0] in on)
        positions.append(Position(choice.name, (*_contacts(model, choice, tops), *mix)))
    return Wiring(tuple(parts), load, tuple(positions))


def _alone(model: Model) -> tuple[Choice, ...]:
    """Each coil by itself, and each pair as its pickup joins it."""
    names = used(model)
    pairs = [p for p in model.inputs.design.pickup if p not in names and whole(model, p)]
    return tuple(Choice(f"{ALONE}{name}", (name,)) for name in (*names, *pairs))


def whole(model: Model, pickup: str) -> bool:
    """Whether every coil of a pickup is in the circuit."""
    record = model.inputs.design.pickup[pickup]
    return set([pickup] if kept(record) else [f"{pickup}.{c}" for c in record.coil or {}]) <= set(used(model))


def _volume(model: Model, name: str, top: str, wiper: str, number: int) -> list[Part]:
    ohm, taper = harness_inputs.volume(model, number)
    out: list[Part] = [Control(name, GROUND, wiper, top, ohm, taper)]
    found = harness_inputs.bleed(model, number)
    if found is None:
        return out
    farad, resistor, parallel = found
    if resistor is None or parallel:
        out.append(Capacitor(f"{name}.bleed-capacitor", top, wiper, farad))
        if resistor is not None:
            out.append(Resistor(f"{name}.bleed-resistor", top, wiper, resistor))
    else:
        between = f"{name}.{BLEED}"
        out.append(Capacitor(f"{name}.bleed-capacitor", top, between, farad))
        out.append(Resistor(f"{name}.bleed-resistor", between, wiper, resistor))
    return out


def _tone(model: Model, at: str) -> list[Part]:
    track, taper, farad = harness_inputs.tone(model)
    return [Control("tone", at, TONE, TONE, track, taper), Capacitor("tone-capacitor", TONE, GROUND, farad)]


def travels(model: Model) -> tuple[str, ...]:
    """The controls a hand turns: `volume`, `tone`, `bridge.volume`, an own netlist's controls; `blend` turns two."""
    names = [p.name for p in wiring(model).parts if isinstance(p, Control)]
    return tuple(dict.fromkeys("blend" if n.endswith(".blend") else n for n in names))


def settings(model: Model, control: str, travel: float) -> dict[str, float]:
    """Travel of every track with one control at `travel` and all others fully up; a blend control at its middle."""
    out: dict[str, float] = {}
    seen = 0
    for part in wiring(model).parts:
        if not isinstance(part, Control):
            continue
        out[part.name] = 1.0
        if part.name.endswith(".blend"):
            if control == "blend":  # the first pickup alone at 0, the second alone at 1, both in the middle
                out[part.name] = min(1.0, 2.0 * (travel if seen else 1.0 - travel))
            seen += 1
        elif part.name == control:
            out[part.name] = travel
    return out
