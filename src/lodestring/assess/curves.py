"""Curves of an assessment: coils turn by turn, strings against their height, the response of each position."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lodestring.assess import blocks, magnet_facts, pole_bodies, string_blocks
from lodestring.assess.circuit_curves import BY_TRAVEL, HUM, RESPONSE, position_curves
from lodestring.assess.coil_facts import Scope
from lodestring.assess.curve import Axis, Curve, Kind, Points
from lodestring.assess.model import Model
from lodestring.errors import DomainError
from lodestring.physics import winding
from lodestring.physics.string_run import StringResult, refuse_in_body

POINTS = 400
HEIGHTS = (0.5, 0.6, 0.75, 0.9, 1.0, 1.2, 1.5, 1.75, 2.0)
"""Gaps at which a string is followed, over its own at rest."""


KINDS = {
    "coil_depth_end": Kind("m", "depth at the round ends, turn by turn"),
    "coil_depth_side": Kind("m", "depth at mid-side, turn by turn"),
    "wire_length": Kind("m", "wire laid, turn by turn"),
    "dc_resistance": Kind("ohm", "resistance from the start, turn by turn, at 20 C"),
}
BY_GAP: dict[str, tuple[Kind, magnet_facts.OfString]] = {
    f"{name}_by_gap": (Kind(unit, f"{what}, against the gap"), of)
    for name, unit, what, of in (
        ("field", "T", "greatest field of the magnets along the string", magnet_facts.field_of),
        ("output", "V.s/m", "volts per metre per second of the string moving up and down", magnet_facts.output_of),
        ("pull", "N", "static pull toward the pickup", magnet_facts.pull_of),
        ("pull_gradient", "N/m", "how fast the pull grows as the string comes nearer", magnet_facts.pull_gradient_of),
        (
            "detune",
            "cent",
            "change of the magnets' effect on the pitch from open string to fret 12",
            magnet_facts.detune_of,
        ),
        ("beat", "Hz", "beating of the open string between up-and-down and sideways motion", magnet_facts.beat_of),
        (
            "second_harmonic",
            "dB",
            "second harmonic over the fundamental, swing 0.5 mm",
            magnet_facts.second_harmonic_of,
        ),
        ("length_heard", "m", "length of string heard", magnet_facts.length_heard_of),
    )
}
TABLE = {
    "pickup.P.coil.C": ("turn", "1", dict(KINDS)),
    "pickup.P.string.N": ("gap", "m", {name: kind for name, (kind, _) in BY_GAP.items()}),
    "position.NAME": ("frequency", "Hz", {"response": RESPONSE, "hum": HUM, "response.CONTROL.T": BY_TRAVEL}),
}
"""Every kind of curve by the start of its key: name and unit of x, the kinds."""


def curves(model: Model) -> dict[str, Curve]:
    """Every curve of the set, by key."""
    found = [curve for pickup, coil in blocks.every_coil(model) for curve in _of_coil(model, pickup, coil)]
    for pickup in model.inputs.design.pickup:
        if magnet_facts.is_heard(model, (pickup,)):
            found += [c for i in string_blocks.served(model, pickup) for c in _of_string(model, pickup, i)]
    found += position_curves(model)
    return {curve.key: curve for curve in found}


def _of_coil(model: Model, pickup: str, coil: str) -> Iterator[Curve]:
    given, wound = blocks.copper_in(model, pickup, coil), blocks.copper(model, pickup, coil)
    turns = tuple(given.turns * i / (POINTS - 1) for i in range(POINTS))

    def lengths() -> Points:
        return tuple(
            winding.length_to_turn(t, given.turns, given.straight, given.inner, wound.depth_end) for t in turns
        )

    make: dict[str, Callable[[], Points]] = {
        "coil_depth_end": lambda: tuple(wound.depth_end * t / given.turns for t in turns),
        "coil_depth_side": lambda: tuple(wound.depth_side * t / given.turns for t in turns),
        "wire_length": lengths,
        "dc_resistance": lambda: tuple(wound.resistance * x / wound.length for x in lengths()),
    }
    for name, kind in KINDS.items():
        yield Curve(f"{blocks.coil_path(pickup, coil)}.{name}", Axis("1", "turn"), Axis(kind.unit), turns, make[name])


def _of_string(model: Model, pickup: str, index: int) -> Iterator[Curve]:
    """Curves of one string (from 0) against the gap under it, the others at rest; only gaps at which its middle clears
    every pole piece and bar."""
    line, top = string_blocks.over_poles(model, pickup)[index]
    rest = line.z - top - model.inputs.design.instrument.strings[index].diameter.value / 2
    bodies, scope = pole_bodies.poles_in(model, pickup), (pickup, str(index + 1))
    if bodies is None:
        return
    rises = []
    for share in HEIGHTS:
        rise = (share - 1.0) * rest
        try:
            refuse_in_body(bodies.rods, bodies.boxes, line.points(line.nodes(), 0.0, rise))
        except DomainError:
            continue  # too near for the field along it to be followed
        rises.append(rise)

    def make(of: Callable[[Model, Scope, StringResult], float]) -> Callable[[], Points]:
        return lambda: tuple(of(model, scope, string_blocks.result_raised(model, pickup, index, r)) for r in rises)

    for name, (kind, of) in BY_GAP.items():
        key = f"pickup.{pickup}.string.{index + 1}.{name}"
        yield Curve(key, Axis("m", "gap"), Axis(kind.unit), tuple(rest + r for r in rises), make(of))
