"""The parts of a harness as they lie on the bench: what they are called, their value, their named ends.

Capacitances of leads and cable and what the cable feeds are reckoned with but are no parts.
"""

from __future__ import annotations

from lodestring.assess import blocks, circuit_net
from lodestring.assess.model import Model
from lodestring.making.wiring_records import GROUND, JACK, End, WiringPart
from lodestring.physics.network_parts import Capacitor, Control, Part, Resistor
from lodestring.quantity import Kind, show_value

LEAD = ".lead"
BLEEDS = ".bleed-"


def wiring_parts(model: Model) -> tuple[WiringPart, ...]:
    """Coils and kept pickups that some position has on, controls, resistors, capacitors, the jack."""
    out = [_source(model, name) for name in circuit_net.used(model)]
    own = _is_own(model)
    out += [_part(part, own) for part in circuit_net.wiring(model).parts if own or not _is_lead(part)]
    out.append(WiringPart(JACK, "jack", "jack", "", (End("hot", JACK), End("ground", GROUND))))
    return tuple(out)


def not_wired(model: Model) -> tuple[str, ...]:
    """Coils and kept pickups that no position has on."""
    used = circuit_net.used(model)
    made = [f"{p}.{c}" for p, c in blocks.every_coil(model)]
    kept = [p for p, r in model.inputs.design.pickup.items() if circuit_net.kept(r)]
    return tuple(source_title(model, n) for n in (*made, *kept) if n not in used)


def source_title(model: Model, name: str) -> str:
    """`bridge coil`, `front coil of the main pickup`, `neck pickup (kept)`."""
    pickup, _, coil = name.partition(".")
    if not coil:
        return f"{pickup} pickup (kept)"
    sides = blocks.sides(model.inputs.design.pickup[pickup])
    return f"{pickup} coil" if len(sides) == 1 else f"{coil} coil of the {pickup} pickup"


def _is_lead(part: Part) -> bool:
    return isinstance(part, Capacitor) and part.name.endswith(LEAD)


def _is_own(model: Model) -> bool:
    harness = model.inputs.design.harness
    return harness is not None and harness.circuit == "own netlist"


def _source(model: Model, name: str) -> WiringPart:
    pickup, _, coil = name.partition(".")
    title = source_title(model, name)
    one, other = circuit_net.coil_nodes(pickup, coil)
    if coil:
        ohm = show_value(float(blocks.copper(model, pickup, coil).resistance), Kind.RESISTANCE, digits=3)
        hot = blocks.coil_of(model, pickup, coil).hot
        ends = (End("finish", one), End("start", other))
        return WiringPart(name, "coil", title, ohm, ends if hot == "finish" else ends[::-1])
    measured = model.inputs.design.pickup[pickup].measured
    ohm = "" if measured is None else show_value(measured.resistance.value, Kind.RESISTANCE, digits=3)
    return WiringPart(name, "kept pickup", title, ohm, (End("hot", one), End("ground", other)))


def _part(part: Part, own: bool) -> WiringPart:
    match part:
        case Control():
            title = _named(part.name, "control") if own else _control_title(part.name)
            ends = (End("top", part.b), End("wiper", part.wiper), End("bottom", part.a))
            return WiringPart(part.name, "control", title, show_value(part.ohm, Kind.RESISTANCE, digits=3), ends)
        case Resistor():
            title = _named(part.name, "resistor") if own else _bleed_title(part.name, "resistor")
            value = show_value(part.ohm, Kind.RESISTANCE, digits=3)
            return WiringPart(part.name, "resistor", title, value, (End("one end", part.a), End("other end", part.b)))
        case Capacitor():
            title = _named(part.name, "capacitor") if own else _bleed_title(part.name, "capacitor")
            value = show_value(part.farad, Kind.CAPACITANCE, digits=3)
            return WiringPart(part.name, "capacitor", title, value, (End("one end", part.a), End("other end", part.b)))
        case _:
            raise TypeError(f"a harness has no {type(part).__name__}")


def _control_title(name: str) -> str:
    pickup, _, what = name.rpartition(".")
    if what == "blend":
        return f"blend control, {pickup} track"
    return f"{pickup} {what} control".strip()


def _bleed_title(name: str, what: str) -> str:
    if BLEEDS not in name:
        return "tone capacitor"
    of = name.partition(BLEEDS)[0]
    pickup = of.rpartition(".")[0]
    return f"treble bleed {what}" + (f", {pickup} volume" if pickup else "")


def _named(name: str, what: str) -> str:
    """`bass-cut capacitor`; a name that says what it is stays."""
    return name if what in name else f"{name} {what}"
