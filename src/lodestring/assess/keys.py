"""The one key table: every fact's key, unit, method and meaning, and how it is computed.

docs/assessment.md is generated from it. Keys stand in the order of the set file; a key that a set does not have (no
housing, no tap) is absent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from lodestring.assess import blocks, named
from lodestring.assess.model import Model
from lodestring.layout import clearance
from lodestring.physics import winding, wire

Scope = tuple[str, ...]
Value = float | str
Compute = Callable[[Model, Scope], Value]
T20 = 293.15


def _always(model: Model, scope: Scope) -> bool:
    return True


def _nowhere(model: Model) -> tuple[tuple[str, float], ...]:
    return ()


def _at_20(model: Model) -> tuple[tuple[str, float], ...]:
    return (("temperature", T20),)


def _at_room(model: Model) -> tuple[tuple[str, float], ...]:
    return (("temperature", named.room(model)),)


@dataclass(frozen=True)
class Key:
    """One row of the key table. `positive` facts are propagated on a log scale; `present` says when the key exists."""

    name: str
    unit: str | None
    method: str
    help: str
    compute: Compute
    positive: bool = True
    present: Callable[[Model, Scope], bool] = _always
    at: Callable[[Model], tuple[tuple[str, float], ...]] = _nowhere
    basis: str = "computed"
    scope: Scope = ()


def _copper(field: str) -> Compute:
    return lambda m, s: float(getattr(blocks.copper(m, *s), field))


def _given(m: Model, s: Scope) -> float:
    return m.given(f"{blocks.coil_path(*s)}.bobbin.window", blocks.coil_of(m, *s).bobbin.window)


def _room_resistance(m: Model, s: Scope) -> float:
    return wire.at_temperature(blocks.copper(m, *s).resistance, named.temperature_coefficient(m), named.room(m))


def _window_fill(m: Model, s: Scope) -> float:
    room = blocks.plate(m, *s).width / 2 - blocks.row(m, *s).inner.r
    return blocks.copper(m, *s).depth_side / room


def _wire_mass(m: Model, s: Scope) -> float:
    wound = blocks.copper(m, *s)
    return wound.copper_mass + wound.enamel_mass


RESERVE_RATIO, RESERVE_LENGTH = 1.10, 20.0


def _wire_for_spool(m: Model, s: Scope) -> float:
    return blocks.copper(m, *s).length_off_spool * RESERVE_RATIO + RESERVE_LENGTH


def _plate_room(side: int) -> Compute:
    def compute(m: Model, s: Scope) -> float:
        shape = blocks.plate(m, *s)
        return clearance.inside_plate(blocks.outline(m, *s), shape.length, shape.width, shape.corner)[side]

    return compute


def _housing_room(side: int) -> Compute:
    def compute(m: Model, s: Scope) -> float:
        housing = blocks.hollow(m, s[0])
        assert housing is not None  # noqa: S101 - `present` asked for it
        return clearance.inside_housing(blocks.outline(m, *s), housing)[side]

    return compute


def has_housing(m: Model, s: Scope) -> bool:
    """Whether the pickup says what it must fit."""
    return m.inputs.design.pickup[s[0]].housing is not None


def polarity_of_coil(m: Model, s: Scope) -> str | None:
    """The end toward the strings of every pole piece of a coil, or None where they differ or there are none.

    Steel pole pieces take theirs from the bar whose middle lies nearest below them: a bar magnetised +z has its north
    end up.
    """
    coil = blocks.coil_of(m, *s)
    up = coil.poles.up
    if up is not None:
        ends = set(up) if isinstance(up, tuple) else {up}
        return ends.pop() if len(ends) == 1 else None
    bars = m.inputs.design.pickup[s[0]].bar or {}
    if coil.poles.body is None or not bars:
        return None
    y = blocks.coil_offset(m, *s)
    bar = min(bars.values(), key=lambda b: abs(b.centre[1].value - y))
    return {"+z": "north", "-z": "south"}.get(bar.magnetised)


def hum_sense(m: Model, s: Scope) -> int:
    """+1 or -1: winding sense times hot end. Anticlockwise seen from the strings, hot finish: +1."""
    coil = blocks.coil_of(m, *s)
    return (1 if coil.wound == "anticlockwise" else -1) * (1 if coil.hot == "finish" else -1)


def signal_sense(m: Model, s: Scope) -> int | None:
    """+1 or -1: polarity (north up: +1) times hum sense; None where the polarity is not one.

    Derivation: anticlockwise from start to finish the flux out of the body counts positive, V(finish) - V(start) =
    -d(flux)/dt. Steel pulled off a north-up pole piece lowers that flux, so the finish goes plus.
    """
    end = polarity_of_coil(m, s)
    return None if end is None else (1 if end == "north" else -1) * hum_sense(m, s)


def _kick(m: Model, s: Scope) -> str:
    return "plus" if signal_sense(m, s) == 1 else "minus"


def _has_kick(m: Model, s: Scope) -> bool:
    return signal_sense(m, s) is not None


def _tap_resistance(m: Model, s: Scope) -> float:
    pickup, coil, number = s
    turn = (blocks.coil_of(m, pickup, coil).tap or ())[int(number) - 1]
    given = blocks.copper_in(m, pickup, coil)
    wound = blocks.copper(m, pickup, coil)
    length = winding.length_to_turn(turn, given.turns, given.straight, given.inner, wound.depth_end)
    return wound.resistance * length / wound.length


def _pickup_resistance(m: Model, s: Scope) -> float:
    record = m.inputs.design.pickup[s[0]]
    if record.measured is not None:
        path = f"pickup.{s[0]}.measured"
        reading = m.given(f"{path}.resistance", record.measured.resistance)
        given = record.measured.temperature
        warm = named.room(m) if given is None else given.value
        return reading / wire.at_temperature(1.0, named.temperature_coefficient(m), warm)
    each = [blocks.copper(m, s[0], c).resistance for c in blocks.sides(record)]
    return 1.0 / sum(1.0 / r for r in each) if record.connect == "parallel" else sum(each)


def _depth_room(m: Model, s: Scope) -> float:
    housing = blocks.hollow(m, s[0])
    assert housing is not None  # noqa: S101 - `present` asked for it
    return housing.depth + blocks.lowest(m, s[0])


def _plates_room(m: Model, s: Scope) -> float:
    housing = blocks.hollow(m, s[0])
    assert housing is not None  # noqa: S101 - `present` asked for it
    rooms = []
    for coil in blocks.sides(m.inputs.design.pickup[s[0]]):
        shape, inner = blocks.plate(m, s[0], coil), blocks.row(m, s[0], coil).inner
        rooms.append(
            clearance.plate_inside_housing(shape.length, shape.width, shape.corner, inner.cx, inner.cy, housing)
        )
    return min(rooms)


def _made_with_housing(m: Model, s: Scope) -> bool:
    record = m.inputs.design.pickup[s[0]]
    return record.housing is not None and record.measured is None


def _sum(compute: Compute) -> Compute:
    return lambda m, s: float(sum(float(compute(m, c)) for c in blocks.every_coil(m)))


COIL = (
    Key("straight_length", "m", "layout.obround", "straight part of the coil's long sides", lambda m, s: blocks.row(m, *s).inner.s, positive=False),
    Key("inner_half_width", "m", "layout.obround", "half-width of the innermost turn, also the radius of its round ends", lambda m, s: blocks.row(m, *s).inner.r),
    Key("window_height", "m", "as given", "clear height between the plates", _given),
    Key("turns", "1", "as given", "number of turns", lambda m, s: float(blocks.coil_of(m, *s).turns)),
    Key("passes", "1", "coil.passes", "passes over the window if each laid its turns side by side", _copper("passes")),
    Key("mean_turn_length", "m", "coil.mean_turn", "mean length of a turn", _copper("mean_turn")),
    Key("wire_length", "m", "coil.wire_length", "length of the wire on the coil", _copper("length")),
    Key("wire_mass", "kg", "coil.mass", "mass of the wire on the coil, enamel included", _wire_mass),
    Key("copper_mass", "kg", "coil.mass", "mass of its copper alone", _copper("copper_mass")),
    Key("dc_resistance", "ohm", "coil.dc_resistance", "resistance at 20 C", _copper("resistance"), at=_at_20),
    Key("dc_resistance_room", "ohm", "coil.dc_resistance", "resistance at the temperature of the room", _room_resistance, at=_at_room),
    Key("stretch", "1", "wire.stretch", "lasting stretch of the wire from winding", lambda m, s: blocks.strain(m, *s)),
    Key("coil_depth_end", "m", "coil.depth", "from the first turn to the last at the round ends", _copper("depth_end")),
    Key("coil_depth_side", "m", "coil.depth_side", "from the first turn to the last at mid-side", _copper("depth_side")),
    Key("outer_length", "m", "coil.depth", "length of the coil over its round ends, without tape", _copper("outer_length")),
    Key("outer_width", "m", "coil.depth_side", "width of the coil at mid-side, without tape", _copper("outer_width")),
    Key("window_fill", "1", "coil.window_fill", "how much of the depth to the plate's edge the coil takes at mid-side", _window_fill),
    Key("clearance_plate_end", "m", "fit.clearance", "last turn to the plate's edge at the ends", _plate_room(0), positive=False),
    Key("clearance_plate_side", "m", "fit.clearance", "last turn to the plate's edge at mid-side", _plate_room(1), positive=False),
    Key("clearance_housing_end", "m", "fit.clearance", "tape to the housing's wall at the ends", _housing_room(0), positive=False, present=has_housing),
    Key("clearance_housing_side", "m", "fit.clearance", "tape to the housing's wall at mid-side", _housing_room(1), positive=False, present=has_housing),
    Key("wire_for_spool", "m", "coil.spool", "wire to have on the spool for one unbroken coil, reserve included", _wire_for_spool),
    Key("winding_time", "s", "coil.winding_time", "time at the winder, pauses included", lambda m, s: blocks.winding_seconds(m, *s)),
    Key("kick", None, "coil.kick", "sign on a meter, red lead on hot, when steel is pulled off a pole piece", _kick, present=_has_kick),
)  # fmt: skip

TAP = (
    Key("dc_resistance", "ohm", "coil.dc_resistance", "resistance from the start to this tap at 20 C", _tap_resistance, at=_at_20),
)  # fmt: skip

PICKUP = (
    Key("dc_resistance", "ohm", "pickup.dc_resistance", "resistance at its two leads at 20 C", _pickup_resistance, at=_at_20),
    Key("clearance_plates", "m", "fit.clearance", "plates to the housing's wall, the least", _plates_room, positive=False, present=_made_with_housing),
    Key("clearance_depth", "m", "fit.clearance", "lowest part to the housing's floor", _depth_room, positive=False, present=_made_with_housing),
)  # fmt: skip

SET = (
    Key("wire_length", "m", "coil.wire_length", "wire on all coils together", _sum(_copper("length"))),
    Key("wire_mass", "kg", "coil.mass", "mass of that wire, enamel included", _sum(_wire_mass)),
    Key("winding_time", "s", "coil.winding_time", "time at the winder for all coils", _sum(lambda m, s: blocks.winding_seconds(m, *s))),
)  # fmt: skip

TABLE: Mapping[str, tuple[Key, ...]] = {
    "pickup.P.coil.C": COIL,
    "pickup.P.coil.C.tap.N": TAP,
    "pickup.P": PICKUP,
    "set": SET,
}


def instances(model: Model) -> dict[str, Key]:
    """Every key of this set, in the order of the set file: each pickup's coils, then the pickup, then the set."""
    out: dict[str, Key] = {}
    for pickup, record in model.inputs.design.pickup.items():
        for coil in blocks.sides(record):
            path = blocks.coil_path(pickup, coil)
            _add(out, model, path, COIL, (pickup, coil))
            for number in range(1, len(record.coil[coil].tap or ()) + 1 if record.coil else 1):
                _add(out, model, f"{path}.tap.{number}", TAP, (pickup, coil, str(number)))
        rows = PICKUP
        if record.measured is not None:
            rows = tuple(replace(k, basis="measured", method="pickup.measured") for k in PICKUP)
        _add(out, model, f"pickup.{pickup}", rows, (pickup,))
    if blocks.every_coil(model):
        _add(out, model, "set", SET, ())
    return out


def _add(out: dict[str, Key], model: Model, prefix: str, keys: tuple[Key, ...], scope: Scope) -> None:
    for key in keys:
        if key.present(model, scope):
            out[f"{prefix}.{key.name}"] = replace(key, scope=scope)
