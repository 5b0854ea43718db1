"""How each fact of a coil follows from the blocks. A scope is (pickup, coil) or (pickup, coil, tap number)."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from lodestring.assess import blocks, named
from lodestring.assess.model import Model, Value
from lodestring.layout import clearance
from lodestring.physics import winding, wire
from lodestring.reference import band

Scope = tuple[str, ...]


def of_coil(scope: Scope) -> tuple[str, str]:
    """The (pickup, coil) of a scope."""
    return scope[0], scope[1]


def wound_part(name: str) -> Callable[[Model, Scope], Value]:
    """A part of the coil as copper, by its name in `steps.Copper`."""

    def compute(model: Model, scope: Scope) -> Value:
        return float(getattr(blocks.copper(model, scope[0], scope[1]), name))

    return compute


def straight_length(model: Model, scope: Scope) -> float:
    """Straight part of the long sides [m]."""
    return blocks.row(model, *of_coil(scope)).inner.s


def inner_half_width(model: Model, scope: Scope) -> float:
    """Half-width of the innermost turn [m]."""
    return blocks.row(model, *of_coil(scope)).inner.r


def window_height(model: Model, scope: Scope) -> float:
    """Clear height between the plates [m]."""
    pickup, coil = of_coil(scope)
    record = blocks.coil_of(model, pickup, coil)
    return model.given(f"{blocks.coil_path(pickup, coil)}.bobbin.window", record.bobbin.window)


def turns(model: Model, scope: Scope) -> float:
    """Number of turns."""
    return float(blocks.coil_of(model, *of_coil(scope)).turns)


def stretch(model: Model, scope: Scope) -> float:
    """Lasting stretch of the wire [1]."""
    return blocks.strain(model, *of_coil(scope))


def room_resistance(model: Model, scope: Scope) -> float:
    """Resistance at the temperature of the room [ohm]."""
    at_20 = blocks.copper(model, *of_coil(scope)).resistance
    return wire.at_temperature(at_20, named.temperature_coefficient(model), named.room(model))


def window_fill(model: Model, scope: Scope) -> float:
    """Depth at mid-side over the depth the plate leaves for it."""
    pickup, coil = of_coil(scope)
    room = blocks.plate(model, pickup, coil).width / 2 - blocks.row(model, pickup, coil).inner.r
    return blocks.copper(model, pickup, coil).depth_side / room


def wire_mass(model: Model, scope: Scope) -> float:
    """Mass of the wire on the coil, enamel included [kg]."""
    wound = blocks.copper(model, *of_coil(scope))
    return wound.copper_mass + wound.enamel_mass


def wire_for_spool(model: Model, scope: Scope) -> float:
    """Wire to have on the spool for one unbroken coil: what it takes, a tenth more, and twenty metres [m]."""
    share, length = _reserve()
    return blocks.copper(model, *of_coil(scope)).length_off_spool * (1.0 + share) + length


@cache
def _reserve() -> tuple[float, float]:
    """The reserve on a spool: a share of the wire, and a length [m]."""
    share, length = (band(f"spool.reserve.{part}").spread().nominal for part in ("share", "length"))
    return share, length


def winding_time(model: Model, scope: Scope) -> float:
    """Time at the winder, pauses included [s]."""
    return blocks.winding_seconds(model, *of_coil(scope))


def plate_room(side: int) -> Callable[[Model, Scope], Value]:
    """Last turn to the plate's edge at the ends (0) or at mid-side (1) [m]."""

    def compute(model: Model, scope: Scope) -> Value:
        pickup, coil = of_coil(scope)
        shape, outline = blocks.plate(model, pickup, coil), blocks.outline(model, pickup, coil)
        return clearance.inside_plate(outline, shape.length, shape.width, shape.corner)[side]

    return compute


def housing_room(side: int) -> Callable[[Model, Scope], Value]:
    """Tape to the housing's wall at the ends (0) or at mid-side (1) [m]."""

    def compute(model: Model, scope: Scope) -> Value:
        pickup, coil = of_coil(scope)
        return clearance.inside_housing(blocks.outline(model, pickup, coil), blocks.housing(model, pickup))[side]

    return compute


def tap_resistance(model: Model, scope: Scope) -> float:
    """Resistance from the start to a tap at 20 C [ohm]."""
    pickup, coil, number = scope
    turn = (blocks.coil_of(model, pickup, coil).tap or ())[int(number) - 1]
    given, wound = blocks.copper_in(model, pickup, coil), blocks.copper(model, pickup, coil)
    length = winding.length_to_turn(turn, given.turns, given.straight, given.inner, wound.depth_end)
    return wound.resistance * length / wound.length
